//! The noncentral t distribution, by integrating its definition.
//!
//! T = (Z + delta) / S with S² = chi-squared / freedom gives
//! P(T <= t) = ∫ Φ(t s - delta) f(s) ds (D. B. Owen, Technometrics 10 (1968) 445-478). Every term is
//! positive, so nothing cancels and nothing underflows at a large noncentrality, where the usual
//! series of products of Poisson weights and beta functions returns zero. The price is a few
//! hundred evaluations of the error function.

use super::{chi_squared, normal};
use crate::error::{self, StatsError, Undefined};
use crate::number::{Nodes, panels, root};

/// P(T <= t) for `freedom` > 0 degrees of freedom and noncentrality `delta`.
///
/// # Errors
/// When an argument is not finite or `freedom` is not above zero.
pub fn below(t: f64, freedom: f64, delta: f64) -> Result<f64, StatsError> {
    error::finite("noncentral t", &[t, freedom, delta])?;
    error::freedom(freedom)?;
    Ok(integral(t, freedom, delta))
}

/// The t with P(T <= t) = `p`.
///
/// # Errors
/// As [`below`], and when `p` is not between 0 and 1.
pub fn quantile(p: f64, freedom: f64, delta: f64) -> Result<f64, StatsError> {
    error::probability("the probability", p)?;
    below(0.0, freedom, delta)?;
    let gap = |t: f64| integral(t, freedom, delta) - p;
    let mut step = 1.0 + 0.1 * delta.abs();
    let (mut low, mut high) = (delta - step, delta + step);
    while gap(low) > 0.0 || gap(high) < 0.0 {
        step *= 2.0;
        (low, high) = (delta - step, delta + step);
        if step > 1e12 {
            return Err(Undefined::BeyondDouble.into());
        }
    }
    Ok(root(low, high, gap)?)
}

/// As [`below`], for arguments already checked.
pub(crate) fn integral(t: f64, freedom: f64, delta: f64) -> f64 {
    if t == 0.0 {
        return normal::below(-delta);
    }
    let nodes = nodes_for(t, freedom, delta);
    let total =
        nodes.integrate(|s| normal::below(t * s - delta) * chi_squared::density_of_s(s, freedom));
    total.clamp(0.0, 1.0)
}

/// Panels over the range of s that are fine enough for its density, with extra breaks where the
/// normal term turns from 0 to 1, which for a large t is a step.
fn nodes_for(t: f64, freedom: f64, delta: f64) -> Nodes {
    let (low, high) = chi_squared::range_of_s(freedom);
    let mut breaks: Vec<f64> = (0..=12).map(|i| low + (high - low) * f64::from(i) / 12.0).collect();
    let (turn, width) = (delta / t, 1.0 / t.abs());
    for i in -4..=4 {
        let edge = turn + 2.0 * f64::from(i) * width;
        if edge > low && edge < high {
            breaks.push(edge);
        }
    }
    breaks.sort_by(f64::total_cmp);
    panels(16, &breaks)
}
