//! Test methods as data: reading them, how sure their numbers are, and the loss they define.
//!
//! A method is one edition of one document, written as a readable file in `methods/`. Every number
//! in it is a [`Figure`]: the value, where it comes from, and how sure we are of it. What is not
//! seen in a source is shown as unconfirmed until a laboratory has compared it with its own copy.

pub mod figure;
pub mod loss;
pub mod model;

pub use figure::{Confidence, Figure, Toleranced};
pub use loss::{Loss, LossError, SpecimenLoss, Weighed};
pub use model::{Grading, Material, Method, MethodId};
