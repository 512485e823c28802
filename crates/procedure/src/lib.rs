//! Check procedures as data: read from files, or generated for the apparatus at hand.
//!
//! A procedure is an ordered list of [`Step`]s. Each says what to do, what to see or to read and
//! within which limits, what can hurt, and what to do when it fails. The function check of an
//! apparatus is not written but generated from its [`Apparatus`] description, because what an
//! empty machine must show depends on how it is built.
//!
//! * [`read_apparatus`]: a description from its file, with the defaults that it used.
//! * [`function_check()`]: the function check that follows from a description.
//! * [`read_procedures`]: procedures from a file; [`built_in_procedures`]: those of the project.
//! * [`judge()`]: whether an answer is what a step wanted.
//! * [`step_json`]: a step as scripts read it.

pub mod apparatus;
pub mod balls;
mod built_in;
mod file_faults;
mod function_check;
mod judge;
pub mod kind;
pub mod model;
mod procedure_faults;
mod read_apparatus;
mod read_procedure;
mod reader;
mod step_json;

pub use apparatus::Apparatus;
pub use built_in::{built_in_procedures, for_apparatus, for_kind};
pub use file_faults::{Fault, FileFaults};
pub use function_check::{End, Forecast, Load, forecast, function_check};
pub use judge::{Answer, Verdict, judge};
pub use kind::ItemKind;
pub use model::{
    Caution, Confidence, Difference, Expect, Interval, Jars, Procedure, Step, TAKES_JARS_OUT,
};
pub use procedure_faults::{ProcedureFault, procedure_faults};
pub use read_apparatus::{Described, read_apparatus};
pub use read_procedure::read_procedures;
pub use step_json::{expect_in_words, step_json};
