//! Cleaning a round of paired samples before laboratories are rated.
//!
//! After the published description of a North American proficiency sample programme: a pair with
//! one result missing is dropped; results outside 4.11 inner-75 % ranges are invalid, those outside
//! 2.35 of them are outliers; then each laboratory is rated against the mean and standard
//! deviation of the rest. Only the formulas are published, no worked numbers.
//!
//! The description leaves two things open, and this is how they are read here: the inner-75 % range
//! runs from the 12.5 to the 87.5 percentile, and the factor is the whole width of what is accepted,
//! centred on the median. For normal results that is ± 4.7 and ± 2.7 standard deviations.

use crate::describe;
use crate::error::{self, Figure, StatsError, ratio};

const INVALID: f64 = 4.11;
const OUTLIER: f64 = 2.35;

/// What becomes of one result.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fate {
    /// Used.
    Used,
    /// So far out that it is taken for a blunder.
    Invalid,
    /// Left out of mean and standard deviation, and rated all the same.
    Outlier,
}

/// A cleaned round of one sample.
#[derive(Debug, Clone, PartialEq)]
pub struct CleanUp {
    /// What became of each result, in the order given.
    pub fates: Vec<Fate>,
    /// Mean of those used.
    pub mean: Figure,
    /// Standard deviation of those used.
    pub standard_deviation: Figure,
    /// (result - mean) / standard deviation, for every result.
    pub ratings: Vec<Figure>,
}

/// Cleans the results of one sample. The second step works on what the first one left.
///
/// # Errors
/// When there are fewer than four results or one is not finite.
pub fn clean_up(results: &[f64]) -> Result<CleanUp, StatsError> {
    error::at_least("results", 4, results)?;
    let mut fates = vec![Fate::Used; results.len()];
    for (factor, fate) in [(INVALID, Fate::Invalid), (OUTLIER, Fate::Outlier)] {
        let left = used(results, &fates);
        let width = describe::quantile(&left, 0.875)? - describe::quantile(&left, 0.125)?;
        let centre = describe::median(&left)?;
        for (result, now) in results.iter().zip(&mut fates) {
            if *now == Fate::Used && (result - centre).abs() > 0.5 * factor * width {
                *now = fate;
            }
        }
    }
    let left = used(results, &fates);
    let mean = describe::mean(&left);
    let standard_deviation = describe::standard_deviation(&left);
    let ratings = results
        .iter()
        .map(|r| ratio(r - mean.clone()?, standard_deviation.clone()?, "the round"))
        .collect();
    Ok(CleanUp { fates, mean, standard_deviation, ratings })
}

fn used(results: &[f64], fates: &[Fate]) -> Vec<f64> {
    results.iter().zip(fates).filter(|(_, f)| **f == Fate::Used).map(|(r, _)| *r).collect()
}

/// Within-laboratory part of a pair of results x, y: [(y - x) - (mean y - mean x)] / √2, in the unit
/// of the test.
///
/// # Errors
/// When the lists differ in length, are empty, or hold a value that is not finite.
pub fn within_laboratory(x: &[f64], y: &[f64]) -> Result<Vec<f64>, StatsError> {
    error::at_least("first results", 1, x)?;
    error::finite("second results", y)?;
    if x.len() != y.len() {
        return Err(StatsError::UnequalLengths {
            what: "first and second results",
            left: x.len(),
            right: y.len(),
        });
    }
    let shift = describe::mean(y)? - describe::mean(x)?;
    let root = std::f64::consts::FRAC_1_SQRT_2;
    Ok(x.iter().zip(y).map(|(x, y)| ((y - x) - shift) * root).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn blunders_and_outliers_are_told_apart() {
        // Invented: spread of about 0.1 around 10, one at +3.5 and one far away.
        let mut results: Vec<f64> = (0..40).map(|i| 10.0 + 0.01 * f64::from(i - 20)).collect();
        results.extend([10.45, 20.0]);
        let clean = clean_up(&results).expect("a round");
        assert_eq!(clean.fates[..40], [Fate::Used; 40]);
        assert_eq!(clean.fates[40..], [Fate::Outlier, Fate::Invalid]);
        assert!((clean.mean.expect("values") - 9.995).abs() < 1e-9);
    }

    #[test]
    fn within_laboratory_values_sum_to_nothing() {
        let within = within_laboratory(&[1.0, 2.0, 4.0], &[1.5, 2.0, 4.1]).expect("pairs");
        assert!(within.iter().sum::<f64>().abs() < 1e-14);
        assert!((within[0] - 0.3 * std::f64::consts::FRAC_1_SQRT_2).abs() < 1e-12);
    }
}
