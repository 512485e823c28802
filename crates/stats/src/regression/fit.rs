//! Coefficients with their standard errors, and what the fit leaves.

use super::band::{self, Interval, Prediction};
use super::design::Design;
use super::qr::{self, Decomposition, Failure};
use crate::error::{self, Figure, StatsError, Undefined, checked};
use crate::number::{self, Dd};

/// One coefficient, in the unit of the response over that of its predictor.
#[derive(Debug, Clone, PartialEq)]
pub struct Coefficient {
    /// `intercept`, or the predictor's name, or a power of it.
    pub name: String,
    /// Least-squares estimate.
    pub estimate: Figure,
    /// Its standard error; undefined when no degree of freedom is left.
    pub standard_error: Figure,
}

/// A least-squares fit.
#[derive(Debug, Clone)]
pub struct Fit {
    /// The coefficients in the order of the design.
    pub coefficients: Vec<Coefficient>,
    /// Number of observations.
    pub n: usize,
    /// n less the number of coefficients.
    pub degrees_of_freedom: usize,
    /// √(residual sum of squares / degrees of freedom), in the unit of the response.
    pub residual_standard_deviation: Figure,
    /// Share of the variation explained. Without an intercept the variation is counted from zero
    /// and not from the mean, as NIST StRD does.
    pub r_squared: Figure,
    /// Sum of squares explained by the predictors (the intercept not counted).
    pub regression_sum_of_squares: f64,
    /// Sum of squares left.
    pub residual_sum_of_squares: f64,
    design: Design,
    decomposition: Decomposition,
    exact: Vec<Dd>,
}

/// Fits `y` to the design by ordinary least squares.
///
/// # Errors
/// When a value is not finite, the lengths differ, there are fewer rows than coefficients, a
/// column is a combination of others, or the sums leave double precision.
pub fn fit(design: Design, y: &[f64]) -> Result<Fit, StatsError> {
    error::finite("response", y)?;
    if y.len() != design.rows() {
        return Err(StatsError::UnequalLengths {
            what: "response and predictors",
            left: y.len(),
            right: design.rows(),
        });
    }
    let count = design.columns.len();
    if y.len() < count {
        return Err(StatsError::TooFew { what: "observations", need: count, got: y.len() });
    }
    let decomposition =
        qr::decompose(design.columns.clone(), y.iter().copied().map(Dd::from).collect()).map_err(
            |failure| match failure {
                Failure::Dependent(k) => StatsError::Dependent { name: design.names[k].clone() },
                Failure::Undefined(why) => why.into(),
            },
        )?;
    let freedom = y.len() - count;
    let residual = decomposition.residual_squares;
    let skipped = usize::from(design.has_intercept());
    let regression: Dd = decomposition.effects[skipped..].iter().map(|e| e.squared()).sum();
    let variance = if freedom == 0 {
        Err(Undefined::TooFew { need: count + 1, got: y.len() })
    } else {
        Ok(residual / Dd::from(freedom as f64))
    };
    let exact = decomposition.coefficients();
    let coefficients = design
        .names
        .iter()
        .zip(&exact)
        .zip(decomposition.inverse_diagonal())
        .map(|((name, estimate), inverse)| Coefficient {
            name: name.clone(),
            estimate: checked(estimate.to_f64()),
            standard_error: variance.clone().and_then(|v| checked((v * inverse).sqrt().to_f64())),
        })
        .collect();
    // With an intercept the total is taken about the mean, computed directly: a column that does
    // not vary has to give exactly zero.
    let total = if design.has_intercept() {
        number::mean_and_squares(y).1
    } else {
        y.iter().map(|&v| Dd::product(v, v)).sum()
    };
    let r_squared = if total.to_f64() > 0.0 {
        checked((Dd::from(1.0) - residual / total).to_f64())
    } else {
        Err(Undefined::NoVariation { what: "the response" })
    };
    Ok(Fit {
        coefficients,
        n: y.len(),
        degrees_of_freedom: freedom,
        residual_standard_deviation: variance.and_then(|v| checked(v.sqrt().to_f64())),
        r_squared,
        regression_sum_of_squares: checked(regression.to_f64())?,
        residual_sum_of_squares: checked(residual.to_f64())?,
        design,
        decomposition,
        exact,
    })
}

impl Fit {
    /// The fitted value at a place, with its confidence interval (for the mean response) and its
    /// prediction interval (for one new response) at the given level, 0 to 1
    /// (N. R. Draper and H. Smith, Applied Regression Analysis, 3rd ed., section 3.1).
    ///
    /// `at` holds one number a predictor; a polynomial has one.
    ///
    /// # Errors
    /// When `at` does not fit the design or the level is not between 0 and 1.
    pub fn predict(&self, at: &[f64], level: f64) -> Result<Prediction, StatsError> {
        error::probability("the level", level)?;
        let row = self.design.row(at)?;
        let value: Dd = row.iter().zip(&self.exact).map(|(&x, &b)| x * b).sum();
        let leverage = self.decomposition.leverage(&row).to_f64();
        band::prediction(
            checked(value.to_f64())?,
            leverage,
            &self.residual_standard_deviation,
            self.degrees_of_freedom,
            level,
        )
    }

    /// The interval of a coefficient, counted from 0 in the order of the design, at a level, 0 to 1.
    ///
    /// # Errors
    /// When the level is not between 0 and 1, or there is no such coefficient.
    pub fn interval(
        &self,
        coefficient: usize,
        level: f64,
    ) -> Result<Result<Interval, Undefined>, StatsError> {
        let Some(found) = self.coefficients.get(coefficient) else {
            return Err(Undefined::Because("there is no such coefficient").into());
        };
        let estimate = found.estimate.clone()?;
        band::around(estimate, &found.standard_error, self.degrees_of_freedom, level)
    }

    /// Covariance of two coefficients, counted from 0 in the order of the design; of one with itself
    /// its variance.
    ///
    /// # Errors
    /// Undefined when no degree of freedom is left, or there is no such coefficient.
    pub fn covariance(&self, one: usize, other: usize) -> Figure {
        let count = self.coefficients.len();
        if one >= count || other >= count {
            return Err(Undefined::Because("there is no such coefficient"));
        }
        let s = self.residual_standard_deviation.clone()?;
        let leverage = |sign: f64| {
            let mut row = vec![Dd::ZERO; count];
            row[one] = row[one] + Dd::from(1.0);
            row[other] = row[other] + Dd::from(sign);
            self.decomposition.leverage(&row)
        };
        // 4 uᵀMv = (u + v)ᵀM(u + v) - (u - v)ᵀM(u - v).
        let entry = (leverage(1.0) - leverage(-1.0)) * Dd::from(0.25);
        checked(s * s * entry.to_f64())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// For a line cov(intercept, slope) = -s² x̄ / Sxx (Draper and Smith, section 1.4), and each with
    /// itself is the squared standard error.
    #[test]
    fn covariances_of_a_line() {
        let (x, y) = ([1.0, 2.0, 4.0, 9.0], [2.0, 3.5, 4.0, 9.5]);
        let fitted = fit(Design::polynomial("x", &x, 1, true).unwrap(), &y).unwrap();
        let s = fitted.residual_standard_deviation.clone().unwrap();
        let by_hand = -s * s * 4.0 / 38.0;
        assert!((fitted.covariance(0, 1).unwrap() - by_hand).abs() < 1e-14);
        assert_eq!(fitted.covariance(0, 1), fitted.covariance(1, 0));
        for n in [0, 1] {
            let error = fitted.coefficients[n].standard_error.clone().unwrap();
            assert!((fitted.covariance(n, n).unwrap() - error * error).abs() < 1e-14);
        }
        assert!(fitted.covariance(0, 2).is_err());
    }
}
