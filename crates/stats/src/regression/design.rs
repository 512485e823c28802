//! Which columns a regression has.

use crate::error::{self, StatsError};
use crate::number::Dd;

/// The columns of a regression, with their names.
#[derive(Debug, Clone)]
pub struct Design {
    pub(crate) names: Vec<String>,
    pub(crate) columns: Vec<Vec<Dd>>,
    shape: Shape,
    intercept: bool,
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum Shape {
    Predictors,
    Polynomial,
}

impl Design {
    /// Several predictors side by side, each a name and its values.
    ///
    /// # Errors
    /// When there is no predictor, one holds a value that is not finite, or they differ in length.
    pub fn predictors(columns: &[(&str, &[f64])], intercept: bool) -> Result<Self, StatsError> {
        let Some((_, first)) = columns.first() else {
            return Err(StatsError::TooFew { what: "predictors", need: 1, got: 0 });
        };
        let mut design = Self::empty(first.len(), Shape::Predictors, intercept);
        for (name, values) in columns {
            error::finite("predictor", values)?;
            if values.len() != first.len() {
                return Err(StatsError::UnequalLengths {
                    what: "predictors",
                    left: first.len(),
                    right: values.len(),
                });
            }
            design.names.push((*name).to_string());
            design.columns.push(values.iter().copied().map(Dd::from).collect());
        }
        Ok(design)
    }

    /// Powers of one predictor from 1 to `degree`.
    ///
    /// # Errors
    /// When a value is not finite, or the degree is 0 or above 20.
    pub fn polynomial(
        name: &str,
        values: &[f64],
        degree: usize,
        intercept: bool,
    ) -> Result<Self, StatsError> {
        error::finite("predictor", values)?;
        error::within("the degree", degree as f64, (1..=20).contains(&degree), "from 1 to 20")?;
        let mut design = Self::empty(values.len(), Shape::Polynomial, intercept);
        let base: Vec<Dd> = values.iter().copied().map(Dd::from).collect();
        let mut power = base.clone();
        for exponent in 1..=degree {
            if exponent == 1 {
                design.names.push(name.to_string());
            } else {
                for (p, &b) in power.iter_mut().zip(&base) {
                    *p = *p * b;
                }
                design.names.push(format!("{name}^{exponent}"));
            }
            design.columns.push(power.clone());
        }
        Ok(design)
    }

    fn empty(rows: usize, shape: Shape, intercept: bool) -> Self {
        let (names, columns) = if intercept {
            (vec!["intercept".to_string()], vec![vec![Dd::from(1.0); rows]])
        } else {
            (Vec::new(), Vec::new())
        };
        Self { names, columns, shape, intercept }
    }

    /// Whether the first column is the constant one.
    #[must_use]
    pub fn has_intercept(&self) -> bool {
        self.intercept
    }

    /// How many numbers name a place to predict at: one for a polynomial, otherwise one a
    /// predictor.
    #[must_use]
    pub fn predictors_needed(&self) -> usize {
        match self.shape {
            Shape::Polynomial => 1,
            Shape::Predictors => self.columns.len() - usize::from(self.intercept),
        }
    }

    pub(crate) fn rows(&self) -> usize {
        self.columns.first().map_or(0, Vec::len)
    }

    /// The row of the design at a place.
    pub(crate) fn row(&self, at: &[f64]) -> Result<Vec<Dd>, StatsError> {
        error::finite("the place to predict at", at)?;
        if at.len() != self.predictors_needed() {
            return Err(StatsError::UnequalLengths {
                what: "a place to predict at and the predictors",
                left: at.len(),
                right: self.predictors_needed(),
            });
        }
        let constant = self.intercept.then(|| Dd::from(1.0));
        let powers = self.columns.len() - usize::from(self.intercept);
        let rest: Vec<Dd> = match self.shape {
            Shape::Predictors => at.iter().copied().map(Dd::from).collect(),
            Shape::Polynomial => {
                let x = Dd::from(at[0]);
                std::iter::successors(Some(x), |&p| Some(p * x)).take(powers).collect()
            }
        };
        Ok(constant.into_iter().chain(rest).collect())
    }
}
