//! CUSUM charts, by the integral equation for the run length on Gauss-Legendre nodes
//! (E. S. Page, Biometrika 41 (1954) 100-115; two sides combined as K. W. Kemp, Journal of the Royal
//! Statistical Society B 23 (1961) 149-153).

use nalgebra::{DMatrix, DVector};

use super::{run_length, solve};
use crate::distribution::normal;
use crate::error::{self, StatsError};
use crate::number::legendre;

/// Which sums are watched.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sides {
    /// Only the upper sum.
    Upper,
    /// Both.
    Both,
}

/// The average number of points until a sum passes `h`, with allowance `k`, both in standard
/// deviations of single values, for normal values shifted by `shift` of them.
///
/// # Errors
/// When an argument is out of range, or the chart practically never signals.
pub fn cusum(k: f64, h: f64, shift: f64, sides: Sides) -> Result<f64, StatsError> {
    error::not_negative("the allowance k", k)?;
    error::positive("the decision interval h", h)?;
    error::within("the decision interval h", h, h <= 100.0, "at most 100 sigma")?;
    error::finite("the shift", &[shift])?;
    let upper = one_sided(k, h, shift);
    match sides {
        Sides::Upper => upper,
        Sides::Both => {
            let lower = one_sided(k, h, -shift);
            // A side that practically never signals adds nothing.
            match (upper, lower) {
                (Ok(a), Ok(b)) => run_length(1.0 / (1.0 / a + 1.0 / b)),
                (Ok(a), Err(StatsError::Undefined(_))) | (Err(StatsError::Undefined(_)), Ok(a)) => {
                    Ok(a)
                }
                (Err(e), _) | (_, Err(e)) => Err(e),
            }
        }
    }
}

/// L(u) = 1 + L(0) Φ(k - u - shift) + ∫ L(x) φ(x + k - u - shift) dx over 0…h.
fn one_sided(k: f64, h: f64, shift: f64) -> Result<f64, StatsError> {
    let count = (h * 6.0).ceil().clamp(40.0, 400.0) as usize;
    let nodes = legendre(count).on(0.0, h);
    // The first unknown is L(0), the others stand at the nodes.
    let places: Vec<f64> = std::iter::once(0.0).chain(nodes.iter().map(|(x, _)| x)).collect();
    let mut matrix = DMatrix::<f64>::identity(count + 1, count + 1);
    for (i, from) in places.iter().enumerate() {
        matrix[(i, 0)] -= normal::below(k - from - shift);
        for (j, (to, weight)) in nodes.iter().enumerate() {
            matrix[(i, j + 1)] -= weight * normal::density(to + k - from - shift);
        }
    }
    let lengths = solve(matrix, DVector::from_element(count + 1, 1.0))?;
    run_length(lengths[0])
}
