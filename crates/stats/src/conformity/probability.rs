//! Probability of conformity of one item, and acceptance limits that bound the specific risk
//! (JCGM 106, clauses 7 and 8), for a normal distribution about the result.

use crate::distribution::normal;
use crate::error::{self, Figure, StatsError, Undefined, within};
use crate::number::root;

/// What is permitted, in the unit of the test: at least one limit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tolerance {
    /// Smallest permitted value.
    pub lower: Option<f64>,
    /// Largest permitted value.
    pub upper: Option<f64>,
}

impl Tolerance {
    /// Limits as given.
    ///
    /// # Errors
    /// When there is none, one is not finite, or the lower is not below the upper.
    pub fn new(lower: Option<f64>, upper: Option<f64>) -> Result<Self, StatsError> {
        let limits: Vec<f64> = lower.iter().chain(&upper).copied().collect();
        error::at_least("limits", 1, &limits)?;
        if let (Some(a), Some(b)) = (lower, upper) {
            within("the lower limit", a, a < b, "below the upper limit")?;
        }
        Ok(Self { lower, upper })
    }

    pub(crate) fn ends(&self) -> (f64, f64) {
        (self.lower.unwrap_or(f64::NEG_INFINITY), self.upper.unwrap_or(f64::INFINITY))
    }

    /// Whether a value lies within; on a limit is within.
    #[must_use]
    pub fn contains(&self, value: f64) -> bool {
        let (lower, upper) = self.ends();
        value >= lower && value <= upper
    }

    /// The same limits moved inward by `by` (outward when negative).
    ///
    /// # Errors
    /// When nothing is left between them.
    pub fn narrowed(&self, by: f64) -> Result<Self, StatsError> {
        error::finite("the guard band", &[by])?;
        let narrowed =
            Self { lower: self.lower.map(|v| v + by), upper: self.upper.map(|v| v - by) };
        if let (Some(a), Some(b)) = (narrowed.lower, narrowed.upper)
            && a > b
        {
            let why = "the guard bands meet: no result could be accepted";
            return Err(Undefined::Because(why).into());
        }
        Ok(narrowed)
    }
}

/// Probability that the true value lies within the limits, given a result `value` with standard
/// uncertainty `u`; with `u` zero it is 0 or 1.
///
/// # Errors
/// When a number is not finite or `u` is negative.
pub fn conformance_probability(
    value: f64,
    u: f64,
    tolerance: &Tolerance,
) -> Result<f64, StatsError> {
    error::finite("the value", &[value])?;
    error::not_negative("the standard uncertainty", u)?;
    if u == 0.0 {
        return Ok(f64::from(u8::from(tolerance.contains(value))));
    }
    let (lower, upper) = tolerance.ends();
    Ok(normal::between((lower - value) / u, (upper - value) / u))
}

/// Guard band in standard uncertainties that holds the specific risk at one limit at `risk`
/// (JCGM 106, 8.3.2): the normal quantile at 1 - risk.
///
/// # Errors
/// `Undefined` unless `risk` lies between 0 and 1.
pub fn guard_factor(risk: f64) -> Figure {
    if risk > 0.0 && risk < 1.0 {
        Ok(-normal::quantile(risk))
    } else {
        Err(Undefined::Because("the risk has to lie above 0 and below 1"))
    }
}

/// Acceptance limits such that a result on them has exactly the specific risk `risk` of not
/// conforming. With two limits close to each other the far one adds to the risk and the bands are
/// wider than [`guard_factor`] says.
///
/// # Errors
/// When `u` is not above zero, the risk is not below one half, or no result has so small a risk.
pub fn guarded(tolerance: &Tolerance, u: f64, risk: f64) -> Result<Tolerance, StatsError> {
    error::positive("the standard uncertainty", u)?;
    within("the risk", risk, risk > 0.0 && risk <= 0.5, "above 0 and at most 0.5")?;
    let factor = guard_factor(risk)?;
    let (Some(lower), Some(upper)) = (tolerance.lower, tolerance.upper) else {
        return tolerance.narrowed(factor * u);
    };
    let middle = 0.5 * (lower + upper);
    let excess = |y: f64| 1.0 - normal::between((lower - y) / u, (upper - y) / u) - risk;
    if excess(middle) > 0.0 {
        let why = "the uncertainty is too large for the limits: no result has so small a risk";
        return Err(Undefined::Because(why).into());
    }
    let acceptance = root(middle, upper, excess)?;
    tolerance.narrowed(upper - acceptance)
}
