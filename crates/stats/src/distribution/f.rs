//! The F distribution, through the incomplete beta function
//! (M. Abramowitz and I. Stegun, 26.6.2).

use super::beta;

/// P(F > f) with `above` and `below` degrees of freedom of numerator and denominator.
pub(crate) fn above(f: f64, numerator: f64, denominator: f64) -> f64 {
    if f <= 0.0 {
        return 1.0;
    }
    beta::below(0.5 * denominator, 0.5 * numerator, 1.0 / (1.0 + numerator / denominator * f))
}

/// P(F <= f).
pub(crate) fn below(f: f64, numerator: f64, denominator: f64) -> f64 {
    if f <= 0.0 { 0.0 } else { above(1.0 / f, denominator, numerator) }
}

/// The f with P(F > f) = `p`, for 0 < p < 1.
pub(crate) fn upper_quantile(p: f64, numerator: f64, denominator: f64) -> f64 {
    let x = beta::quantile(0.5 * denominator, 0.5 * numerator, p);
    denominator / numerator * (1.0 - x) / x
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn known_points() {
        assert!((upper_quantile(0.05, 3.0, 10.0) - 3.708_264_819_5).abs() < 1e-9);
        assert!((above(4.846_087_862_380_136, 2.0, 27.0) - 0.015_909_958_325_622_9).abs() < 1e-12);
        assert!((below(2.0, 4.0, 7.0) + above(2.0, 4.0, 7.0) - 1.0).abs() < 1e-14);
    }
}
