//! Laws: what has to hold for any data, and what must not happen for hostile ones.
// In a test a panic is the report; clippy knows the tests themselves, not their helpers.
#![allow(clippy::unwrap_used)]

mod hostile;
mod invariance;
mod limits;
