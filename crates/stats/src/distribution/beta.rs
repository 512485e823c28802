//! The beta distribution, on which t, F and percent within limits rest.

use statrs::function::beta::{beta_reg, inv_beta_reg, ln_beta};

use crate::number::root;

/// P(X <= x) for a beta variable with shapes `a`, `b` > 0; arguments outside 0…1 are clamped.
pub(crate) fn below(a: f64, b: f64, x: f64) -> f64 {
    if x <= 0.0 {
        0.0
    } else if x >= 1.0 {
        1.0
    } else {
        beta_reg(a, b, x).clamp(0.0, 1.0)
    }
}

/// The x with P(X <= x) = `p`, for 0 < p < 1.
pub(crate) fn quantile(a: f64, b: f64, p: f64) -> f64 {
    let start = inv_beta_reg(a, b, p);
    let ln_norm = ln_beta(a, b);
    let mut x = start;
    for _ in 0..4 {
        let density = libm::exp((a - 1.0) * libm::log(x) + (b - 1.0) * libm::log1p(-x) - ln_norm);
        let next = x - (below(a, b, x) - p) / density;
        if !(next > 0.0 && next < 1.0) {
            break;
        }
        let done = (next - x).abs() <= 2.0 * f64::EPSILON * x;
        x = next;
        if done {
            break;
        }
    }
    if (below(a, b, x) - p).abs() <= 1e-12 {
        return x;
    }
    // The start was no good: search the whole range.
    root(0.0, 1.0, |x| below(a, b, x) - p).unwrap_or(x)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quantile_inverts() {
        for (a, b) in [(0.5, 0.5), (1.0, 1.0), (2.5, 2.5), (0.5, 30.0), (40.0, 3.0)] {
            for p in [1e-6, 0.01, 0.3, 0.5, 0.9, 0.999] {
                let x = quantile(a, b, p);
                assert!((below(a, b, x) - p).abs() < 1e-13, "{a} {b} {p}: {x}");
            }
        }
    }
}
