//! Mean, standard deviation, extremes and lag-1 autocorrelation.

use crate::error::{self, Figure, StatsError, Undefined, checked, ratio};
use crate::number::{self, Dd};

/// What can be said about one column, in the unit of the values.
#[derive(Debug, Clone, PartialEq)]
pub struct Summary {
    /// Number of values.
    pub n: usize,
    /// Arithmetic mean.
    pub mean: Figure,
    /// Standard deviation with divisor n - 1.
    pub standard_deviation: Figure,
    /// Smallest value.
    pub minimum: f64,
    /// Largest value.
    pub maximum: f64,
    /// Correlation of each value with the one before it, as NIST StRD defines it: products of
    /// neighbouring deviations over the sum of squares. Unitless.
    pub lag1_autocorrelation: Figure,
}

/// Describes one column. Sums are carried at twice double precision, so the figures are right to
/// the last digit or two of what the doubles themselves hold (NIST Statistical Reference
/// Datasets, univariate).
///
/// # Errors
/// For an empty column, and for values that are not finite.
pub fn describe(values: &[f64]) -> Result<Summary, StatsError> {
    // Large values are let in here: what can be said about them is said.
    error::number("values", values)?;
    if values.is_empty() {
        return Err(StatsError::TooFew { what: "values", need: 1, got: 0 });
    }
    let (mean, squares) = number::mean_and_squares(values);
    let products: Dd =
        values.windows(2).map(|pair| (Dd::from(pair[0]) - mean) * (Dd::from(pair[1]) - mean)).sum();
    Ok(Summary {
        n: values.len(),
        mean: checked(mean.to_f64()),
        standard_deviation: root_mean(squares, values.len(), 1),
        minimum: values.iter().copied().fold(f64::INFINITY, f64::min),
        maximum: values.iter().copied().fold(f64::NEG_INFINITY, f64::max),
        lag1_autocorrelation: if values.len() < 2 {
            Err(Undefined::TooFew { need: 2, got: values.len() })
        } else {
            ratio(1.0, squares.to_f64(), "the column")
                .and_then(|_| checked((products / squares).to_f64()))
        },
    })
}

/// The mean of finite values, at least one.
///
/// # Errors
/// `Undefined` when there is none or their sum is beyond double precision.
pub fn mean(values: &[f64]) -> Figure {
    if values.is_empty() {
        return Err(Undefined::TooFew { need: 1, got: 0 });
    }
    checked(number::mean(values).to_f64())
}

/// The variance with divisor n - 1.
///
/// # Errors
/// `Undefined` for fewer than two values and beyond double precision.
pub(crate) fn variance(values: &[f64]) -> Figure {
    if values.len() < 2 {
        return Err(Undefined::TooFew { need: 2, got: values.len() });
    }
    let squares = number::mean_and_squares(values).1;
    checked((squares / Dd::from((values.len() - 1) as f64)).to_f64())
}

/// The standard deviation with divisor n - 1.
///
/// # Errors
/// `Undefined` for fewer than two values and beyond double precision.
pub fn standard_deviation(values: &[f64]) -> Figure {
    if values.len() < 2 {
        return Err(Undefined::TooFew { need: 2, got: values.len() });
    }
    root_mean(number::mean_and_squares(values).1, values.len(), 1)
}

/// √(squares / (n - used)).
pub(crate) fn root_mean(squares: Dd, n: usize, used: usize) -> Figure {
    if n <= used {
        return Err(Undefined::TooFew { need: used + 1, got: n });
    }
    checked(squares.to_f64())?;
    checked((squares / Dd::from((n - used) as f64)).sqrt().to_f64())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn says_what_is_not_defined() {
        let one = describe(&[5.0]).expect("one value can be described");
        assert_eq!(one.mean, Ok(5.0));
        assert_eq!(one.standard_deviation, Err(Undefined::TooFew { need: 2, got: 1 }));

        let equal = describe(&[2.0; 4]).expect("equal values can be described");
        assert_eq!(equal.standard_deviation, Ok(0.0));
        assert_eq!(
            equal.lag1_autocorrelation.map_err(|u| u.to_string()),
            Err("the column does not vary".to_string())
        );

        let huge = describe(&[1e308, 1e308, -1e308]).expect("finite values");
        assert_eq!(huge.standard_deviation, Err(Undefined::BeyondDouble));
        assert!(describe(&[]).is_err());
        assert_eq!(
            describe(&[1.0, f64::INFINITY]).map_err(|e| e.to_string()),
            Err("values: value 2 is inf, which is not a number that can be used".to_string())
        );
    }
}
