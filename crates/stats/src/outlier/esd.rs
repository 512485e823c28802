//! The generalized extreme studentized deviate test for up to a given number of outliers
//! (B. Rosner, Technometrics 25 (1983) 165-172). It looks for the largest number that is significant,
//! so that two outliers cannot hide each other.

use crate::distribution::t;
use crate::error::{self, StatsError, Undefined, checked};
use crate::number;

/// One step: the value that is farthest out of those left.
#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    /// Which value, counted from 1.
    pub index: usize,
    /// The value.
    pub value: f64,
    /// Its distance from the mean of those left, in their standard deviations.
    pub statistic: f64,
    /// Critical value at alpha.
    pub critical: f64,
}

/// The outcome.
#[derive(Debug, Clone, PartialEq)]
pub struct Esd {
    /// All steps.
    pub steps: Vec<Step>,
    /// How many values, from the first step on, are outliers.
    pub outliers: usize,
}

/// Looks for up to `most` outliers at `alpha` (two-sided). With fewer than about 25 values the level is
/// only approximate.
///
/// # Errors
/// When there are fewer than `most` + 2 values, one is not finite, or they do not vary.
pub fn generalized_esd(values: &[f64], most: usize, alpha: f64) -> Result<Esd, StatsError> {
    error::probability("alpha", alpha)?;
    let good = (1..=1000).contains(&most);
    error::within("the most outliers", most as f64, good, "from 1 to 1000")?;
    error::at_least("values", most + 2, values)?;
    let n = values.len() as f64;
    let mut left: Vec<usize> = (0..values.len()).collect();
    let mut steps = Vec::new();
    for i in 1..=most {
        let rest: Vec<f64> = left.iter().map(|k| values[*k]).collect();
        let (mean, squares) = number::mean_and_squares(&rest);
        let mean = checked(mean.to_f64())?;
        let s = checked((squares.to_f64() / (rest.len() - 1) as f64).sqrt())?;
        if s == 0.0 {
            // What is left is all equal: nothing more can stand out.
            if steps.is_empty() {
                return Err(Undefined::NoVariation { what: "the list of values" }.into());
            }
            break;
        }
        let away = |k: usize| (rest[k] - mean).abs();
        let farthest = (0..rest.len()).fold(0, |a, b| if away(b) > away(a) { b } else { a });
        let place = i as f64;
        let freedom = n - place - 1.0;
        let t = -t::quantile(alpha / (2.0 * (n - place + 1.0)), freedom);
        let critical = (n - place) * t / ((freedom + t * t) * (n - place + 1.0)).sqrt();
        let index = left.remove(farthest);
        steps.push(Step {
            index: index + 1,
            value: values[index],
            statistic: away(farthest) / s,
            critical: checked(critical)?,
        });
    }
    let outliers = steps.iter().rposition(|s| s.statistic > s.critical).map_or(0, |i| i + 1);
    Ok(Esd { steps, outliers })
}
