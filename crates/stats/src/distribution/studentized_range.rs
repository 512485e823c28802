//! The range of normal values, and that range divided by an independent standard deviation.
//!
//! Both by Gauss-Legendre quadrature of their definitions (H. O. Hartley, Biometrika 32 (1942)
//! 334-348 for the range of n; D. Newman, Biometrika 31 (1939) 20-30 for the quotient); written
//! from the integrals, not from anybody's program.

use super::{chi_squared, normal};
use crate::error::{self, StatsError, Undefined};
use crate::number::{legendre, panels, root};

/// P(W <= w) for the range W of `count` independent standard normal values.
pub(crate) fn range_below(w: f64, count: f64) -> f64 {
    if w <= 0.0 {
        return 0.0;
    }
    // By symmetry about the middle of the sample: whichever half is nearer the extreme,
    // (2Φ(w/2) - 1)^n + 2n ∫_{w/2}^∞ φ(u) (Φ(u) - Φ(u - w))^(n-1) du.
    let core = (normal::between(-0.5 * w, 0.5 * w)).powf(count);
    let start = 0.5 * w;
    let end = start.max(0.0) + 8.5;
    let breaks = [start, start + 1.0, start + 2.5, start + 4.5, end];
    let rest = panels(12, &breaks)
        .integrate(|u| normal::density(u) * normal::between(u - w, u).powf(count - 1.0));
    (core + 2.0 * count * rest).clamp(0.0, 1.0)
}

/// P(Q <= q) for the studentized range of `groups` >= 2 means with `freedom` > 0.
///
/// # Errors
/// When an argument is out of its range.
pub fn below(q: f64, groups: usize, freedom: f64) -> Result<f64, StatsError> {
    error::finite("studentized range", &[q])?;
    error::within("the number of means", groups as f64, groups >= 2, "at least 2")?;
    error::freedom(freedom)?;
    Ok(integral(q, groups as f64, freedom))
}

/// The q with P(Q <= q) = `p`.
///
/// # Errors
/// As [`below`], and when `p` is not between 0 and 1.
pub fn quantile(p: f64, groups: usize, freedom: f64) -> Result<f64, StatsError> {
    error::probability("the probability", p)?;
    below(1.0, groups, freedom)?;
    let gap = |q: f64| integral(q, groups as f64, freedom) - p;
    let mut high = 4.0;
    while gap(high) < 0.0 {
        high *= 2.0;
        if high > 1e6 {
            return Err(Undefined::BeyondDouble.into());
        }
    }
    Ok(root(0.0, high, gap)?)
}

fn integral(q: f64, groups: f64, freedom: f64) -> f64 {
    if q <= 0.0 {
        return 0.0;
    }
    let (low, high) = chi_squared::range_of_s(freedom);
    let unit = legendre(16);
    let total: f64 = (0..6)
        .map(|i| {
            let edge = |i: i32| low + (high - low) * f64::from(i) / 6.0;
            unit.on(edge(i), edge(i + 1)).integrate(|s| {
                let density = chi_squared::density_of_s(s, freedom);
                if density < 1e-18 { 0.0 } else { density * range_below(q * s, groups) }
            })
        })
        .sum();
    total.clamp(0.0, 1.0)
}
