//! The Anderson-Darling test with mean and standard deviation estimated from the values
//! (R. B. D'Agostino and M. A. Stephens, Goodness-of-Fit Techniques, 1986, tables 4.7 and 4.9).

use crate::describe::{self, sorted};
use crate::distribution::normal;
use crate::error::{self, Figure, StatsError, Undefined, checked};
use crate::number::root;

/// The outcome.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AndersonDarling {
    /// A².
    pub statistic: f64,
    /// A² (1 + 0.75/n + 2.25/n²).
    pub modified: f64,
    /// Probability of so large a statistic from a normal distribution.
    pub p: f64,
}

/// Tests at least eight values.
///
/// # Errors
/// When there are fewer than eight, one is not finite, or they do not vary.
pub fn anderson_darling(values: &[f64]) -> Result<AndersonDarling, StatsError> {
    error::at_least("values", 8, values)?;
    let (mean, s) = (describe::mean(values)?, describe::standard_deviation(values)?);
    if s == 0.0 {
        return Err(Undefined::NoVariation { what: "the list of values" }.into());
    }
    let z: Vec<f64> = sorted(values).iter().map(|v| (v - mean) / s).collect();
    let n = z.len();
    let count = n as f64;
    let ln = |p: f64| libm::log(p.max(f64::MIN_POSITIVE));
    let sum: f64 = (0..n)
        .map(|i| {
            let weight = (2 * i + 1) as f64;
            weight * (ln(normal::below(z[i])) + ln(normal::above(z[n - 1 - i])))
        })
        .sum();
    let statistic = checked(-count - sum / count)?;
    let modified = checked(statistic * (1.0 + 0.75 / count + 2.25 / (count * count)))?;
    Ok(AndersonDarling { statistic, modified, p: p_of(modified) })
}

/// The modified statistic that is exceeded with probability `p`.
///
/// # Errors
/// `Undefined` unless `p` lies between 0.0001 and 0.6.
pub fn anderson_darling_critical(p: f64) -> Figure {
    if !(1e-4..=0.6).contains(&p) {
        return Err(Undefined::Because("critical values are offered from 0.0001 to 0.6"));
    }
    root(0.25, 10.0, |a| p_of(a) - p)
}

fn p_of(a: f64) -> f64 {
    // The parabola of the last piece turns upward far out, where nothing can be told apart anyway.
    let a = a.min(10.0);
    let p = if a < 0.2 {
        1.0 - libm::exp(-13.436 + a * (101.14 - 223.73 * a))
    } else if a < 0.34 {
        1.0 - libm::exp(-8.318 + a * (42.796 - 59.938 * a))
    } else if a < 0.6 {
        libm::exp(0.9177 - a * (4.279 + 1.38 * a))
    } else {
        libm::exp(1.2937 - a * (5.709 - 0.0186 * a))
    };
    p.clamp(0.0, 1.0)
}
