//! The look: every part of a page as a function, one family a file.
//!
//! A part is a structure with builder methods that renders itself inside `html!`, or a function
//! that returns markup. None knows the laboratory: pages fill them. [`gallery`] shows all of them
//! in all their states. The stylesheet and the script are in `assets/`; no part carries a style
//! or a script of its own, so that the policy of the page can forbid both.

mod assets;
mod caution;
mod choice;
mod empty;
mod facts;
mod field;
mod figure;
mod gallery;
mod mark;
mod problem;
mod shell;
mod step;
mod table;
mod who;

#[cfg(test)]
mod contrast;

pub use assets::{ASSETS, Asset};
pub use caution::{Caution, Hazard};
pub use choice::{Choice, Select};
pub use empty::{Empty, StepAhead};
pub use facts::{facts, formula};
pub use field::Field;
pub use figure::{chart, evidence_line, grading_curve, jar_wall, plot, strip, strip_alone};
pub use gallery::gallery;
pub use mark::{Tone, mark, verdict};
pub use problem::{Problem, problem_beside, problem_summary};
pub use shell::{Crumb, Place, Shell, actions, button, grave_button, link_button, second_button};
pub use step::{Mode, Step};
pub use table::Table;
pub use who::{item, person};

use std::borrow::Cow;

/// Words that are borrowed where they exist and owned where they are made.
pub type Words<'a> = Cow<'a, str>;
