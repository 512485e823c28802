//! Published values, each at the digits it was published with.
//!
//! The cases lie in `checks/`: one file a case, with its source, how the published value is known,
//! the inputs, and for each value what was published, at which tolerance, and what independent
//! software gives for the same input (`reference`). A value whose notes say that the published
//! figure is wrong is marked `published_is_wrong`; the test then demands the reference and that
//! the published figure is *not* met, so that a silent correction of the file would be noticed.
// In a test a panic is the report; clippy knows the tests themselves, not their helpers.
#![allow(clippy::unwrap_used)]

mod acceptance;
mod anova;
mod chart;
mod check;
mod comparison;
mod conformity;
mod describe;
mod interlab;
mod outlier;
mod proficiency;
mod regression;
mod uncertainty;
