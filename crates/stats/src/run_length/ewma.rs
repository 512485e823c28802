//! EWMA charts, by the integral equation for the run length on Gauss-Legendre nodes
//! (S. V. Crowder, Technometrics 29 (1987) 401-407).

use nalgebra::{DMatrix, DVector};

use super::{run_length, solve};
use crate::chart::{EwmaDesign, EwmaLimits};
use crate::distribution::normal;
use crate::error::{self, StatsError};
use crate::number::legendre;

/// The average number of points until the average leaves limits `width` of its own standard
/// deviations wide (final width from the start), with weight `lambda`, for normal values shifted
/// by `shift` standard deviations.
///
/// # Errors
/// When an argument is out of range, or the chart practically never signals.
pub fn ewma(lambda: f64, width: f64, shift: f64) -> Result<f64, StatsError> {
    let design = EwmaDesign { lambda, width, limits: EwmaLimits::Asymptotic };
    design.check()?;
    error::within("lambda", lambda, lambda >= 0.005, "at least 0.005 for a run length")?;
    error::within("the width of the limits", width, width <= 8.0, "at most 8")?;
    error::finite("the shift", &[shift])?;
    let limit = design.half_width();
    // The kernel is a normal density of width lambda: a few nodes for each of its widths.
    let count = ((2.0 * limit / lambda) * 4.0).ceil().clamp(40.0, 400.0) as usize;
    let nodes = legendre(count).on(-limit, limit);
    let kernel = |from: f64, to: f64| {
        normal::density((to - (1.0 - lambda) * from) / lambda - shift) / lambda
    };
    let mut matrix = DMatrix::<f64>::identity(count, count);
    for (i, (from, _)) in nodes.iter().enumerate() {
        for (j, (to, weight)) in nodes.iter().enumerate() {
            matrix[(i, j)] -= weight * kernel(from, to);
        }
    }
    let lengths = solve(matrix, DVector::from_element(count, 1.0))?;
    let rest: f64 = nodes
        .iter()
        .zip(&lengths)
        .map(|((to, weight), length)| weight * kernel(0.0, to) * length)
        .sum();
    run_length(1.0 + rest)
}
