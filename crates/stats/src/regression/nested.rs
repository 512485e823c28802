//! Does a model with more terms explain more than chance would? The extra sum of squares, and lack
//! of fit against replicates.

use crate::distribution::f;
use crate::error::{self, StatsError, Undefined, checked};
use crate::number;

/// What a fit leaves: its residual sum of squares, and the degrees of freedom of it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Residual {
    /// Residual sum of squares.
    pub squares: f64,
    /// Its degrees of freedom.
    pub degrees_of_freedom: usize,
}

/// An F test of a smaller model within a larger one.
#[derive(Debug, Clone, PartialEq)]
pub struct NestedTest {
    /// Sum of squares that the larger model explains beyond the smaller one.
    pub extra_squares: f64,
    /// Degrees of freedom of that.
    pub numerator: usize,
    /// Degrees of freedom of what the larger model leaves.
    pub denominator: usize,
    /// The ratio of the mean squares.
    pub f: f64,
    /// Probability of a ratio as large if the smaller model were right.
    pub p: f64,
}

/// Holds a smaller model against a larger one that contains it (N. R. Draper and H. Smith, Applied
/// Regression Analysis, 3rd ed., section 6.1).
///
/// # Errors
/// When a sum of squares is negative or not finite.
///
/// The answer is undefined when the larger model has no term more, leaves no degree of freedom, or
/// leaves no scatter at all.
pub fn extra_sum_of_squares(
    smaller: Residual,
    larger: Residual,
) -> Result<Result<NestedTest, Undefined>, StatsError> {
    error::not_negative("the residual sum of squares of the smaller model", smaller.squares)?;
    error::not_negative("the residual sum of squares of the larger model", larger.squares)?;
    if smaller.degrees_of_freedom <= larger.degrees_of_freedom {
        return Ok(Err(Undefined::Because("the larger model has no term more than the smaller")));
    }
    let (numerator, denominator) =
        (smaller.degrees_of_freedom - larger.degrees_of_freedom, larger.degrees_of_freedom);
    if denominator == 0 {
        return Ok(Err(Undefined::Because("the larger model leaves no degree of freedom")));
    }
    if larger.squares == 0.0 {
        return Ok(Err(Undefined::NoVariation { what: "what the larger model leaves" }));
    }
    // Rounding may leave the difference of two almost equal sums a little below zero.
    let extra_squares = (smaller.squares - larger.squares).max(0.0);
    let ratio = (extra_squares / numerator as f64) / (larger.squares / denominator as f64);
    Ok(checked(ratio).map(|f| NestedTest {
        extra_squares,
        numerator,
        denominator,
        f,
        p: f::above(f, numerator as f64, denominator as f64),
    }))
}

/// The scatter of replicates about the mean of their place: pure error (Draper and Smith, section
/// 2.1). Places are alike when they are the same number.
///
/// # Errors
/// When lengths differ or a value is not finite.
pub fn pure_error(x: &[f64], y: &[f64]) -> Result<Residual, StatsError> {
    error::finite("x", x)?;
    error::finite("y", y)?;
    if x.len() != y.len() {
        return Err(StatsError::UnequalLengths { what: "x and y", left: x.len(), right: y.len() });
    }
    let mut pairs: Vec<(f64, f64)> = x.iter().copied().zip(y.iter().copied()).collect();
    pairs.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut residual = Residual { squares: 0.0, degrees_of_freedom: 0 };
    for place in pairs.chunk_by(|a, b| a.0 == b.0) {
        let values: Vec<f64> = place.iter().map(|(_, y)| *y).collect();
        residual.squares += number::mean_and_squares(&values).1.to_f64();
        residual.degrees_of_freedom += values.len() - 1;
    }
    Ok(residual)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::regression::straight_line;

    /// By hand: two at 1 (2, 4), two at 2 (4, 4), two at 3 (3, 5). Means 3, 4, 4, so the line is
    /// 2⅔ + ½x, the pure error 2 + 0 + 2 = 4 with 3 degrees of freedom, and the lack of fit
    /// 2·(1/36 + 4/36 + 1/36) = 1/3 with one.
    #[test]
    fn lack_of_fit_by_hand() {
        let (x, y) = ([1.0, 1.0, 2.0, 2.0, 3.0, 3.0], [2.0, 4.0, 4.0, 4.0, 3.0, 5.0]);
        let pure = pure_error(&x, &y).unwrap();
        assert_eq!(pure, Residual { squares: 4.0, degrees_of_freedom: 3 });
        let line = straight_line(&x, &y).unwrap();
        let left = Residual {
            squares: line.residual_squares,
            degrees_of_freedom: line.degrees_of_freedom,
        };
        let test = extra_sum_of_squares(left, pure).unwrap().unwrap();
        assert_eq!((test.numerator, test.denominator), (1, 3));
        assert!((test.extra_squares - 1.0 / 3.0).abs() < 1e-14);
        assert!((test.f - 0.25).abs() < 1e-14);
        // P(F(1, 3) > 0.25) = P(|t(3)| > 0.5) = 1 - (2/π)(atan(0.5/√3) + (0.5/√3)/(1 + 0.25/3)).
        let ratio = 0.5 / 3.0_f64.sqrt();
        let p = 1.0 - 2.0 / std::f64::consts::PI * (ratio.atan() + ratio / (1.0 + ratio * ratio));
        assert!((test.p - p).abs() < 1e-12, "{} {p}", test.p);
    }

    #[test]
    fn what_cannot_be_tested_says_why() {
        let residual = |squares, degrees_of_freedom| Residual { squares, degrees_of_freedom };
        for (smaller, larger, why) in [
            (residual(3.0, 2), residual(3.0, 2), "no term more"),
            (residual(3.0, 2), residual(1.0, 0), "no degree of freedom"),
            (residual(3.0, 4), residual(0.0, 2), "does not vary"),
        ] {
            let undefined = extra_sum_of_squares(smaller, larger).unwrap().unwrap_err();
            assert!(undefined.to_string().contains(why), "{undefined}");
        }
        assert!(extra_sum_of_squares(residual(-1.0, 4), residual(1.0, 2)).is_err());
    }
}
