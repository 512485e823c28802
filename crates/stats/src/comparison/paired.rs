//! Paired comparison: two results on the same material, the t test of their differences.

use super::two_samples::{TTest, t_test};
use crate::describe;
use crate::error::{self, StatsError, checked};

/// The comparison of pairs.
#[derive(Debug, Clone, PartialEq)]
pub struct Paired {
    /// Number of pairs.
    pub n: usize,
    /// Means of both columns.
    pub means: [f64; 2],
    /// Mean of the differences, first less second.
    pub difference: f64,
    /// Standard deviation of the differences.
    pub standard_deviation: f64,
    /// Its t test.
    pub test: TTest,
}

/// The differences of pairs.
pub(super) fn differences(a: &[f64], b: &[f64]) -> Result<Vec<f64>, StatsError> {
    error::at_least("the first of each pair", 2, a)?;
    error::finite("the second of each pair", b)?;
    if a.len() != b.len() {
        return Err(StatsError::UnequalLengths {
            what: "the pairs",
            left: a.len(),
            right: b.len(),
        });
    }
    let differences: Vec<f64> = a.iter().zip(b).map(|(a, b)| a - b).collect();
    error::finite("differences", &differences)?;
    Ok(differences)
}

/// Compares pairs at `alpha`.
///
/// # Errors
/// When there are fewer than two pairs, the columns differ in length, a value is not finite, or
/// `alpha` is not between 0 and 1.
pub fn paired(a: &[f64], b: &[f64], alpha: f64) -> Result<Paired, StatsError> {
    error::probability("alpha", alpha)?;
    let differences = differences(a, b)?;
    let n = differences.len();
    let difference = describe::mean(&differences)?;
    let standard_deviation = describe::standard_deviation(&differences)?;
    let standard_error = checked(standard_deviation / (n as f64).sqrt())?;
    Ok(Paired {
        n,
        means: [describe::mean(a)?, describe::mean(b)?],
        difference,
        standard_deviation,
        test: t_test(difference, standard_error, (n - 1) as f64, alpha)?,
    })
}
