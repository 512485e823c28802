//! One value from several, each with its own variance, when they scatter more than those explain.
//!
//! R. DerSimonian and N. Laird, Controlled Clinical Trials 7 (1986) 177-188; R. C. Paule and J. Mandel,
//! Journal of Research of the National Bureau of Standards 87 (1982) 377-385.

use crate::error::{self, StatsError, checked};
use crate::number::root;

/// A pooled value, in the unit of the values.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pooled {
    /// Weighted mean.
    pub mean: f64,
    /// Its standard error.
    pub standard_error: f64,
    /// Variance between the values beyond their own, in the square of the unit.
    pub between: f64,
    /// Weighted sum of squares under equal true values.
    pub q: f64,
}

/// The moment estimate of the variance between.
///
/// # Errors
/// When the lists differ in length, have fewer than two entries, a value is not finite or a
/// variance not above zero.
pub fn der_simonian_laird(values: &[f64], variances: &[f64]) -> Result<Pooled, StatsError> {
    check(values, variances)?;
    let weights: Vec<f64> = variances.iter().map(|v| 1.0 / v).collect();
    let total: f64 = weights.iter().sum();
    let squares: f64 = weights.iter().map(|w| w * w).sum();
    let q = q(values, variances, 0.0);
    let between = ((q - (values.len() - 1) as f64) / (total - squares / total)).max(0.0);
    pooled(values, variances, between)
}

/// The variance between at which the weighted sum of squares is what it should be.
///
/// # Errors
/// As [`der_simonian_laird`].
pub fn paule_mandel(values: &[f64], variances: &[f64]) -> Result<Pooled, StatsError> {
    check(values, variances)?;
    let wanted = (values.len() - 1) as f64;
    if q(values, variances, 0.0) <= wanted {
        return pooled(values, variances, 0.0);
    }
    let mut high = variances.iter().sum::<f64>();
    while q(values, variances, high) > wanted && high < 1e300 {
        high *= 4.0;
    }
    let between = root(0.0, high, |between| q(values, variances, between) - wanted)?;
    pooled(values, variances, between)
}

fn check(values: &[f64], variances: &[f64]) -> Result<(), StatsError> {
    error::at_least("values", 2, values)?;
    if values.len() != variances.len() {
        return Err(StatsError::UnequalLengths {
            what: "values and variances",
            left: values.len(),
            right: variances.len(),
        });
    }
    variances.iter().try_for_each(|v| error::positive("a variance", *v))
}

fn weighted_mean(values: &[f64], variances: &[f64], between: f64) -> (f64, f64) {
    let (mut total, mut sum) = (0.0, 0.0);
    for (value, variance) in values.iter().zip(variances) {
        let weight = 1.0 / (variance + between);
        total += weight;
        sum += weight * value;
    }
    (sum / total, total)
}

fn q(values: &[f64], variances: &[f64], between: f64) -> f64 {
    let (mean, _) = weighted_mean(values, variances, between);
    values.iter().zip(variances).map(|(y, v)| (y - mean) * (y - mean) / (v + between)).sum()
}

fn pooled(values: &[f64], variances: &[f64], between: f64) -> Result<Pooled, StatsError> {
    let (mean, total) = weighted_mean(values, variances, between);
    Ok(Pooled {
        mean: checked(mean)?,
        standard_error: checked((1.0 / total).sqrt())?,
        between: checked(between)?,
        q: checked(q(values, variances, 0.0))?,
    })
}
