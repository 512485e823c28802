//! Quality index and percent within limits by the standard-deviation method (AASHTO R 9; FHWA T
//! 5080.12; MIL-STD-414, form 2): the minimum-variance unbiased estimate of the share of a normal lot
//! within a limit, which is a symmetric beta distribution.
//!
//! Printed tables round the index to two decimals; computed values differ from a few of their cells
//! that are misprints.

use crate::describe;
use crate::distribution::beta;
use crate::error::{self, Figure, StatsError, ratio};

/// A lot held against its limits.
#[derive(Debug, Clone, PartialEq)]
pub struct Acceptance {
    /// Number of results.
    pub n: usize,
    /// Mean, in the unit of the results.
    pub mean: f64,
    /// Standard deviation.
    pub standard_deviation: f64,
    /// (mean - lower limit) / standard deviation; none without a lower limit.
    pub q_lower: Option<Figure>,
    /// (upper limit - mean) / standard deviation; none without an upper limit.
    pub q_upper: Option<Figure>,
    /// Per cent above the lower limit.
    pub percent_lower: Option<f64>,
    /// Per cent below the upper limit.
    pub percent_upper: Option<f64>,
    /// Per cent within the limits: the sum less 100 with two of them.
    pub percent_within_limits: f64,
}

/// Per cent of a normal lot on the right side of a limit, estimated from a quality index `q` of `n`
/// results, 3 or more.
///
/// # Errors
/// When `q` is not finite or `n` below 3.
pub fn percent_within_limits(q: f64, n: usize) -> Result<f64, StatsError> {
    error::finite("the quality index", &[q])?;
    error::within("the number of results", n as f64, n >= 3, "at least 3")?;
    let count = n as f64;
    let shape = 0.5 * count - 1.0;
    let x = 0.5 * (1.0 - q * count.sqrt() / (count - 1.0));
    // From the side with the smaller share, where the digits are.
    Ok(if x < 0.5 {
        100.0 - 100.0 * beta::below(shape, shape, x)
    } else {
        100.0 * beta::below(shape, shape, 1.0 - x)
    })
}

/// The quality index at which `n` results estimate `percent` within the limit: the table of the
/// standards, at full precision.
///
/// # Errors
/// When `percent` is not between 0 and 100 or `n` below 3.
pub fn quality_index_for(percent: f64, n: usize) -> Result<f64, StatsError> {
    let good = percent > 0.0 && percent < 100.0;
    error::within("the per cent within limits", percent, good, "above 0 and below 100")?;
    error::within("the number of results", n as f64, n >= 3, "at least 3")?;
    let count = n as f64;
    let shape = 0.5 * count - 1.0;
    let x = beta::quantile(shape, shape, 1.0 - percent / 100.0);
    Ok((1.0 - 2.0 * x) * (count - 1.0) / count.sqrt())
}

/// Estimates the per cent within one or two limits. When the results do not vary, the index is not
/// defined and the share is 100 or 0 as their value lies within or not.
///
/// # Errors
/// When there are fewer than three results, one is not finite, no limit is given, or the lower limit
/// is not below the upper.
pub fn acceptance(
    values: &[f64],
    lower: Option<f64>,
    upper: Option<f64>,
) -> Result<Acceptance, StatsError> {
    error::at_least("results", 3, values)?;
    let tolerance = crate::conformity::Tolerance::new(lower, upper)?;
    let mean = describe::mean(values)?;
    let s = describe::standard_deviation(values)?;
    let n = values.len();
    let index = |gap: f64| ratio(gap, s, "the set of results");
    let percent = |q: &Figure, inside: bool| -> Result<f64, StatsError> {
        match q {
            Ok(q) => percent_within_limits(*q, n),
            Err(_) => Ok(if inside { 100.0 } else { 0.0 }),
        }
    };
    let q_lower = tolerance.lower.map(|limit| index(mean - limit));
    let q_upper = tolerance.upper.map(|limit| index(limit - mean));
    let above = |q: &Figure| percent(q, tolerance.lower.is_none_or(|l| mean >= l));
    let below = |q: &Figure| percent(q, tolerance.upper.is_none_or(|u| mean <= u));
    let percent_lower = q_lower.as_ref().map(above).transpose()?;
    let percent_upper = q_upper.as_ref().map(below).transpose()?;
    let within = match (percent_lower, percent_upper) {
        (Some(l), Some(u)) => (l + u - 100.0).max(0.0),
        (Some(one), None) | (None, Some(one)) => one,
        (None, None) => 100.0,
    };
    Ok(Acceptance {
        n,
        mean,
        standard_deviation: s,
        q_lower,
        q_upper,
        percent_lower,
        percent_upper,
        percent_within_limits: within,
    })
}
