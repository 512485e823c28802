//! Parallel lines: groups of points with one slope and a level of their own each, such as the mass
//! of a ball charge between one change of it and the next.

use super::band::{self, Interval};
use super::line::Line;
use crate::error::{self, StatsError, Undefined, checked};
use crate::number::{self, Dd};

/// Lines with one slope, a level for each group.
#[derive(Debug, Clone, PartialEq)]
pub struct ParallelLines {
    /// The line of each group, in the order in which the groups were given; `None` for a group
    /// without a point. Slope, residuals, degrees of freedom and the squares of x are those of all
    /// groups together, so that bands and crossings of one line use what all groups know.
    pub lines: Vec<Option<Line>>,
    /// The common slope, unit of y over unit of x.
    pub slope: f64,
    /// Its standard error; undefined when no degree of freedom is left.
    pub slope_standard_error: error::Figure,
    /// Points of all groups less one slope and one level for each group that has points.
    pub degrees_of_freedom: usize,
    /// Residual sum of squares.
    pub residual_squares: f64,
}

impl ParallelLines {
    /// The interval of the common slope at a level, 0 to 1.
    ///
    /// # Errors
    /// When the level is not between 0 and 1.
    pub fn slope_interval(&self, level: f64) -> Result<Result<Interval, Undefined>, StatsError> {
        band::around(self.slope, &self.slope_standard_error, self.degrees_of_freedom, level)
    }
}

/// Fits parallel lines, the analysis of covariance with one covariate (N. R. Draper and H. Smith,
/// Applied Regression Analysis, 3rd ed., section 14.3: dummy variables for groups of data with
/// parallel lines).
///
/// # Errors
/// When lengths differ, a value is not finite, x varies in no group, there are fewer points than
/// levels and slope, or the sums leave double precision.
pub fn parallel_lines(groups: &[(&[f64], &[f64])]) -> Result<ParallelLines, StatsError> {
    let (mut across, mut products) = (Dd::ZERO, Dd::ZERO);
    let mut centres: Vec<Option<(Dd, Dd)>> = Vec::with_capacity(groups.len());
    for (x, y) in groups {
        error::finite("x", x)?;
        error::finite("y", y)?;
        if x.len() != y.len() {
            let (left, right) = (x.len(), y.len());
            return Err(StatsError::UnequalLengths { what: "x and y", left, right });
        }
        if x.is_empty() {
            centres.push(None);
            continue;
        }
        let (x_mean, x_squares) = number::mean_and_squares(x);
        let y_mean = number::mean(y);
        let product: Dd =
            x.iter().zip(*y).map(|(&x, &y)| (Dd::from(x) - x_mean) * (Dd::from(y) - y_mean)).sum();
        across = across + x_squares;
        products = products + product;
        centres.push(Some((x_mean, y_mean)));
    }
    let points: usize = groups.iter().map(|(x, _)| x.len()).sum();
    let levels = centres.iter().flatten().count();
    if points < levels + 1 {
        return Err(StatsError::TooFew { what: "points", need: levels + 1, got: points });
    }
    checked(across.to_f64())?;
    if across.to_f64() == 0.0 {
        return Err(Undefined::NoVariation { what: "x" }.into());
    }
    let slope = products / across;
    let residual: Dd = groups
        .iter()
        .zip(&centres)
        .filter_map(|((x, y), centre)| centre.map(|centre| (x, y, centre)))
        .flat_map(|(x, y, (x_mean, y_mean))| {
            x.iter().zip(*y).map(move |(&x, &y)| {
                (Dd::from(y) - y_mean - slope * (Dd::from(x) - x_mean)).squared()
            })
        })
        .sum();
    let freedom = points - levels - 1;
    let residual_squares = checked(residual.to_f64())?;
    let common = checked(slope.to_f64())?;
    let lines = groups
        .iter()
        .zip(&centres)
        .map(|((x, _), centre)| {
            let Some((x_mean, y_mean)) = centre else { return Ok(None) };
            Ok(Some(Line {
                intercept: checked((*y_mean - slope * *x_mean).to_f64())?,
                slope: common,
                residual_squares,
                degrees_of_freedom: freedom,
                n: x.len(),
                x_mean: checked(x_mean.to_f64())?,
                x_squares: across.to_f64(),
            }))
        })
        .collect::<Result<Vec<Option<Line>>, StatsError>>()?;
    let slope_standard_error = if freedom == 0 {
        Err(Undefined::TooFew { need: points + 1, got: points })
    } else {
        checked((residual_squares / freedom as f64 / across.to_f64()).sqrt())
    };
    Ok(ParallelLines {
        lines,
        slope: common,
        slope_standard_error,
        degrees_of_freedom: freedom,
        residual_squares,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::regression::{Design, fit, straight_line};

    /// Two groups by hand: slopes of 2 within each, levels 1 and 11, and one point off by 0.3.
    const X: [&[f64]; 2] = [&[0.0, 1.0, 2.0], &[5.0, 6.0]];
    const Y: [&[f64]; 2] = [&[1.0, 3.3, 5.0], &[21.0, 23.0]];

    fn groups() -> Vec<(&'static [f64], &'static [f64])> {
        X.into_iter().zip(Y).collect()
    }

    #[test]
    fn parallel_lines_are_the_regression_with_a_column_for_each_group() {
        let found = parallel_lines(&groups()).unwrap();
        // Within the groups Sxx = 2 + 0.5 and Sxy = 4 + 1: the slope is 2 exactly.
        assert!((found.slope - 2.0).abs() < 1e-15, "{}", found.slope);
        assert_eq!(found.degrees_of_freedom, 2);
        // Residuals of the first group -0.1, 0.2, -0.1; none in the second.
        assert!((found.residual_squares - 0.06).abs() < 1e-14);

        let (first, second) = ([1.0, 1.0, 1.0, 0.0, 0.0], [0.0, 0.0, 0.0, 1.0, 1.0]);
        let (x, y) = (X.concat(), Y.concat());
        let columns: [(&str, &[f64]); 3] = [("first", &first), ("second", &second), ("x", &x)];
        let fitted = fit(Design::predictors(&columns, false).unwrap(), &y).unwrap();
        let error = fitted.coefficients[2].standard_error.clone().unwrap();
        assert!((found.slope_standard_error.clone().unwrap() - error).abs() < 1e-15);
        let line = found.lines[1].as_ref().unwrap();
        let (one, other) = (line.predict(7.5, 0.9), fitted.predict(&[0.0, 1.0, 7.5], 0.9));
        let (one, other) = (one.unwrap(), other.unwrap());
        assert!((one.value - other.value).abs() < 1e-12);
        let (one, other) = (one.prediction.unwrap(), other.prediction.unwrap());
        assert!((one.lower - other.lower).abs() < 1e-12 && (one.upper - other.upper).abs() < 1e-12);
    }

    #[test]
    fn one_group_is_the_straight_line_and_an_empty_one_has_none() {
        let (x, y) = ([1.0, 2.0, 4.0, 7.0], [3.1, 2.7, 2.2, 0.9]);
        let found = parallel_lines(&[(&x, &y), (&[], &[])]).unwrap();
        let line = straight_line(&x, &y).unwrap();
        let own = found.lines[0].as_ref().unwrap();
        assert!((own.slope - line.slope).abs() < 1e-15);
        assert!((own.intercept - line.intercept).abs() < 1e-14);
        assert_eq!((own.n, own.degrees_of_freedom), (line.n, line.degrees_of_freedom));
        assert_eq!(found.lines[1], None);
    }

    #[test]
    fn what_has_no_slope_says_why() {
        let level = parallel_lines(&[(&[1.0, 1.0], &[2.0, 3.0])]).unwrap_err();
        assert_eq!(level.to_string(), "x does not vary");
        let few = parallel_lines(&[(&[1.0], &[2.0]), (&[3.0], &[4.0])]).unwrap_err();
        assert_eq!(few.to_string(), "points: needs at least 3, there are 2");
    }
}
