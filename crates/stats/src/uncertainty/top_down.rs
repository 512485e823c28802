//! Uncertainty from a laboratory's own long-run data, without a model of the steps (the way of
//! thinking of ISO 21748): scatter of a reference aggregate over time, plus what is not known about
//! the bias. Repeatability from duplicates is shown beside it, not added: the scatter over time
//! contains it.

use crate::describe;
use crate::error::{self, Figure, StatsError, checked};

/// An uncertainty from the laboratory's own data, in the unit of the test.
#[derive(Debug, Clone, PartialEq)]
pub struct TopDown {
    /// Standard deviation of the reference results over time: intermediate precision.
    pub intermediate: Figure,
    /// Repeatability standard deviation from duplicates, √(Σd²/2n).
    pub repeatability: Figure,
    /// Mean of the reference results less the assigned value.
    pub bias: Figure,
    /// Standard uncertainty of the bias: scatter of the mean and uncertainty of the assigned value.
    pub bias_uncertainty: Figure,
    /// Whether the bias is larger than twice its uncertainty: then the cause wants finding, and the
    /// uncertainty below does not cover it.
    pub bias_significant: Result<bool, error::Undefined>,
    /// Combined standard uncertainty of one result.
    pub standard_uncertainty: Figure,
}

/// Computes the uncertainty of one result from `reference` results on a reference aggregate with an
/// `assigned` value ± `u_assigned` (standard uncertainty), and from `duplicates` on ordinary samples.
///
/// # Errors
/// When a number is not finite or the uncertainty of the assigned value is negative.
pub fn top_down(
    reference: &[f64],
    (assigned, u_assigned): (f64, f64),
    duplicates: &[(f64, f64)],
) -> Result<TopDown, StatsError> {
    error::finite("reference results", reference)?;
    error::finite("the assigned value", &[assigned])?;
    error::not_negative("the uncertainty of the assigned value", u_assigned)?;
    let differences: Vec<f64> = duplicates.iter().map(|(a, b)| a - b).collect();
    error::finite("differences of duplicates", &differences)?;
    let intermediate = describe::standard_deviation(reference);
    let bias = describe::mean(reference).and_then(|m| checked(m - assigned));
    let bias_uncertainty =
        intermediate.clone().map(|s| libm::hypot(s / (reference.len() as f64).sqrt(), u_assigned));
    let repeatability = if differences.is_empty() {
        Err(error::Undefined::TooFew { need: 1, got: 0 })
    } else {
        let squares: f64 = differences.iter().map(|d| d * d).sum();
        checked((squares / (2.0 * differences.len() as f64)).sqrt())
    };
    let bias_significant =
        bias.clone().and_then(|b| bias_uncertainty.clone().map(|u| b.abs() > 2.0 * u));
    let standard_uncertainty = intermediate
        .clone()
        .and_then(|s| bias_uncertainty.clone().and_then(|u| checked(libm::hypot(s, u))));
    Ok(TopDown {
        intermediate,
        repeatability,
        bias,
        bias_uncertainty,
        bias_significant,
        standard_uncertainty,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn combines_scatter_and_bias() {
        // Invented results on a reference aggregate of 12.0 ± 0.1.
        let reference = [12.1, 11.9, 12.3, 12.1];
        let found = top_down(&reference, (12.0, 0.1), &[(11.0, 11.2), (14.1, 14.1)]).expect("data");
        let s = (0.08f64 / 3.0).sqrt();
        assert!((found.intermediate.expect("s") - s).abs() < 1e-12);
        assert!((found.bias.expect("bias") - 0.1).abs() < 1e-12);
        assert!((found.repeatability.expect("s_r") - 0.1).abs() < 1e-12);
        assert_eq!(found.bias_significant, Ok(false));
        let u = (s * s + s * s / 4.0 + 0.01).sqrt();
        assert!((found.standard_uncertainty.expect("u") - u).abs() < 1e-12);
        assert!(top_down(&[12.0], (12.0, 0.1), &[]).expect("data").standard_uncertainty.is_err());
    }
}
