//! All differences of group means at once, with a common confidence (J. W. Tukey; for unequal groups
//! C. Y. Kramer, Biometrics 12 (1956) 307-310).

use super::one_way::one_way;
use crate::distribution::studentized_range;
use crate::error::{self, Figure, StatsError, Undefined, ratio};
use crate::regression::Interval;

/// The difference of two group means.
#[derive(Debug, Clone, PartialEq)]
pub struct Difference {
    /// Index of the first group, counted from 0.
    pub first: usize,
    /// Index of the second group.
    pub second: usize,
    /// Second mean less first.
    pub difference: f64,
    /// Interval at the common level.
    pub interval: Result<Interval, Undefined>,
    /// Probability adjusted for the number of comparisons.
    pub p: Figure,
}

/// Compares all pairs of groups, all intervals together at `level` (0 to 1).
///
/// # Errors
/// When there are fewer than two groups or more than 100, one is empty, no group has two values, or
/// the level is out of range.
pub fn tukey(groups: &[Vec<f64>], level: f64) -> Result<Vec<Difference>, StatsError> {
    error::probability("the level", level)?;
    let k = groups.len();
    error::within("the number of groups", k as f64, k <= 100, "at most 100")?;
    let analysis = one_way(groups)?;
    let s = analysis.residual_standard_deviation.clone()?;
    let freedom = analysis.table.rows[1].degrees_of_freedom as f64;
    let critical = studentized_range::quantile(level, k, freedom)?;
    let mut differences = Vec::new();
    for first in 0..k {
        for second in first + 1..k {
            let difference = analysis.means[second] - analysis.means[first];
            let sizes = [analysis.sizes[first], analysis.sizes[second]];
            let error = s * (0.5 * (1.0 / sizes[0] as f64 + 1.0 / sizes[1] as f64)).sqrt();
            let p = ratio(difference.abs(), error, "what lies within the groups").and_then(|q| {
                let below = studentized_range::below(q, k, freedom);
                below.map(|b| 1.0 - b).map_err(|_| Undefined::BeyondDouble)
            });
            let interval = Interval::about(difference, critical * error);
            differences.push(Difference { first, second, difference, interval, p });
        }
    }
    Ok(differences)
}
