//! The factors of control charts, computed and not tabulated.
//!
//! c4 from the gamma function, d2 and d3 as the mean and standard deviation of the range of n
//! standard normal values (H. L. Harter, Annals of Mathematical Statistics 31 (1960) 1122-1147); the
//! rest as ASTM E2587 derives them. Printed tables carry three decimals and derive some columns
//! from others already rounded, so they can differ from these in the last printed digit.

use statrs::function::gamma::ln_gamma;
use std::f64::consts::PI;

use crate::distribution::studentized_range::range_below;
use crate::error::{self, StatsError};
use crate::number::panels;

/// Mean of the sample standard deviation over the true one, for samples of `n` >= 2.
///
/// # Errors
/// When `n` is below 2.
pub fn c4(n: usize) -> Result<f64, StatsError> {
    error::within("the subgroup size", n as f64, n >= 2, "at least 2")?;
    let half = 0.5 * n as f64;
    Ok((1.0 / (half - 0.5)).sqrt() * libm::exp(ln_gamma(half) - ln_gamma(half - 0.5)))
}

/// Mean of the range over the standard deviation, for samples of `n` from 2 to 1000.
///
/// # Errors
/// When `n` is out of range.
pub fn d2(n: usize) -> Result<f64, StatsError> {
    Ok(range_moments(n)?.0)
}

/// Standard deviation of the range over the standard deviation, for samples of `n` from 2 to 1000.
///
/// # Errors
/// When `n` is out of range.
pub fn d3(n: usize) -> Result<f64, StatsError> {
    Ok(range_moments(n)?.1)
}

/// Mean and standard deviation of the range, from E W = ∫ P(W > w) dw and E W² = ∫ 2w P(W > w) dw.
fn range_moments(n: usize) -> Result<(f64, f64), StatsError> {
    error::within("the subgroup size", n as f64, (2..=1000).contains(&n), "from 2 to 1000")?;
    if n == 2 {
        // The range of two is the amount of their difference, which is normal with variance 2: a half-normal
        // distribution. Every chart of single values asks for it.
        return Ok((2.0 / PI.sqrt(), (2.0 - 4.0 / PI).sqrt()));
    }
    Ok(integrated_range_moments(n))
}

fn integrated_range_moments(n: usize) -> (f64, f64) {
    let breaks: Vec<f64> = (0..=12).map(|i| 1.5 * f64::from(i)).collect();
    let (mut first, mut second) = (0.0, 0.0);
    for (w, weight) in panels(12, &breaks).iter() {
        let above = 1.0 - range_below(w, n as f64);
        first += weight * above;
        second += weight * 2.0 * w * above;
    }
    (first, (second - first * first).sqrt())
}

/// All factors for one subgroup size and one width of the limits in standard deviations.
#[derive(Debug, Clone, Copy, PartialEq)]
#[allow(missing_docs)] // The names are the table's own; ASTM E2587 defines each.
pub struct Constants {
    pub c4: f64,
    pub d2: f64,
    pub d3: f64,
    /// Mean chart from the mean range.
    pub a2: f64,
    /// Mean chart from the mean standard deviation.
    pub a3: f64,
    /// Standard-deviation chart from its own mean, lower.
    pub b3: f64,
    /// Standard-deviation chart from its own mean, upper.
    pub b4: f64,
    /// Standard-deviation chart from a known sigma, lower.
    pub b5: f64,
    /// Standard-deviation chart from a known sigma, upper.
    pub b6: f64,
    /// Range chart from the mean range, lower.
    pub lower_d3: f64,
    /// Range chart from the mean range, upper.
    pub upper_d4: f64,
}

impl Constants {
    /// The factors for subgroups of `n` (2 to 1000) with limits `width` standard deviations out.
    ///
    /// # Errors
    /// When `n` or `width` is out of range.
    pub fn new(n: usize, width: f64) -> Result<Self, StatsError> {
        error::positive("the width of the limits", width)?;
        let c4 = c4(n)?;
        let (d2, d3) = range_moments(n)?;
        let root = (n as f64).sqrt();
        let spread_of_s = (1.0 - c4 * c4).sqrt();
        Ok(Self {
            c4,
            d2,
            d3,
            a2: width / (d2 * root),
            a3: width / (c4 * root),
            b3: (1.0 - width * spread_of_s / c4).max(0.0),
            b4: 1.0 + width * spread_of_s / c4,
            b5: (c4 - width * spread_of_s).max(0.0),
            b6: c4 + width * spread_of_s,
            lower_d3: (1.0 - width * d3 / d2).max(0.0),
            upper_d4: 1.0 + width * d3 / d2,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_range_of_two_has_the_moments_that_the_integral_gives() {
        let (mean, deviation) = range_moments(2).unwrap();
        let (by_integral, deviation_by_integral) = integrated_range_moments(2);
        assert!((mean - by_integral).abs() < 1e-12, "{mean} {by_integral}");
        assert!((deviation - deviation_by_integral).abs() < 1e-12, "{deviation}");
    }
}
