//! Repeatability and reproducibility of one material, cells of any size.
//!
//! ISO 5725-2, clause on the calculation of general means and variances: within-cell variance pooled
//! over cells with at least two results, between-cell variance through the effective cell size
//! (N - Σn²/N)/(p - 1). With equal cells these are the formulas of ASTM E691.

use super::cells::Cell;
use crate::error::{Figure, StatsError, Undefined, checked};
use crate::number::{self, Dd};

/// Factor from a standard deviation to the limit that the difference of two results exceeds once in
/// twenty times: 1.96 √2, taken as 2.8 by ASTM E177 and ISO 5725-6.
pub const LIMIT_FACTOR: f64 = 2.8;

/// Precision of one material, in the unit of the test.
#[derive(Debug, Clone, PartialEq)]
pub struct Precision {
    /// Laboratories used.
    pub laboratories: usize,
    /// Results used.
    pub results: usize,
    /// General mean: each result counts once.
    pub mean: f64,
    /// Standard deviation of the cell means (unweighted).
    pub s_x: Figure,
    /// Repeatability standard deviation.
    pub s_r: Figure,
    /// Between-laboratory standard deviation; zero where the cell means scatter less than
    /// repeatability alone explains.
    pub s_l: Figure,
    /// Reproducibility standard deviation, never below `s_r`.
    pub s_reproducibility: Figure,
    /// Repeatability limit, 2.8 s_r.
    pub repeatability_limit: Figure,
    /// Reproducibility limit, 2.8 s_R.
    pub reproducibility_limit: Figure,
}

/// Computes the precision of one material. Leave outliers out before; nothing is dropped here.
///
/// # Errors
/// When there is no cell, or sums leave double precision.
pub fn precision(cells: &[Cell]) -> Result<Precision, StatsError> {
    if cells.is_empty() {
        return Err(StatsError::TooFew { what: "laboratories", need: 1, got: 0 });
    }
    let p = cells.len();
    let counts: Vec<f64> = cells.iter().map(|c| c.values.len() as f64).collect();
    let total: f64 = counts.iter().sum();
    let means: Vec<Dd> = cells.iter().map(|c| number::mean(&c.values)).collect();
    let mean: Dd =
        means.iter().zip(&counts).map(|(&m, &n)| m * Dd::from(n)).sum::<Dd>() / Dd::from(total);
    let freedom = total - p as f64;
    let within: f64 = cells.iter().map(Cell::squares).sum();
    let s_r2 = if freedom > 0.0 {
        checked(within / freedom)
    } else {
        Err(Undefined::Because("no laboratory has two results, so repeatability cannot be seen"))
    };
    let s_x = crate::describe::standard_deviation(
        &means.iter().map(|m| m.to_f64()).collect::<Vec<f64>>(),
    );
    let s_l2 = s_r2.clone().and_then(|s_r2| {
        if p < 2 {
            return Err(Undefined::TooFew { need: 2, got: p });
        }
        let between: Dd =
            means.iter().zip(&counts).map(|(&m, &n)| (m - mean).squared() * Dd::from(n)).sum();
        let squares_of_counts: f64 = counts.iter().map(|n| n * n).sum();
        let cell_size = (total - squares_of_counts / total) / (p - 1) as f64;
        let s_d2 = between.to_f64() / (p - 1) as f64;
        checked(((s_d2 - s_r2) / cell_size).max(0.0))
    });
    let s_r = s_r2.clone().map(f64::sqrt);
    let s_reproducibility = s_l2.clone().and_then(|l| s_r2.and_then(|r| checked((l + r).sqrt())));
    let limit = |s: &Figure| s.clone().and_then(|s| checked(LIMIT_FACTOR * s));
    Ok(Precision {
        laboratories: p,
        results: total as usize,
        mean: checked(mean.to_f64())?,
        s_x,
        repeatability_limit: limit(&s_r),
        reproducibility_limit: limit(&s_reproducibility),
        s_r,
        s_l: s_l2.map(f64::sqrt),
        s_reproducibility,
    })
}
