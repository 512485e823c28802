//! Cochran's test: is one laboratory's variance too large beside the others?
//!
//! W. G. Cochran, Annals of Eugenics 11 (1941) 47-52; ISO 5725-2. The critical value is the upper
//! bound through F at alpha/p, which is what the standard's table holds but for a unit in the third
//! decimal of a few cells.

use super::Verdict;
use super::cells::Cell;
use crate::distribution::f;
use crate::error::{self, Figure, StatsError, Undefined};

/// The outcome of Cochran's test.
#[derive(Debug, Clone, PartialEq)]
pub struct Cochran {
    /// Laboratory with the largest variance.
    pub laboratory: String,
    /// Its variance over the sum of all.
    pub statistic: f64,
    /// Laboratories with at least two results.
    pub laboratories: usize,
    /// The number of results a cell that the critical values are for.
    pub results: usize,
    /// Critical value at 5 %.
    pub critical_5: f64,
    /// Critical value at 1 %.
    pub critical_1: f64,
    /// At most this is the probability of so large a statistic by chance.
    pub p: f64,
    /// What follows.
    pub verdict: Verdict,
}

/// Upper quantile of F at `alpha` for one variance of `n` results against `p - 1` others.
pub(crate) fn upper_f(alpha: f64, p: usize, n: usize) -> f64 {
    let freedom = (n - 1) as f64;
    f::upper_quantile(alpha, freedom, (p - 1) as f64 * freedom)
}

/// Critical value for `p` >= 2 variances of `n` >= 2 results each at `alpha`.
///
/// # Errors
/// `Undefined` for fewer.
pub fn cochran_critical(p: usize, n: usize, alpha: f64) -> Figure {
    if p < 2 || n < 2 {
        return Err(Undefined::TooFew { need: 2, got: p.min(n) });
    }
    let f = upper_f(alpha / p as f64, p, n);
    error::checked(1.0 / (1.0 + (p - 1) as f64 / f))
}

/// Tests the cells that have at least two results. Where they differ in size, the critical value is
/// for the size that most of them have, as ISO 5725-2 directs.
///
/// # Errors
/// When fewer than two cells have two results, or none of them varies.
pub fn cochran(cells: &[Cell]) -> Result<Cochran, StatsError> {
    let used: Vec<&Cell> = cells.iter().filter(|c| c.values.len() >= 2).collect();
    let what = "laboratories with two results";
    if used.len() < 2 {
        return Err(StatsError::TooFew { what, need: 2, got: used.len() });
    }
    let variances: Vec<f64> =
        used.iter().map(|c| c.squares() / (c.values.len() - 1) as f64).collect();
    let total: f64 = variances.iter().sum();
    let most = (0..used.len()).fold(0, |a, b| if variances[b] > variances[a] { b } else { a });
    let statistic = error::ratio(variances[most], total, "the result within laboratories")?;
    let p = used.len();
    let n = usual_size(&used);
    let (critical_5, critical_1) = (cochran_critical(p, n, 0.05)?, cochran_critical(p, n, 0.01)?);
    let freedom = (n - 1) as f64;
    let f = statistic * (p - 1) as f64 / (1.0 - statistic);
    let tail = if statistic >= 1.0 { 0.0 } else { f::above(f, freedom, (p - 1) as f64 * freedom) };
    Ok(Cochran {
        laboratory: used[most].laboratory.clone(),
        statistic,
        laboratories: p,
        results: n,
        critical_5,
        critical_1,
        p: (p as f64 * tail).min(1.0),
        verdict: Verdict::new(statistic > critical_5, statistic > critical_1),
    })
}

/// The size that most cells have; of two equally frequent, the smaller.
fn usual_size(cells: &[&Cell]) -> usize {
    let mut counts = std::collections::BTreeMap::<usize, usize>::new();
    for cell in cells {
        *counts.entry(cell.values.len()).or_default() += 1;
    }
    counts.into_iter().fold((2, 0), |best, (n, k)| if k > best.1 { (n, k) } else { best }).0
}
