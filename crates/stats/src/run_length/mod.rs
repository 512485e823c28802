//! How many points until a chart signals, on average: what a selection of rules costs.
//!
//! All run lengths are zero-state: the chart starts at its centre and the process is shifted from
//! the first point on, by a number of standard deviations of single values. With no shift the
//! inverse of the run length is the rate of false alarms.

mod cusum;
mod ewma;
mod shewhart;

pub use cusum::{Sides, cusum};
pub use ewma::ewma;
pub use shewhart::shewhart;

use nalgebra::{DMatrix, DVector};

use crate::error::{StatsError, Undefined, checked};

/// Solves a square system.
fn solve(matrix: DMatrix<f64>, right: DVector<f64>) -> Result<Vec<f64>, Undefined> {
    let solution = matrix.lu().solve(&right).ok_or(Undefined::Because(
        "the chart practically never signals, so its run length has no finite average",
    ))?;
    Ok(solution.iter().copied().collect())
}

/// A run length, which is at least 1; anything else is a system without a usable solution.
fn run_length(value: f64) -> Result<f64, StatsError> {
    if checked(value)? < 1.0 - 1e-6 || value > 1e13 {
        let why = "the chart practically never signals, so its run length has no finite average";
        return Err(Undefined::Because(why).into());
    }
    Ok(value)
}
