//! Operands of an expression: one number for all trials, or one a trial.

use std::str::FromStr;

/// A number or a column of numbers.
#[derive(Debug, Clone)]
pub(super) enum Column {
    /// The same in every trial.
    Same(f64),
    /// One a trial.
    Each(Vec<f64>),
}

impl Default for Column {
    fn default() -> Self {
        Self::Same(0.0)
    }
}

impl FromStr for Column {
    type Err = std::num::ParseFloatError;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        text.parse().map(Self::Same)
    }
}

impl Column {
    /// Applies a function to every number, in place.
    pub(super) fn map(self, f: impl Fn(f64) -> f64) -> Self {
        match self {
            Self::Same(a) => Self::Same(f(a)),
            Self::Each(mut a) => {
                a.iter_mut().for_each(|v| *v = f(*v));
                Self::Each(a)
            }
        }
    }

    /// Applies a function to every pair, re-using the memory of one operand.
    pub(super) fn with(self, other: Self, f: impl Fn(f64, f64) -> f64) -> Self {
        match (self, other) {
            (Self::Same(a), Self::Same(b)) => Self::Same(f(a, b)),
            (Self::Each(mut a), Self::Same(b)) => {
                a.iter_mut().for_each(|v| *v = f(*v, b));
                Self::Each(a)
            }
            (Self::Same(a), Self::Each(mut b)) => {
                b.iter_mut().for_each(|v| *v = f(a, *v));
                Self::Each(b)
            }
            (Self::Each(mut a), Self::Each(b)) => {
                a.iter_mut().zip(&b).for_each(|(v, w)| *v = f(*v, *w));
                Self::Each(a)
            }
        }
    }
}
