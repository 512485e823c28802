//! Robust location and scale: MADe, nIQR, Algorithm A, Huber's proposal 2.

use crate::describe::{self, sorted};
use crate::distribution::normal;
use crate::error::{self, Figure, StatsError, Undefined, checked};

/// A robust mean and standard deviation.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Robust {
    /// Location, in the unit of the values.
    pub mean: f64,
    /// Scale, in the same unit.
    pub standard_deviation: f64,
    /// Iterations until nothing moved any more.
    pub iterations: usize,
}

/// Values beyond this many standard deviations are pulled in.
const WINSOR: f64 = 1.5;

/// 1.483 times the median of the absolute deviations from the median (ISO 13528, C.2.2).
///
/// # Errors
/// For an empty list and values that are not finite.
pub fn mad_e(values: &[f64]) -> Result<f64, StatsError> {
    error::at_least("values", 1, values)?;
    let centre = describe::median(values)?;
    let away: Vec<f64> = values.iter().map(|v| (v - centre).abs()).collect();
    Ok(checked(1.483 * describe::median(&away)?)?)
}

/// 0.7413 times the interquartile range, quartiles by definition 7 (ISO 13528, C.2.3).
///
/// # Errors
/// For an empty list and values that are not finite.
pub fn n_iqr(values: &[f64]) -> Result<f64, StatsError> {
    error::at_least("values", 1, values)?;
    Ok(checked(0.7413 * (describe::quantile(values, 0.75)? - describe::quantile(values, 0.25)?))?)
}

/// Algorithm A of ISO 13528 (C.3), starting from median and MADe, iterated until it stands still
/// and not only to the third figure. The consistency factor is the standard's 1.134.
///
/// # Errors
/// For fewer than two values, values that are not finite, and a scale that collapses to zero.
pub fn algorithm_a(values: &[f64]) -> Result<Robust, StatsError> {
    iterate(values, 1.134)
}

/// Huber's proposal 2 with k = 1.5: Algorithm A with the exact consistency constant
/// (W. N. Venables and B. D. Ripley, Modern Applied Statistics with S, section 5.5).
///
/// # Errors
/// As [`algorithm_a`].
pub fn huber_proposal_2(values: &[f64]) -> Result<Robust, StatsError> {
    // E min(Z², k²) for a standard normal Z.
    let k = WINSOR;
    let inside = 1.0 - 2.0 * normal::above(k);
    let share = inside - 2.0 * k * normal::density(k) + 2.0 * k * k * normal::above(k);
    iterate(values, 1.0 / share.sqrt())
}

fn iterate(values: &[f64], consistency: f64) -> Result<Robust, StatsError> {
    error::at_least("values", 2, values)?;
    let values = sorted(values);
    let mut mean = describe::median(&values)?;
    let mut s = mad_e(&values)?;
    if s == 0.0 {
        // More than half of the values are equal: begin with the ordinary standard deviation, as
        // the standard advises.
        s = describe::standard_deviation(&values)?;
    }
    for iteration in 1..=2000 {
        let reach = WINSOR * s;
        let pulled: Vec<f64> = values.iter().map(|v| v.clamp(mean - reach, mean + reach)).collect();
        let next_mean = describe::mean(&pulled)?;
        let next = checked(consistency * describe::standard_deviation(&pulled)?)?;
        let moved = (next - s).abs().max((next_mean - mean).abs());
        (mean, s) = (next_mean, next);
        if moved <= 1e-13 * s.max(f64::MIN_POSITIVE) || s == 0.0 {
            return Ok(Robust { mean, standard_deviation: s, iterations: iteration });
        }
        if s <= 1e-12 * mean.abs() {
            let why =
                "more than half of the values are equal, and the robust scale shrinks to nothing";
            return Err(Undefined::Because(why).into());
        }
    }
    Err(Undefined::Because("the robust estimate does not settle").into())
}

/// Standard uncertainty of a robust mean of `n` values: 1.25 s*/√n (ISO 13528, 7.7.3).
///
/// # Errors
/// `Undefined` when there is no value.
pub fn uncertainty_of_robust_mean(standard_deviation: f64, n: usize) -> Figure {
    if n == 0 {
        return Err(Undefined::TooFew { need: 1, got: 0 });
    }
    checked(1.25 * standard_deviation / (n as f64).sqrt())
}
