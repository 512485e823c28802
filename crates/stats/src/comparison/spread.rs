//! Spread against spread: a pooled standard deviation over a known one (chi-squared interval) or
//! over another pooled one (F interval), for normal values.

use crate::distribution::{chi_squared, f};
use crate::error::{self, StatsError, checked};

/// A ratio of two standard deviations, with its interval.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SpreadRatio {
    /// The first over the second.
    pub ratio: f64,
    /// The lower end of the interval.
    pub lower: f64,
    /// The upper end of the interval.
    pub upper: f64,
}

/// A pooled standard deviation over a known one: `squares` is the sum of squares over the known
/// variance, `freedom` its degrees of freedom.
///
/// # Errors
/// When there is no degree of freedom, the sum is negative or not finite, or `alpha` is not
/// between 0 and 1.
pub fn spread_over_known(
    squares: f64,
    freedom: usize,
    alpha: f64,
) -> Result<SpreadRatio, StatsError> {
    error::probability("alpha", alpha)?;
    let degrees = degrees(freedom)?;
    let squares = not_negative(squares)?;
    Ok(SpreadRatio {
        ratio: checked((squares / degrees).sqrt())?,
        lower: checked((squares / chi_squared::quantile(1.0 - alpha / 2.0, degrees)).sqrt())?,
        upper: checked((squares / chi_squared::quantile(alpha / 2.0, degrees)).sqrt())?,
    })
}

/// A pooled standard deviation over another, each given as its variance and degrees of freedom.
///
/// # Errors
/// As [`spread_over_known`]; also when the second variance is zero.
pub fn spread_over_other(
    (variance, freedom): (f64, usize),
    (other, other_freedom): (f64, usize),
    alpha: f64,
) -> Result<SpreadRatio, StatsError> {
    error::probability("alpha", alpha)?;
    let (n, m) = (degrees(freedom)?, degrees(other_freedom)?);
    let ratio = checked(not_negative(variance)? / not_negative(other)?)?;
    Ok(SpreadRatio {
        ratio: checked(ratio.sqrt())?,
        lower: checked((ratio / f::upper_quantile(alpha / 2.0, n, m)).sqrt())?,
        upper: checked((ratio * f::upper_quantile(alpha / 2.0, m, n)).sqrt())?,
    })
}

fn degrees(freedom: usize) -> Result<f64, StatsError> {
    error::freedom(freedom as f64)?;
    Ok(freedom as f64)
}

fn not_negative(value: f64) -> Result<f64, StatsError> {
    error::not_negative("a sum of squares", value)?;
    Ok(value)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn close(a: f64, b: f64) -> bool {
        (a - b).abs() < 5e-4 * b.abs()
    }

    /// Quantiles of standard tables: chi-squared with 10 degrees, 3.24697 and 20.48318; F with 10
    /// and 10, 3.71679 (NIST/SEMATECH e-Handbook 1.3.6.7, from memory, unconfirmed).
    #[test]
    fn agrees_with_tables() {
        let known = spread_over_known(10.0, 10, 0.05).unwrap();
        assert!(close(known.ratio, 1.0));
        assert!(close(known.lower, (10.0_f64 / 20.483_18).sqrt()));
        assert!(close(known.upper, (10.0_f64 / 3.246_97).sqrt()));
        let other = spread_over_other((4.0, 10), (1.0, 10), 0.05).unwrap();
        assert!(close(other.ratio, 2.0));
        assert!(close(other.lower, (4.0_f64 / 3.716_79).sqrt()));
        assert!(close(other.upper, (4.0_f64 * 3.716_79).sqrt()));
    }

    #[test]
    fn what_cannot_be_is_refused() {
        assert!(spread_over_known(1.0, 0, 0.05).is_err());
        assert!(spread_over_known(-1.0, 3, 0.05).is_err());
        assert!(spread_over_known(1.0, 3, 0.0).is_err());
        assert!(spread_over_other((1.0, 3), (0.0, 3), 0.05).is_err());
        assert!(spread_over_known(0.0, 3, 0.05).unwrap().ratio.abs() < f64::EPSILON);
    }
}
