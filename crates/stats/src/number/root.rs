//! Roots in a bracket: the method of Illinois with bisection as its safety net
//! (M. Dowell and P. Jarratt, BIT 11 (1971) 168-174).

use crate::error::{StatsError, Undefined};

/// Where `f` changes sign between `low` and `high`, to about the last digits of double precision.
///
/// # Errors
/// `Undefined` when the ends have the same sign or `f` is not a number on the way.
pub(crate) fn root(low: f64, high: f64, f: impl Fn(f64) -> f64) -> Result<f64, Undefined> {
    let (mut a, mut b) = (low, high);
    let (mut fa, mut fb) = (f(a), f(b));
    if fa == 0.0 {
        return Ok(a);
    }
    if fb == 0.0 {
        return Ok(b);
    }
    if fa.is_nan() || fb.is_nan() || (fa > 0.0) == (fb > 0.0) {
        return Err(Undefined::Because("no solution lies in the range that was searched"));
    }
    for step in 0..200 {
        // Every fourth step halves the bracket, so that a flat function cannot stall the search.
        let falsi = (a * fb - b * fa) / (fb - fa);
        let between = falsi > a.min(b) && falsi < a.max(b);
        let x = if step % 4 == 3 || !between { 0.5 * (a + b) } else { falsi };
        let fx = f(x);
        if fx.is_nan() {
            return Err(Undefined::BeyondDouble);
        }
        if fx == 0.0 {
            return Ok(x);
        }
        if (fx > 0.0) == (fb > 0.0) {
            fa *= 0.5;
        } else {
            (a, fa) = (b, fb);
        }
        (b, fb) = (x, fx);
        if (b - a).abs() <= 4.0 * f64::EPSILON * b.abs().max(f64::MIN_POSITIVE) {
            break;
        }
    }
    Ok(b)
}

/// The smallest whole number from `start` up to `most` for which `holds` is true, where `holds`
/// stays true once it is.
///
/// # Errors
/// `Undefined` when it does not hold at `most`.
pub(crate) fn minimum_where(
    start: usize,
    most: usize,
    holds: impl Fn(usize) -> Result<bool, StatsError>,
) -> Result<usize, StatsError> {
    let (mut low, mut high) = (start, start);
    while !holds(high)? {
        if high >= most {
            let why =
                "no sample size in reach gives it: the difference is too small for the spread";
            return Err(Undefined::Because(why).into());
        }
        low = high + 1;
        high = (high * 2).min(most);
    }
    while low < high {
        let middle = low + (high - low) / 2;
        if holds(middle)? {
            high = middle;
        } else {
            low = middle + 1;
        }
    }
    Ok(low)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn finds_roots() {
        let found = root(0.0, 2.0, |x| x * x - 2.0).expect("in the bracket");
        assert!((found - 2f64.sqrt()).abs() < 1e-15);
        assert!(root(0.0, 1.0, |x| x + 1.0).is_err());
        // Very flat near the root.
        let flat = root(-1.0, 3.0, |x| (x - 1.0).powi(9)).expect("in the bracket");
        assert!((flat - 1.0).abs() < 1e-6);
    }

    #[test]
    fn finds_the_first_number_that_holds() {
        for wanted in [2, 3, 17, 1000] {
            assert_eq!(minimum_where(2, 1 << 20, |n| Ok(n >= wanted)), Ok(wanted));
        }
        assert!(minimum_where(2, 10, |_| Ok(false)).is_err());
    }
}
