//! Test methods as data: reading them, how sure their numbers are, and the loss they define.
//!
//! A method is one edition of one document, written as a readable file in `methods/`. Every number
//! in it is a [`Figure`]: the value, where it comes from, and how sure we are of it. What is not
//! seen in a source is shown as unconfirmed until a laboratory has compared it with its own copy.

//!
//! * [`mod@read`]: a file read into a [`Method`], every fault named with its line.
//! * [`figures`]: the figures one by one, to confirm, correct or compare them.
//! * [`library`]: the methods that come with the program, and finding one.
//! * [`loss`]: the loss, exact until it is rounded once.
//! * [`mod@work_out`]: everything that a test gives, from everything that was read of its specimens.
//! * [`precision`]: how far two results may lie apart.

pub mod figure;
pub mod figures;
pub mod library;
pub mod loss;
pub mod model;
pub mod precision;
pub mod read;
pub mod rules;
mod walk;
pub mod work_out;

pub use figure::{Confidence, Figure, Toleranced};
pub use figures::FigureAt;
pub use loss::{Loss, LossError, SpecimenLoss, Weighed};
pub use model::{Grading, Material, Method, MethodId, Property, Reading};
pub use precision::{PrecisionAt, PrecisionLimit};
pub use read::{MethodFileError, read};
pub use work_out::{Input, Missing, WorkOutError, Worked, work_out};
