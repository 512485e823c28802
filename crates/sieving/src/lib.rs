//! Sieve analysis of what was received, and what it says about making up a specimen.
//!
//! * [`sieve`]: the sieves of the general sets, by opening in millimetres and by US designation.
//! * [`analysis`]: what every sieve kept, retained and passing as exact shares, the wash loss.
//! * [`closing`]: whether the masses after sieving add up to the mass before.
//! * [`nominal`]: the nominal maximum size, by a named definition: the published ones disagree.
//! * [`grading`]: which grading a method takes for a size, and why.
//! * [`makeup`]: grams wanted a fraction, the share of the material that lies in it, the bulk
//!   that has to be sieved.
//! * [`mod@file`]: an analysis from anybody's CSV.
//!
//! Masses are decimals as read and shares are exact ratios; nothing is rounded here but what is
//! shown. No clock, no I/O, nothing about laboratories.

pub mod analysis;
pub mod closing;
pub mod file;
pub mod grading;
pub mod makeup;
pub mod nominal;
pub mod sieve;

pub use analysis::{AnalysisError, Retained, SieveAnalysis};
pub use closing::{Closing, ClosingRule};
pub use file::{FileError, Read, read};
pub use grading::{GradingChoice, choose, fitting};
pub use makeup::{FractionPlan, MakeUp, make_up};
pub use nominal::Definition;
pub use sieve::{Sieve, SieveError, SieveSet};

use stonewear_measure::rounding::Rule;
use stonewear_measure::{Decimal, Exact, Rounding};

/// An exact number as it is shown to people: to `place`, an exact half going up.
pub fn shown(value: &Exact, place: Decimal) -> String {
    let rounded = Rounding::new(place, Rule::HalfUp).ok().and_then(|by| by.apply(value));
    rounded.map_or_else(|| value.to_string(), |rounded| rounded.to_string())
}

/// A percentage as it is shown to people, to 0.1.
pub fn shown_percent(value: &Exact) -> String {
    shown(value, Decimal::from_parts(1, 0, 0, false, 1))
}

/// A mass as it is shown to people, to 0.1 g.
pub fn shown_grams(value: &Exact) -> String {
    shown(value, Decimal::from_parts(1, 0, 0, false, 1))
}

/// A hundred, exactly.
fn hundred() -> Exact {
    Exact::from(Decimal::ONE_HUNDRED)
}
