//! How a paper looks: typesetting reports as PDF.
//!
//! [`Press`] is the [`Typesetter`] of the project. A paper is made in three steps: what it says is
//! turned into plain JSON in the language of the paper (`spoken.rs`), in which every character can be
//! printed (`printable.rs`) and every drawing has its positions (`strip.rs`); a template in
//! `templates/` lays that out; the page is written as
//! tagged PDF/A-2a that also keeps to PDF/UA-1, so that it can be archived for decades and read
//! aloud. Fonts are built in. The same data gives the same bytes.
//!
//! The typesetting library is by far the largest dependency of the project. It is used in this
//! crate only, and only the program depends on it.

mod fonts;
mod head;
mod instant;
mod labels;
mod press;
mod printable;
mod sheet;
mod spoken;
mod square_code;
mod strip;
mod test_report;
mod world;

pub use press::Press;
pub use stonewear_report::{TypesetError, Typesetter};
