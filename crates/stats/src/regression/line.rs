//! The straight line, with the sums that its inversion needs.

use super::band::{self, Prediction};
use crate::error::{self, Figure, StatsError, Undefined, checked};
use crate::number::{self, Dd};

/// A least-squares straight line y = intercept + slope · x.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// Value at x = 0, in the unit of y.
    pub intercept: f64,
    /// Unit of y over unit of x.
    pub slope: f64,
    /// Residual sum of squares.
    pub residual_squares: f64,
    /// n - 2.
    pub degrees_of_freedom: usize,
    /// Number of points.
    pub n: usize,
    /// Mean of x.
    pub x_mean: f64,
    /// Sum of squares of x about its mean.
    pub x_squares: f64,
}

/// Fits a straight line (N. R. Draper and H. Smith, Applied Regression Analysis, 3rd ed.,
/// chapter 1).
///
/// # Errors
/// When the lengths differ, there are fewer than two points, a value is not finite, x does not
/// vary, or the sums leave double precision.
pub fn straight_line(x: &[f64], y: &[f64]) -> Result<Line, StatsError> {
    error::at_least("x", 2, x)?;
    error::finite("y", y)?;
    if x.len() != y.len() {
        return Err(StatsError::UnequalLengths { what: "x and y", left: x.len(), right: y.len() });
    }
    let (x_mean, x_squares) = number::mean_and_squares(x);
    let y_mean = number::mean(y);
    checked(x_squares.to_f64())?;
    if x_squares.to_f64() == 0.0 {
        return Err(Undefined::NoVariation { what: "x" }.into());
    }
    let products: Dd =
        x.iter().zip(y).map(|(&x, &y)| (Dd::from(x) - x_mean) * (Dd::from(y) - y_mean)).sum();
    let slope = products / x_squares;
    let intercept = y_mean - slope * x_mean;
    let residual: Dd = x
        .iter()
        .zip(y)
        .map(|(&x, &y)| (Dd::from(y) - intercept - slope * Dd::from(x)).squared())
        .sum();
    Ok(Line {
        intercept: checked(intercept.to_f64())?,
        slope: checked(slope.to_f64())?,
        residual_squares: checked(residual.to_f64())?,
        degrees_of_freedom: x.len() - 2,
        n: x.len(),
        x_mean: checked(x_mean.to_f64())?,
        x_squares: x_squares.to_f64(),
    })
}

impl Line {
    /// What the points scatter about the line: √(residual sum of squares / degrees of freedom).
    pub fn residual_standard_deviation(&self) -> Figure {
        if self.degrees_of_freedom == 0 {
            return Err(Undefined::TooFew { need: self.n + 1, got: self.n });
        }
        checked((self.residual_squares / self.degrees_of_freedom as f64).sqrt())
    }

    /// The value at a place, with its confidence interval (for the mean) and its prediction interval
    /// (for one new value) at the given level, 0 to 1 (Draper and Smith, section 3.1).
    ///
    /// # Errors
    /// When the place is not finite or the level is not between 0 and 1.
    pub fn predict(&self, at: f64, level: f64) -> Result<Prediction, StatsError> {
        error::finite("the place to predict at", &[at])?;
        error::probability("the level", level)?;
        let leverage = 1.0 / self.n as f64 + (at - self.x_mean).powi(2) / self.x_squares;
        let value = checked(self.intercept + self.slope * at)?;
        let s = self.residual_standard_deviation();
        band::prediction(value, leverage, &s, self.degrees_of_freedom, level)
    }
}
