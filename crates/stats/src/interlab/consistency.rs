//! Mandel's h and k: which laboratory stands apart, in its mean or in its scatter
//! (J. Mandel, Journal of Quality Technology 17 (1985) 198-203; ASTM E691, critical values at 0.5 %).

use super::cells::Cell;
use super::cochran::upper_f;
use crate::describe;
use crate::distribution::t;
use crate::error::{self, Figure, StatsError, Undefined, ratio};
use std::collections::BTreeMap;

/// How one laboratory compares with the others on one material.
#[derive(Debug, Clone, PartialEq)]
pub struct Consistency {
    /// Which laboratory.
    pub laboratory: String,
    /// Number of its results.
    pub results: usize,
    /// Its mean.
    pub mean: f64,
    /// Its standard deviation.
    pub standard_deviation: Figure,
    /// Deviation of its mean from the mean of the laboratories' means, over the standard deviation
    /// of those.
    pub h: Figure,
    /// Its standard deviation over the pooled one (root mean square over laboratories).
    pub k: Figure,
    /// Critical value of |h| at the level.
    pub h_critical: Figure,
    /// Critical value of k at the level, for as many results as this laboratory has.
    pub k_critical: Figure,
}

impl Consistency {
    /// Whether the mean stands apart.
    #[must_use]
    pub fn h_beyond(&self) -> bool {
        matches!((&self.h, &self.h_critical), (Ok(h), Ok(limit)) if h.abs() > *limit)
    }

    /// Whether the scatter stands apart.
    #[must_use]
    pub fn k_beyond(&self) -> bool {
        matches!((&self.k, &self.k_critical), (Ok(k), Ok(limit)) if k > limit)
    }
}

/// h and k of every laboratory on one material, with critical values at `alpha` (0.005 in ASTM
/// E691).
///
/// # Errors
/// When there is no cell or `alpha` is not between 0 and 1.
pub fn consistency(cells: &[Cell], alpha: f64) -> Result<Vec<Consistency>, StatsError> {
    error::probability("alpha", alpha)?;
    if cells.is_empty() {
        return Err(StatsError::TooFew { what: "laboratories", need: 1, got: 0 });
    }
    let p = cells.len();
    let means: Vec<f64> = cells.iter().map(Cell::mean).collect();
    let centre = describe::mean(&means);
    let s_x = describe::standard_deviation(&means);
    let spreads: Vec<f64> = cells.iter().filter_map(|c| c.standard_deviation().ok()).collect();
    let pooled: Figure = if spreads.is_empty() {
        Err(Undefined::Because("no laboratory has two results"))
    } else {
        let squares: f64 = spreads.iter().map(|s| s * s).sum();
        error::checked((squares / spreads.len() as f64).sqrt())
    };
    // The same for all laboratories with as many results, and each takes a root to be found.
    let h_critical = h_critical(p, alpha);
    let mut k_criticals: BTreeMap<usize, Figure> = BTreeMap::new();
    Ok(cells
        .iter()
        .zip(means)
        .map(|(cell, mean)| {
            let n = cell.values.len();
            let standard_deviation = cell.standard_deviation();
            Consistency {
                laboratory: cell.laboratory.clone(),
                results: n,
                mean,
                h: centre
                    .clone()
                    .and_then(|c| ratio(mean - c, s_x.clone()?, "the mean between laboratories")),
                k: standard_deviation
                    .clone()
                    .and_then(|s| ratio(s, pooled.clone()?, "the result within laboratories")),
                standard_deviation,
                h_critical: h_critical.clone(),
                k_critical: k_criticals
                    .entry(n)
                    .or_insert_with(|| k_critical(spreads.len(), n, alpha))
                    .clone(),
            }
        })
        .collect())
}

/// Critical value of |h| for `p` laboratories, two-sided at `alpha` (ASTM E691).
///
/// # Errors
/// `Undefined` for fewer than three laboratories.
pub fn h_critical(p: usize, alpha: f64) -> Figure {
    if p < 3 {
        return Err(Undefined::TooFew { need: 3, got: p });
    }
    let (n, t) = (p as f64, t::quantile(1.0 - 0.5 * alpha, (p - 2) as f64));
    error::checked((n - 1.0) * t / (n * (t * t + n - 2.0)).sqrt())
}

/// Critical value of k for `p` laboratories with `n` results each, at `alpha` (ASTM E691).
///
/// # Errors
/// `Undefined` for fewer than two laboratories or results.
pub fn k_critical(p: usize, n: usize, alpha: f64) -> Figure {
    if p < 2 || n < 2 {
        return Err(Undefined::TooFew { need: 2, got: p.min(n) });
    }
    let f = upper_f(alpha, p, n);
    error::checked((p as f64 / (1.0 + (p - 1) as f64 / f)).sqrt())
}
