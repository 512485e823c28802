//! Inputs observed together: means, their uncertainties and correlations (JCGM 100, 5.2.3, type A).

use crate::describe;
use crate::error::{Figure, StatsError, at_least, checked, ratio};
use crate::number::{self, Dd};

/// Several quantities observed together the same number of times.
#[derive(Debug, Clone, PartialEq)]
pub struct Observed {
    /// Means, in the units of the columns.
    pub means: Vec<f64>,
    /// Standard uncertainties of the means, s/√n.
    pub uncertainties: Vec<f64>,
    /// Correlation coefficients of the means, row by row.
    pub correlations: Vec<Vec<Figure>>,
}

/// Means of columns that were read together, row by row.
///
/// # Errors
/// When there is no column, they differ in length, have fewer than two values, or hold one that is
/// not finite.
pub fn observed(columns: &[&[f64]]) -> Result<Observed, StatsError> {
    let Some(first) = columns.first() else {
        return Err(StatsError::TooFew { what: "columns", need: 1, got: 0 });
    };
    for column in columns {
        at_least("a column", 2, column)?;
        if column.len() != first.len() {
            return Err(StatsError::UnequalLengths {
                what: "columns",
                left: first.len(),
                right: column.len(),
            });
        }
    }
    let n = first.len() as f64;
    let means: Vec<Dd> = columns.iter().map(|c| number::mean(c)).collect();
    let product = |i: usize, j: usize| -> f64 {
        let pairs = columns[i].iter().zip(columns[j]);
        pairs
            .map(|(&x, &y)| (Dd::from(x) - means[i]) * (Dd::from(y) - means[j]))
            .sum::<Dd>()
            .to_f64()
    };
    let correlations = (0..columns.len())
        .map(|i| {
            (0..columns.len())
                .map(|j| {
                    let spread = product(i, i).sqrt() * product(j, j).sqrt();
                    ratio(product(i, j), spread, "a column").map(|r| r.clamp(-1.0, 1.0))
                })
                .collect()
        })
        .collect();
    let uncertainties = columns
        .iter()
        .map(|c| Ok(describe::standard_deviation(c)? / n.sqrt()))
        .collect::<Result<Vec<f64>, StatsError>>()?;
    let means =
        means.iter().map(|m| Ok(checked(m.to_f64())?)).collect::<Result<Vec<f64>, StatsError>>()?;
    Ok(Observed { means, uncertainties, correlations })
}
