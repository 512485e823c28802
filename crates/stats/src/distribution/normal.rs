//! The normal distribution (M. Abramowitz and I. Stegun, chapter 26).

use std::f64::consts::{FRAC_1_SQRT_2, PI};

use statrs::distribution::{ContinuousCDF, Normal};

/// Density of the standard normal distribution.
pub(crate) fn density(z: f64) -> f64 {
    libm::exp(-0.5 * z * z) / (2.0 * PI).sqrt()
}

/// P(Z <= z).
pub(crate) fn below(z: f64) -> f64 {
    0.5 * libm::erfc(-z * FRAC_1_SQRT_2)
}

/// P(Z > z), keeping its digits far out.
pub(crate) fn above(z: f64) -> f64 {
    0.5 * libm::erfc(z * FRAC_1_SQRT_2)
}

/// P(low < Z <= high), by the tails that lose least.
pub(crate) fn between(low: f64, high: f64) -> f64 {
    if low > 0.0 { above(low) - above(high) } else { below(high) - below(low) }
}

/// The z with P(Z <= z) = `p`, for 0 < p < 1.
pub(crate) fn quantile(p: f64) -> f64 {
    if p > 0.5 {
        return -quantile(1.0 - p);
    }
    // The library's quantile is good to about 1e-11; two Newton steps finish it.
    let mut z = Normal::standard().inverse_cdf(p);
    for _ in 0..2 {
        let slope = density(z);
        if slope > 0.0 && z.is_finite() {
            z -= (below(z) - p) / slope;
        }
    }
    z
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn known_points() {
        assert!((quantile(0.975) - 1.959_963_984_540_054).abs() < 1e-14);
        assert!((quantile(0.001) + 3.090_232_306_167_813_5).abs() < 1e-13);
        assert_eq!(quantile(0.5), 0.0);
        // Far in the tail, where one minus the other tail has no digits left.
        assert!((above(8.0) / 6.220_960_574_271_785e-16 - 1.0).abs() < 1e-12);
        assert!((between(8.0, 9.0) / 6.219_831_915_862_735e-16 - 1.0).abs() < 1e-4);
    }
}
