//! Normal tolerance intervals: limits that hold at least a share of a lot, with a confidence
//! (ISO 16269-6; G. J. Hahn and W. Q. Meeker, Statistical Intervals).

use crate::describe;
use crate::distribution::{chi_squared, noncentral_t, normal};
use crate::error::{self, StatsError, Undefined, checked};
use crate::number::{panels, root};
use crate::regression::Interval;

fn check(n: usize, content: f64, confidence: f64) -> Result<(), StatsError> {
    error::within("the number of results", n as f64, n >= 2, "at least 2")?;
    error::probability("the content", content)?;
    error::probability("the confidence", confidence)
}

/// Factor of a one-sided limit, exact through the noncentral t distribution.
///
/// # Errors
/// When `n` is below 2, or content or confidence is not between 0 and 1.
pub fn k_one_sided(n: usize, content: f64, confidence: f64) -> Result<f64, StatsError> {
    check(n, content, confidence)?;
    let root = (n as f64).sqrt();
    let delta = root * normal::quantile(content);
    Ok(noncentral_t::quantile(confidence, (n - 1) as f64, delta)? / root)
}

/// Factor of a one-sided limit by Natrella's approximation (M. G. Natrella, Experimental Statistics,
/// NBS Handbook 91), for comparison with tables made by it.
///
/// # Errors
/// As [`k_one_sided`], and when `n` is too small for the approximation.
pub fn k_one_sided_natrella(n: usize, content: f64, confidence: f64) -> Result<f64, StatsError> {
    check(n, content, confidence)?;
    let (z, c, count) = (normal::quantile(content), normal::quantile(confidence), n as f64);
    let a = 1.0 - c * c / (2.0 * (count - 1.0));
    let b = z * z - c * c / count;
    let square = z * z - a * b;
    if a <= 0.0 || square < 0.0 {
        return Err(Undefined::Because("too few results for this approximation").into());
    }
    Ok((z + square.sqrt()) / a)
}

/// Factor of two-sided limits by Howe's approximation (W. G. Howe, Journal of the American
/// Statistical Association 64 (1969) 610-620), for comparison with tables made by it.
///
/// # Errors
/// As [`k_one_sided`].
pub fn k_two_sided_howe(n: usize, content: f64, confidence: f64) -> Result<f64, StatsError> {
    check(n, content, confidence)?;
    let (count, freedom) = (n as f64, (n - 1) as f64);
    let chi = chi_squared::quantile(1.0 - confidence, freedom);
    let z = normal::quantile(0.5 + 0.5 * content);
    Ok(checked(z * (freedom * (1.0 + 1.0 / count) / chi).sqrt())?)
}

/// Factor of two-sided limits, exact by integrating over where the mean may lie (R. E. Odeh and D. B.
/// Owen, Tables for Normal Tolerance Limits, 1980).
///
/// # Errors
/// As [`k_one_sided`].
pub fn k_two_sided(n: usize, content: f64, confidence: f64) -> Result<f64, StatsError> {
    check(n, content, confidence)?;
    let (spread, freedom) = (1.0 / (n as f64).sqrt(), (n - 1) as f64);
    // For a mean off by x, the half-width that still holds the content.
    let breaks: Vec<f64> = (0..=8).map(f64::from).collect();
    let nodes = panels(12, &breaks);
    let halves = nodes
        .iter()
        .map(|(z, weight)| {
            let x = z * spread;
            let gap = |r: f64| normal::between(x - r, x + r) - content;
            let reach = x + normal::quantile(0.5 + 0.5 * content) + 1.0;
            root(0.0, reach, gap).map(|r| (r, weight * 2.0 * normal::density(z)))
        })
        .collect::<Result<Vec<(f64, f64)>, Undefined>>()?;
    let reached = |k: f64| -> f64 {
        let term = |&(r, weight): &(f64, f64)| {
            weight * chi_squared::above(freedom * (r / k) * (r / k), freedom)
        };
        halves.iter().map(term).sum::<f64>() - confidence
    };
    let guess = k_two_sided_howe(n, content, confidence)?;
    Ok(root(0.2 * guess, 5.0 * guess, reached)?)
}

/// Limits from data.
#[derive(Debug, Clone, PartialEq)]
pub struct ToleranceInterval {
    /// Number of results.
    pub n: usize,
    /// Mean, in the unit of the results.
    pub mean: f64,
    /// Standard deviation.
    pub standard_deviation: f64,
    /// Exact factor.
    pub k: f64,
    /// mean ± k standard deviations.
    pub interval: Interval,
}

/// Two-sided limits that hold at least the share `content` of a normal lot with `confidence`.
///
/// # Errors
/// When there are fewer than two results, one is not finite, or content or confidence is out of range.
pub fn tolerance_interval(
    values: &[f64],
    content: f64,
    confidence: f64,
) -> Result<ToleranceInterval, StatsError> {
    error::at_least("results", 2, values)?;
    let (mean, s) = (describe::mean(values)?, describe::standard_deviation(values)?);
    let k = k_two_sided(values.len(), content, confidence)?;
    let interval = Interval::about(mean, checked(k * s)?)?;
    Ok(ToleranceInterval { n: values.len(), mean, standard_deviation: s, k, interval })
}
