//! What a value must not go below or above.

use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};
use std::fmt;

/// Where a value lies against its limits. A value on a limit is inside.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Side {
    /// Within both limits, or on one.
    Inside,
    /// Under the lower limit.
    Below,
    /// Over the upper limit.
    Above,
}

/// A lower limit, an upper limit, both or none.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Limits {
    /// The least that is allowed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lower: Option<Decimal>,
    /// The most that is allowed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub upper: Option<Decimal>,
}

impl Limits {
    /// `nominal ± tolerance`.
    pub fn around(nominal: Decimal, tolerance: Decimal) -> Self {
        Self { lower: Some(nominal - tolerance), upper: Some(nominal + tolerance) }
    }

    /// No less than `lower`.
    pub fn at_least(lower: Decimal) -> Self {
        Self { lower: Some(lower), upper: None }
    }

    /// No more than `upper`.
    pub fn at_most(upper: Decimal) -> Self {
        Self { lower: None, upper: Some(upper) }
    }

    /// Where the value lies.
    pub fn side(&self, value: Decimal) -> Side {
        if self.lower.is_some_and(|lower| value < lower) {
            Side::Below
        } else if self.upper.is_some_and(|upper| value > upper) {
            Side::Above
        } else {
            Side::Inside
        }
    }

    /// True when the value is within the limits or on one.
    pub fn hold(&self, value: Decimal) -> bool {
        self.side(value) == Side::Inside
    }
}

/// `95 to 105`, `at least 60`, `at most 18`, `any value`.
impl fmt::Display for Limits {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match (self.lower, self.upper) {
            (Some(lower), Some(upper)) => write!(f, "{lower} to {upper}"),
            (Some(lower), None) => write!(f, "at least {lower}"),
            (None, Some(upper)) => write!(f, "at most {upper}"),
            (None, None) => f.write_str("any value"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_value_on_the_limit_is_inside() {
        let speed = Limits::around(100.into(), 5.into());
        for (rpm, side) in [
            ("94.9", Side::Below),
            ("95", Side::Inside),
            ("105.0", Side::Inside),
            ("105.1", Side::Above),
        ] {
            assert_eq!(speed.side(rpm.parse().unwrap()), side, "{rpm}");
        }
        assert!(Limits::default().hold(Decimal::MAX));
    }

    #[test]
    fn limits_are_said_in_words() {
        assert_eq!(Limits::around(100.into(), 5.into()).to_string(), "95 to 105");
        assert_eq!(Limits::at_most(18.into()).to_string(), "at most 18");
        assert_eq!(Limits::at_least(60.into()).to_string(), "at least 60");
        assert_eq!(Limits::default().to_string(), "any value");
    }
}
