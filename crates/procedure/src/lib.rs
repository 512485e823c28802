//! Check procedures as data: read from files, or generated for the apparatus at hand.
//!
//! A procedure is an ordered list of [`Step`]s. Each says what to do, what to see or to read and
//! within which limits, what can hurt, and what to do when it fails. The function check of an
//! apparatus is not written but generated from its [`Apparatus`] description, because what an
//! empty machine must show depends on how it is built.

pub mod apparatus;
pub mod kind;
pub mod model;

pub use apparatus::Apparatus;
pub use kind::ItemKind;
pub use model::{Caution, Expect, Jars, Procedure, Step};
