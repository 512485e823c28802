//! The noncentral F distribution: a central one with chance added to its degrees of freedom
//! (Poisson weights; M. Abramowitz and I. Stegun, 26.6.18 and 26.6.20). The power of an analysis of
//! variance is one of its tails.

use super::beta;

/// Weights below this add nothing to a double.
const NOTHING: f64 = 1e-18;

/// P(F > f) with `numerator` and `denominator` degrees of freedom and noncentrality `lambda` >= 0.
/// Every term is positive, and the sum begins at the largest weight, so that nothing cancels and
/// nothing underflows.
pub(crate) fn above(f: f64, numerator: f64, denominator: f64, lambda: f64) -> f64 {
    if f <= 0.0 {
        return 1.0;
    }
    let rest = 1.0 / (1.0 + numerator / denominator * f);
    let tail = |j: f64| beta::below(0.5 * denominator, 0.5 * numerator + j, rest);
    let mean = 0.5 * lambda;
    if mean <= 0.0 {
        return tail(0.0);
    }
    let middle = mean.floor();
    let at_middle = libm::exp(middle * libm::log(mean) - mean - libm::lgamma(middle + 1.0));
    let mut total = 0.0;
    let (mut weight, mut j) = (at_middle, middle);
    while weight > NOTHING {
        total += weight * tail(j);
        j += 1.0;
        weight *= mean / j;
    }
    let (mut weight, mut j) = (at_middle, middle);
    while j > 0.0 {
        weight *= j / mean;
        if weight <= NOTHING {
            break;
        }
        j -= 1.0;
        total += weight * tail(j);
    }
    total.clamp(0.0, 1.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::distribution::{f, noncentral_t, t};

    #[test]
    fn without_noncentrality_it_is_the_central_one() {
        for (at, above_, below_) in [(0.3, 1.0, 5.0), (2.6, 3.0, 6.0), (4.0, 7.0, 100.0)] {
            assert!((above(at, above_, below_, 0.0) - f::above(at, above_, below_)).abs() < 1e-15);
        }
    }

    /// With one degree of freedom above, F is the square of t: both tails of the noncentral t.
    #[test]
    fn with_one_degree_of_freedom_it_is_the_square_of_t() {
        for (freedom, delta) in [(4.0, 0.5), (10.0, 2.0), (38.0, 3.1), (6.0, 12.0), (90.0, 40.0)] {
            let critical = -t::quantile(0.025, freedom);
            let by_t = noncentral_t::integral(-critical, freedom, -delta)
                + noncentral_t::integral(-critical, freedom, delta);
            let by_f = above(critical * critical, 1.0, freedom, delta * delta);
            assert!((by_t - by_f).abs() < 1e-10, "{freedom} {delta}: {by_t} {by_f}");
        }
    }
}
