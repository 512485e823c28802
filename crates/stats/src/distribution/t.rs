//! Student's t distribution, through the incomplete beta function
//! (M. Abramowitz and I. Stegun, 26.7.1).

use super::{beta, noncentral_t, normal};

/// From here on the incomplete beta function loses digits (five of them at ten million degrees of
/// freedom), and the integral that also serves the noncentral distribution takes over.
const MANY: f64 = 2e3;

/// From here on the normal approximation of Abramowitz and Stegun 26.7.8, whose error falls with the
/// square of the degrees of freedom, is exact to double precision.
const ENDLESS: f64 = 1e8;

/// P(T > t) with `freedom` > 0 degrees of freedom; infinite freedom is the normal distribution.
pub(crate) fn above(t: f64, freedom: f64) -> f64 {
    if freedom > ENDLESS {
        let narrowed = (1.0 - 0.25 / freedom) / (1.0 + 0.5 * t * (t / freedom)).sqrt();
        return normal::above(t * narrowed);
    }
    if freedom > MANY {
        return noncentral_t::integral(-t, freedom, 0.0);
    }
    let square = t * t;
    let near = square / (freedom + square);
    let tail = if near < 0.5 {
        0.5 - 0.5 * beta::below(0.5, 0.5 * freedom, near)
    } else {
        // `freedom / (freedom + t²)`, written so that a huge t² cannot become infinity / infinity.
        0.5 * beta::below(0.5 * freedom, 0.5, 1.0 / (1.0 + square / freedom))
    };
    if t < 0.0 { 1.0 - tail } else { tail }
}

/// P(T <= t).
pub(crate) fn below(t: f64, freedom: f64) -> f64 {
    above(-t, freedom)
}

/// P(|T| > |t|).
pub(crate) fn two_sided(t: f64, freedom: f64) -> f64 {
    (2.0 * above(t.abs(), freedom)).min(1.0)
}

/// The t with P(T <= t) = `p`, for 0 < p < 1.
pub(crate) fn quantile(p: f64, freedom: f64) -> f64 {
    if p == 0.5 {
        return 0.0;
    }
    if p > 0.5 {
        return -quantile(1.0 - p, freedom);
    }
    if freedom > MANY {
        let z = normal::quantile(p);
        if freedom == f64::INFINITY {
            return z;
        }
        // First term of the Cornish-Fisher expansion (Abramowitz and Stegun 26.7.5), finished by
        // Newton's method with the normal density, which is close enough to be its slope.
        let mut t = z + z * (z * z + 1.0) / (4.0 * freedom);
        for _ in 0..3 {
            t -= (below(t, freedom) - p) / normal::density(t);
        }
        return t;
    }
    // Twice the tail is the beta distribution of freedom / (freedom + t²); near the middle its
    // complement keeps the digits.
    if p < 0.2 {
        let x = beta::quantile(0.5 * freedom, 0.5, 2.0 * p);
        -(freedom * (1.0 - x) / x).sqrt()
    } else {
        let x = beta::quantile(0.5, 0.5 * freedom, 1.0 - 2.0 * p);
        -(freedom * x / (1.0 - x)).sqrt()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn known_points() {
        assert!((quantile(0.975, 9.0) - 2.262_157_162_798_205).abs() < 1e-12);
        assert!((quantile(0.975, 1.0) - 12.706_204_736_174_7).abs() < 1e-10);
        assert!((quantile(0.6, 4.0) - 0.270_722_294_707_597).abs() < 1e-12);
        for freedom in [0.7, 1.0, 2.5, 9.0, 120.0, 1999.0, 2001.0, 9.9e6, 1e12, f64::INFINITY] {
            for p in [1e-7, 0.01, 0.19, 0.21, 0.49, 0.7, 0.9999] {
                let t = quantile(p, freedom);
                assert!((below(t, freedom) - p).abs() < 1e-12, "{freedom} {p} {t}");
            }
        }
        assert_eq!(above(1e200, 3.0), 0.0);
    }
}
