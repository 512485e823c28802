//! Confidence and prediction intervals.

use crate::distribution::t;
use crate::error::{self, Figure, StatsError, Undefined, checked};

/// A closed interval.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Interval {
    /// Lower end.
    pub lower: f64,
    /// Upper end.
    pub upper: f64,
}

impl Interval {
    /// `centre` ± `half`.
    pub(crate) fn about(centre: f64, half: f64) -> Result<Self, Undefined> {
        Ok(Self { lower: checked(centre - half)?, upper: checked(centre + half)? })
    }
}

/// A fitted value with its intervals, in the unit of the response.
#[derive(Debug, Clone, PartialEq)]
pub struct Prediction {
    /// The fitted value.
    pub value: f64,
    /// Standard error of the fitted mean.
    pub standard_error: Figure,
    /// Where the mean response lies.
    pub confidence: Result<Interval, Undefined>,
    /// Where one new response lies.
    pub prediction: Result<Interval, Undefined>,
}

/// Both intervals of a fitted value with the given leverage.
pub(crate) fn prediction(
    value: f64,
    leverage: f64,
    s: &Figure,
    freedom: usize,
    level: f64,
) -> Result<Prediction, StatsError> {
    let quantile = t::quantile(0.5 + 0.5 * level, freedom.max(1) as f64);
    let half = |extra: f64| -> Figure {
        s.clone().and_then(|s| checked(quantile * s * (extra + leverage).sqrt()))
    };
    Ok(Prediction {
        value,
        standard_error: s.clone().and_then(|s| checked(s * leverage.sqrt())),
        confidence: half(0.0).and_then(|h| Interval::about(value, h)),
        prediction: half(1.0).and_then(|h| Interval::about(value, h)),
    })
}

/// An estimate with its interval at the level, from its standard error.
pub(crate) fn around(
    estimate: f64,
    standard_error: &Figure,
    freedom: usize,
    level: f64,
) -> Result<Result<Interval, Undefined>, StatsError> {
    error::probability("the level", level)?;
    let quantile = t::quantile(0.5 + 0.5 * level, freedom.max(1) as f64);
    Ok(standard_error.clone().and_then(|error| Interval::about(estimate, quantile * error)))
}
