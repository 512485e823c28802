//! What can go wrong, in the user's terms, and what a figure that does not exist says for itself.
//!
//! Two things are kept apart. [`StatsError`] means that the question is wrong: a value that is not
//! a number, a level of 140 %, cells that do not fit. [`Undefined`] means that the question is
//! right and has no answer: the standard deviation of one value. A function that finds the former
//! fails as a whole; one that finds the latter answers everything else and says why this one
//! figure is missing. Neither a NaN nor an infinity ever leaves this crate.

use thiserror::Error;

/// Why a figure that was asked for does not exist.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum Undefined {
    /// There are fewer values than the definition needs.
    #[error("needs at least {need} values, there are {got}")]
    TooFew {
        /// The smallest number of values for which the figure is defined.
        need: usize,
        /// The number of values there are.
        got: usize,
    },
    /// The figure divides by a spread that is zero.
    #[error("{what} does not vary")]
    NoVariation {
        /// What does not vary.
        what: &'static str,
    },
    /// The arithmetic leaves the range of double precision.
    #[error("too large or too small for double precision")]
    BeyondDouble,
    /// The definition gives no finite answer; the reason is spelled out.
    #[error("{0}")]
    Because(&'static str),
}

/// A figure, or the reason why it does not exist.
pub type Figure = Result<f64, Undefined>;

/// Why a question could not be put at all.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum StatsError {
    /// A value is NaN or infinite.
    #[error("{what}: value {position} is {value}, which is not a number that can be used")]
    NotFinite {
        /// Which list of values.
        what: &'static str,
        /// Position in that list, counted from 1.
        position: usize,
        /// The value itself.
        value: f64,
    },
    /// A value is so large that its square leaves double precision.
    #[error(
        "{what}: value {position} is {value:e}, too large to be squared in double precision; use a larger \
         unit"
    )]
    TooLarge {
        /// Which list of values.
        what: &'static str,
        /// Position in that list, counted from 1.
        position: usize,
        /// The value itself.
        value: f64,
    },
    /// There are too few values to begin.
    #[error("{what}: needs at least {need}, there are {got}")]
    TooFew {
        /// What is counted.
        what: &'static str,
        /// How many are needed.
        need: usize,
        /// How many there are.
        got: usize,
    },
    /// An option lies outside its range.
    #[error("{what} is {value}; it has to be {expected}")]
    OutOfRange {
        /// The option.
        what: &'static str,
        /// What it was.
        value: f64,
        /// What would be right, in words.
        expected: &'static str,
    },
    /// Two lists that belong together differ in length.
    #[error("{what}: {left} values stand against {right}; they have to be as many")]
    UnequalLengths {
        /// Which lists.
        what: &'static str,
        /// Length of the first.
        left: usize,
        /// Length of the second.
        right: usize,
    },
    /// The data do not have the layout that the analysis needs.
    #[error("{0}")]
    Layout(String),
    /// The columns of a regression depend on each other.
    #[error(
        "the column {name} is a combination of those before it, so its coefficient has no value"
    )]
    Dependent {
        /// Name of the first column that adds nothing.
        name: String,
    },
    /// An expression could not be read.
    #[error("the model cannot be read: {0}")]
    Expression(String),
    /// The whole answer is undefined.
    #[error(transparent)]
    Undefined(#[from] Undefined),
}

/// The value when it is finite, otherwise [`Undefined::BeyondDouble`].
///
/// # Errors
/// [`Undefined::BeyondDouble`] for NaN and infinities: input is checked before, so only overflow
/// can have made them.
pub fn checked(value: f64) -> Figure {
    if value.is_finite() { Ok(value) } else { Err(Undefined::BeyondDouble) }
}

/// `numerator / denominator`, with the reason when the denominator is zero.
pub(crate) fn ratio(numerator: f64, denominator: f64, what: &'static str) -> Figure {
    if denominator == 0.0 {
        return Err(Undefined::NoVariation { what });
    }
    checked(numerator / denominator)
}

/// From here on the sum of a million squares would leave double precision. Nothing that a laboratory
/// measures comes near, in whatever unit.
const LARGEST: f64 = 1e150;

/// Refuses NaN and infinities, naming the first.
pub(crate) fn number(what: &'static str, values: &[f64]) -> Result<(), StatsError> {
    match values.iter().position(|v| !v.is_finite()) {
        Some(i) => Err(StatsError::NotFinite { what, position: i + 1, value: values[i] }),
        None => Ok(()),
    }
}

/// Refuses NaN, infinities, and what is too large to be squared, naming the first.
pub(crate) fn finite(what: &'static str, values: &[f64]) -> Result<(), StatsError> {
    number(what, values)?;
    match values.iter().position(|v| v.abs() > LARGEST) {
        Some(i) => Err(StatsError::TooLarge { what, position: i + 1, value: values[i] }),
        None => Ok(()),
    }
}

/// Refuses what [`finite`] refuses, and lists shorter than `need`.
pub(crate) fn at_least(what: &'static str, need: usize, values: &[f64]) -> Result<(), StatsError> {
    finite(what, values)?;
    if values.len() < need {
        return Err(StatsError::TooFew { what, need, got: values.len() });
    }
    Ok(())
}

/// Refuses a probability outside the open interval from 0 to 1.
pub(crate) fn probability(what: &'static str, value: f64) -> Result<(), StatsError> {
    within(what, value, value > 0.0 && value < 1.0, "above 0 and below 1")
}

/// Refuses a number that is not finite and above zero.
pub(crate) fn positive(what: &'static str, value: f64) -> Result<(), StatsError> {
    within(what, value, value > 0.0 && value <= LARGEST, "a number above 0 (and below 1e150)")
}

/// Refuses a number of degrees of freedom that no estimate has.
pub(crate) fn freedom(value: f64) -> Result<(), StatsError> {
    let good = (0.01..=1e300).contains(&value);
    within("the number of degrees of freedom", value, good, "at least 0.01 and finite")
}

/// Refuses a number that is not finite, or below zero.
pub(crate) fn not_negative(what: &'static str, value: f64) -> Result<(), StatsError> {
    within(what, value, (0.0..=LARGEST).contains(&value), "a number not below 0 (and below 1e150)")
}

/// Refuses `value` unless `good`.
pub(crate) fn within(
    what: &'static str,
    value: f64,
    good: bool,
    expected: &'static str,
) -> Result<(), StatsError> {
    if good { Ok(()) } else { Err(StatsError::OutOfRange { what, value, expected }) }
}
