//! The rounding rules that test methods name.
//!
//! The agencies disagree about an exact half, so the rule is data, chosen by the method:
//! * ASTM E29 rounding method and ISO 80000-1 rule A: to the even digit.
//! * Ontario LS-100 and Iowa IM 202 (and ISO 80000-1 rule B): up, that is away from zero.

use crate::exact::Exact;
use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};
use std::cmp::Ordering;
use std::fmt;
use std::str::FromStr;
use thiserror::Error;

/// What happens to an exact half.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Rule {
    /// To the even digit: ASTM E29, ISO 80000-1 rule A.
    HalfEven,
    /// Away from zero: Ontario LS-100, Iowa IM 202, ISO 80000-1 rule B.
    HalfUp,
}

impl Rule {
    /// The rule in words, as it stands on page and paper.
    pub fn in_words(self) -> &'static str {
        match self {
            Self::HalfEven => "an exact half goes to the even digit",
            Self::HalfUp => "an exact half goes up",
        }
    }
}

impl fmt::Display for Rule {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::HalfEven => "half-even",
            Self::HalfUp => "half-up",
        })
    }
}

/// A text that names no rounding rule.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("“{0}” is not a rounding rule; write half-even or half-up")]
pub struct UnknownRule(String);

impl FromStr for Rule {
    type Err = UnknownRule;
    fn from_str(text: &str) -> Result<Self, UnknownRule> {
        match text {
            "half-even" => Ok(Self::HalfEven),
            "half-up" => Ok(Self::HalfUp),
            other => Err(UnknownRule(other.to_owned())),
        }
    }
}

/// A rounding place that cannot be used.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("a rounding place must be greater than zero, like 0.1, 1, 0.05 or 25; “{0}” is not")]
pub struct BadPlace(Decimal);

/// To which place and by which rule a value is rounded.
///
/// The place is the interval between neighbouring results: `0.1`, `1`, `0.05`, `25`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Rounding {
    place: Decimal,
    rule: Rule,
}

impl Rounding {
    /// Rounding to `place` by `rule`.
    ///
    /// # Errors
    /// When the place is zero or negative.
    pub fn new(place: Decimal, rule: Rule) -> Result<Self, BadPlace> {
        if place <= Decimal::ZERO { Err(BadPlace(place)) } else { Ok(Self { place, rule }) }
    }

    /// The interval between neighbouring results.
    pub fn place(self) -> Decimal {
        self.place
    }

    /// What happens to an exact half.
    pub fn rule(self) -> Rule {
        self.rule
    }

    /// Rounds an exact value, once. `None` only when the result needs more than 28 digits.
    ///
    /// The result is written with the decimals of the place: 15 to the place 0.1 is `15.0`.
    pub fn apply(self, value: &Exact) -> Option<Decimal> {
        let step = self.place.normalize();
        let (below, rest) = value.in_steps(step)?;
        let up = match rest {
            Ordering::Less => false,
            Ordering::Greater => true,
            Ordering::Equal => match self.rule {
                Rule::HalfEven => below % 2 != 0,
                Rule::HalfUp => below >= 0,
            },
        };
        let mantissa = below.checked_add(up.into())?.checked_mul(step.mantissa())?;
        Decimal::try_from_i128_with_scale(mantissa, step.scale()).ok()
    }
}

#[cfg(test)]
mod tests;
