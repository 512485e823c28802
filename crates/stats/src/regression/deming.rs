//! A line when both variables carry error: wet attrition against dry attrition.
//!
//! W. E. Deming, Statistical Adjustment of Data, 1943, chapter XI; standard errors by leaving out
//! one pair at a time (K. Linnet, Clinical Chemistry 39 (1993) 424-432).

use super::band::Interval;
use crate::distribution::t;
use crate::error::{self, Figure, StatsError, Undefined, checked};
use crate::number::{self, Dd};

/// A Deming line y = intercept + slope · x.
#[derive(Debug, Clone, PartialEq)]
pub struct Deming {
    /// In the unit of y.
    pub intercept: f64,
    /// Unit of y over unit of x.
    pub slope: f64,
    /// Standard error of the intercept.
    pub intercept_standard_error: Figure,
    /// Standard error of the slope.
    pub slope_standard_error: Figure,
    /// Two-sided interval of the intercept.
    pub intercept_interval: Result<Interval, Undefined>,
    /// Two-sided interval of the slope.
    pub slope_interval: Result<Interval, Undefined>,
}

/// Fits a Deming line. `ratio` is the variance of the errors of y over that of the errors of x;
/// 1 is orthogonal regression. `level` (0 to 1) is that of the intervals.
///
/// # Errors
/// When the lengths differ, there are fewer than two pairs, a value is not finite, the ratio or
/// the level is out of range, or the two do not vary together at all.
pub fn deming(x: &[f64], y: &[f64], ratio: f64, level: f64) -> Result<Deming, StatsError> {
    error::at_least("x", 2, x)?;
    error::finite("y", y)?;
    error::positive("the ratio of the error variances", ratio)?;
    error::probability("the level", level)?;
    if x.len() != y.len() {
        return Err(StatsError::UnequalLengths { what: "x and y", left: x.len(), right: y.len() });
    }
    let (intercept, slope) = line(x, y, ratio)?;
    let left_out = left_out(x, y, ratio);
    let spread = |pick: fn(&(f64, f64)) -> f64| -> Figure {
        let estimates: Vec<f64> = left_out.clone()?.iter().map(pick).collect();
        let n = estimates.len() as f64;
        let squares = number::mean_and_squares(&estimates).1.to_f64();
        checked((squares * (n - 1.0) / n).sqrt())
    };
    let intercept_standard_error = spread(|e| e.0);
    let slope_standard_error = spread(|e| e.1);
    let quantile = t::quantile(0.5 + 0.5 * level, x.len().saturating_sub(2).max(1) as f64);
    let interval = |centre: f64, error: &Figure| {
        error.clone().and_then(|e| Interval::about(centre, quantile * e))
    };
    Ok(Deming {
        intercept,
        slope,
        intercept_interval: interval(intercept, &intercept_standard_error),
        slope_interval: interval(slope, &slope_standard_error),
        intercept_standard_error,
        slope_standard_error,
    })
}

/// The lines with each pair left out in turn.
fn left_out(x: &[f64], y: &[f64], ratio: f64) -> Result<Vec<(f64, f64)>, Undefined> {
    if x.len() < 3 {
        return Err(Undefined::TooFew { need: 3, got: x.len() });
    }
    let without = |values: &[f64], i: usize| [&values[..i], &values[i + 1..]].concat();
    (0..x.len()).map(|i| line(&without(x, i), &without(y, i), ratio)).collect()
}

fn line(x: &[f64], y: &[f64], ratio: f64) -> Result<(f64, f64), Undefined> {
    let (x_mean, x_squares) = number::mean_and_squares(x);
    let (y_mean, y_squares) = number::mean_and_squares(y);
    let products: Dd =
        x.iter().zip(y).map(|(&x, &y)| (Dd::from(x) - x_mean) * (Dd::from(y) - y_mean)).sum();
    let ratio = Dd::from(ratio);
    let products_f64 = checked(products.to_f64())?;
    if products_f64 == 0.0 {
        return Err(Undefined::Because(
            "x and y do not vary together, so no direction is preferred",
        ));
    }
    let gap = y_squares - ratio * x_squares;
    let root = (gap.squared() + Dd::from(4.0) * ratio * products.squared()).sqrt();
    // Of two equal forms, the one that adds.
    let slope = if gap.is_negative() {
        Dd::from(2.0) * ratio * products / (root - gap)
    } else {
        (gap + root) / (products + products)
    };
    Ok((checked((y_mean - slope * x_mean).to_f64())?, checked(slope.to_f64())?))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn finds_an_exact_line_and_is_symmetric() {
        let x = [1.0, 2.0, 3.5, 5.0];
        let y = x.map(|x| 2.0 + 0.5 * x);
        let exact = deming(&x, &y, 1.0, 0.95).expect("a line");
        assert!((exact.slope - 0.5).abs() < 1e-15 && (exact.intercept - 2.0).abs() < 1e-14);

        // Exchanging the axes of an orthogonal regression gives the inverse line.
        let (x, y) = ([1.0, 2.0, 3.0, 4.0, 5.0], [1.2, 1.9, 3.3, 3.8, 5.4]);
        let forth = deming(&x, &y, 1.0, 0.95).expect("a line");
        let back = deming(&y, &x, 1.0, 0.95).expect("a line");
        assert!((forth.slope * back.slope - 1.0).abs() < 1e-14);
    }
}
