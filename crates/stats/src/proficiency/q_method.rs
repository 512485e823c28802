//! The Q method for scale and Hampel's estimator for location (ISO 13528, C.5; C. H. Müller and
//! S. Uhlig, Biometrika 88 (2001) 353-366): they withstand almost half of bad results.

use crate::describe;
use crate::distribution::normal;
use crate::error::{self, StatsError, Undefined, checked};

/// More pairs than this are not compared: the method is for tens or hundreds of laboratories.
const MOST: usize = 2000;

/// Robust standard deviation of one result a laboratory by the Q method, in the unit of the values.
///
/// # Errors
/// For fewer than two or more than 2000 values, and values that are not finite.
pub fn q_method(values: &[f64]) -> Result<f64, StatsError> {
    error::at_least("values", 2, values)?;
    let n = values.len();
    error::within("the number of values", n as f64, n <= MOST, "at most 2000 for the Q method")?;
    let mut differences = Vec::with_capacity(n * (n - 1) / 2);
    for (i, a) in values.iter().enumerate() {
        differences.extend(values[i + 1..].iter().map(|b| (a - b).abs()));
    }
    error::finite("differences", &differences)?;
    differences.sort_by(f64::total_cmp);
    let count = differences.len() as f64;
    // The places where the distribution function of the differences jumps, with its height there.
    let mut jumps: Vec<(f64, f64)> = Vec::new();
    for (i, &difference) in differences.iter().enumerate() {
        let height = (i + 1) as f64 / count;
        match jumps.last_mut() {
            Some(last) if last.0 == difference => last.1 = height,
            _ => jumps.push((difference, height)),
        }
    }
    let at_zero = if jumps[0].0 == 0.0 { jumps[0].1 } else { 0.0 };
    // Smoothed: at each jump half-way up it, straight lines in between.
    let mut smooth: Vec<(f64, f64)> = vec![(0.0, 0.0)];
    let mut before = 0.0;
    for &(x, height) in &jumps {
        if x > 0.0 {
            smooth.push((x, 0.5 * (before + height)));
        }
        before = height;
    }
    let wanted = 0.25 + 0.75 * at_zero;
    let Some(i) = smooth.iter().position(|&(_, g)| g >= wanted) else {
        return Ok(0.0);
    };
    let ((x0, g0), (x1, g1)) = (smooth[i.saturating_sub(1)], smooth[i]);
    let x = if g1 > g0 { x0 + (x1 - x0) * (wanted - g0) / (g1 - g0) } else { x1 };
    let divisor = std::f64::consts::SQRT_2 * normal::quantile(0.625 + 0.375 * at_zero);
    Ok(checked(x / divisor)?)
}

/// Hampel's robust mean, given a robust standard deviation: weights 1 up to 1.5 standard deviations,
/// falling to 0 at 4.5.
///
/// # Errors
/// For an empty list, values that are not finite, a standard deviation that is not above zero, and
/// values so scattered that none is near the middle.
pub fn hampel(values: &[f64], standard_deviation: f64) -> Result<f64, StatsError> {
    error::positive("the robust standard deviation", standard_deviation)?;
    let mut centre = describe::median(values)?;
    for _ in 0..1000 {
        let (mut total, mut weighted) = (0.0, 0.0);
        for &value in values {
            let q = ((value - centre) / standard_deviation).abs();
            let weight = if q <= 1.5 {
                1.0
            } else if q <= 3.0 {
                1.5 / q
            } else if q <= 4.5 {
                (4.5 - q) / q
            } else {
                0.0
            };
            total += weight;
            weighted += weight * value;
        }
        if total == 0.0 {
            return Err(Undefined::Because("no value lies near the middle").into());
        }
        let next = checked(weighted / total)?;
        if (next - centre).abs() <= 1e-14 * standard_deviation.max(next.abs()) {
            return Ok(next);
        }
        centre = next;
    }
    Err(Undefined::Because("the robust mean does not settle").into())
}
