//! The Shapiro-Wilk test in Royston's form (S. S. Shapiro and M. B. Wilk, Biometrika 52 (1965) 591-611;
//! P. Royston, Statistics and Computing 2 (1992) 117-119 and Applied Statistics 44 (1995) 547-551),
//! written from the formulas of those papers.

use crate::describe::sorted;
use crate::distribution::normal;
use crate::error::{self, StatsError, Undefined, checked};
use crate::number;

/// The outcome.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ShapiroWilk {
    /// W, at most 1: small values speak against normality.
    pub statistic: f64,
    /// Probability of so small a statistic from a normal distribution.
    pub p: f64,
}

/// Value of a polynomial, constant term first.
fn polynomial(coefficients: &[f64], x: f64) -> f64 {
    coefficients.iter().rev().fold(0.0, |sum, c| sum * x + c)
}

/// Tests 3 to 5000 values.
///
/// # Errors
/// When the number of values is out of range, one is not finite, or they do not vary.
pub fn shapiro_wilk(values: &[f64]) -> Result<ShapiroWilk, StatsError> {
    error::at_least("values", 3, values)?;
    let n = values.len();
    error::within("the number of values", n as f64, n <= 5000, "at most 5000")?;
    let order = sorted(values);
    let weights = weights(n);
    let (_, squares) = number::mean_and_squares(values);
    let squares = checked(squares.to_f64())?;
    if squares == 0.0 {
        return Err(Undefined::NoVariation { what: "the list of values" }.into());
    }
    // The weights are antisymmetric: the largest belongs to the outermost pair.
    let sum: f64 = weights.iter().enumerate().map(|(i, a)| a * (order[n - 1 - i] - order[i])).sum();
    let statistic = (sum * sum / squares).min(1.0);
    Ok(ShapiroWilk { statistic, p: probability(statistic, n) })
}

/// Weights of the pairs, the outermost first.
fn weights(n: usize) -> Vec<f64> {
    if n == 3 {
        return vec![std::f64::consts::FRAC_1_SQRT_2];
    }
    let count = n as f64;
    let half = n / 2;
    // Expected order statistics by Blom's formula, outermost first and positive.
    let m: Vec<f64> =
        (0..half).map(|i| -normal::quantile((i as f64 + 0.625) / (count + 0.25))).collect();
    let total = 2.0 * m.iter().map(|v| v * v).sum::<f64>();
    let root = total.sqrt();
    let u = 1.0 / count.sqrt();
    let first =
        polynomial(&[m[0] / root, 0.221_157, -0.147_981, -2.071_19, 4.434_685, -2.706_056], u);
    let mut weights = vec![first];
    let divisor = if n > 5 {
        let second =
            polynomial(&[m[1] / root, 0.042_981, -0.293_762, -1.752_461, 5.682_633, -3.582_633], u);
        weights.push(second);
        let left = total - 2.0 * (m[0] * m[0] + m[1] * m[1]);
        (left / (1.0 - 2.0 * (first * first + second * second))).sqrt()
    } else {
        ((total - 2.0 * m[0] * m[0]) / (1.0 - 2.0 * first * first)).sqrt()
    };
    weights.extend(m[weights.len()..].iter().map(|v| v / divisor));
    weights
}

fn probability(w: f64, n: usize) -> f64 {
    if n == 3 {
        // Exact; the smallest possible W is 3/4.
        let angle = libm::asin(w.sqrt()) - libm::asin(0.75f64.sqrt());
        return (6.0 / std::f64::consts::PI * angle).clamp(0.0, 1.0);
    }
    if w >= 1.0 {
        return 1.0;
    }
    let count = n as f64;
    let y = libm::log(1.0 - w);
    let (y, mean, sd) = if n <= 11 {
        let gamma = polynomial(&[-2.273, 0.459], count);
        if y >= gamma {
            // Below every statistic that the approximation knows.
            return 0.0;
        }
        (
            -libm::log(gamma - y),
            polynomial(&[0.544, -0.399_78, 0.025_054, -6.714e-4], count),
            libm::exp(polynomial(&[1.382_2, -0.778_57, 0.062_767, -0.002_032_2], count)),
        )
    } else {
        let x = libm::log(count);
        (
            y,
            polynomial(&[-1.586_1, -0.310_82, -0.083_751, 0.003_891_5], x),
            libm::exp(polynomial(&[-0.480_3, -0.082_676, 0.003_030_2], x)),
        )
    };
    normal::above((y - mean) / sd)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn normal_looking_values_pass_and_skewed_ones_do_not() {
        let quantiles: Vec<f64> =
            (1..=60).map(|i| normal::quantile((f64::from(i) - 0.5) / 60.0)).collect();
        let skewed: Vec<f64> = quantiles.iter().map(|z| libm::exp(*z)).collect();
        assert!(shapiro_wilk(&quantiles).expect("enough").p > 0.9);
        assert!(shapiro_wilk(&skewed).expect("enough").p < 1e-4);
        // Three values in a line have W = 1.
        let line = shapiro_wilk(&[1.0, 2.0, 3.0]).expect("enough");
        assert!((line.statistic - 1.0).abs() < 1e-12 && line.p > 0.999);
    }
}
