//! The chi-squared distribution, through the incomplete gamma function
//! (M. Abramowitz and I. Stegun, 26.4.19).

use statrs::function::gamma::{gamma_lr, gamma_ur, ln_gamma};

use super::normal;
use crate::number::root;

/// P(X <= x) with `freedom` > 0.
pub(crate) fn below(x: f64, freedom: f64) -> f64 {
    if x <= 0.0 { 0.0 } else { gamma_lr(0.5 * freedom, 0.5 * x).clamp(0.0, 1.0) }
}

/// P(X > x).
pub(crate) fn above(x: f64, freedom: f64) -> f64 {
    if x <= 0.0 { 1.0 } else { gamma_ur(0.5 * freedom, 0.5 * x).clamp(0.0, 1.0) }
}

/// The x with P(X <= x) = `p`, for 0 < p < 1.
pub(crate) fn quantile(p: f64, freedom: f64) -> f64 {
    // E. B. Wilson and M. M. Hilferty, PNAS 17 (1931) 684-688, as the middle of the search.
    let spread = 2.0 / (9.0 * freedom);
    let guess = freedom * (1.0 - spread + normal::quantile(p) * spread.sqrt()).max(0.01).powi(3);
    let (mut low, mut high) = (guess, guess);
    while below(low, freedom) > p && low > f64::MIN_POSITIVE {
        low *= 0.5;
    }
    while below(high, freedom) < p && high < 1e300 {
        high *= 2.0;
    }
    root(low, high, |x| below(x, freedom) - p).unwrap_or(guess)
}

/// Density of s = √(X / freedom), the sample standard deviation in units of the true one.
pub(crate) fn density_of_s(s: f64, freedom: f64) -> f64 {
    if s <= 0.0 {
        return 0.0;
    }
    let half = 0.5 * freedom;
    if half >= 15.0 {
        if s < 1e-3 {
            // s to the power 29 and more: nothing, and its logarithm would leave the range.
            return 0.0;
        }
        // Stirling's series taken into the exponent, where the large terms cancel exactly: at 10^5
        // degrees of freedom the difference of logarithms below would have lost six digits.
        let inverse = 1.0 / (half * half);
        let series = (1.0 / 12.0
            - inverse * (1.0 / 360.0 - inverse * (1.0 / 1260.0 - inverse / 1680.0)))
            / half;
        let away = s - 1.0;
        let ln_s = libm::log1p(away);
        let exponent = half * (2.0 * (ln_s - away) - away * away) - ln_s - series;
        return libm::exp(exponent) * 2.0 * (half / (2.0 * std::f64::consts::PI)).sqrt();
    }
    // Logarithms, because both the power and the gamma function leave double range early.
    let ln = std::f64::consts::LN_2 + half * libm::log(half) - ln_gamma(half)
        + (freedom - 1.0) * libm::log(s)
        - half * s * s;
    libm::exp(ln)
}

/// The range of s = √(X / freedom) that holds all but about 1e-18 of it on each side, by the cube
/// root of Wilson and Hilferty nine standard deviations out.
pub(crate) fn range_of_s(freedom: f64) -> (f64, f64) {
    let spread = 2.0 / (9.0 * freedom);
    let s = |z: f64| (1.0 - spread + z * spread.sqrt()).max(0.0).powf(1.5);
    (if freedom < 40.0 { 0.0 } else { s(-9.5) }, s(9.0))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::number::panels;

    #[test]
    fn known_points() {
        assert!((quantile(0.95, 10.0) - 18.307_038_053_275).abs() < 1e-9);
        assert!((quantile(0.05, 1.0) - 0.003_932_140_000_019_5).abs() < 1e-12);
        assert!((above(18.307_038_053_275, 10.0) - 0.05).abs() < 1e-12);
    }

    #[test]
    fn s_integrates_to_one() {
        for freedom in [1.0, 2.0, 5.0, 39.0, 41.0, 1000.0, 1e5, 1e8] {
            let (low, high) = range_of_s(freedom);
            let breaks: Vec<f64> =
                (0..=16).map(|i| low + (high - low) * f64::from(i) / 16.0).collect();
            let total = panels(24, &breaks).integrate(|s| density_of_s(s, freedom));
            assert!((total - 1.0).abs() < 1e-12, "{freedom}: {total}");
        }
    }
}
