//! Numbers carried as an unevaluated sum of two doubles: about 32 digits.
//!
//! Sums of squares and least squares lose half of their digits in plain double precision when the
//! values share many leading digits, which masses of a specimen do. Carrying twice the digits
//! costs little at laboratory sizes and makes the certified data sets come out right.
//!
//! Error-free transformations: T. J. Dekker, Numerische Mathematik 18 (1971) 224-242;
//! D. E. Knuth, The Art of Computer Programming 2, section 4.2.2.

use std::ops::{Add, Div, Mul, Neg, Sub};

/// `hi + lo`, with `lo` at most half a unit in the last place of `hi`.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(crate) struct Dd {
    hi: f64,
    lo: f64,
}

/// `a + b` exactly, as a rounded sum and its error.
fn two_sum(a: f64, b: f64) -> Dd {
    let hi = a + b;
    let part = hi - a;
    Dd { hi, lo: (a - (hi - part)) + (b - part) }
}

/// As [`two_sum`], for `|a| >= |b|`.
fn quick_two_sum(a: f64, b: f64) -> Dd {
    let hi = a + b;
    Dd { hi, lo: b - (hi - a) }
}

impl Dd {
    pub(crate) const ZERO: Self = Self { hi: 0.0, lo: 0.0 };

    /// Rounded to double precision.
    pub(crate) fn to_f64(self) -> f64 {
        self.hi + self.lo
    }

    /// Square root; zero for what is not above zero.
    pub(crate) fn sqrt(self) -> Self {
        if self.hi <= 0.0 {
            return Self::ZERO;
        }
        // One Newton step from the double root doubles its digits.
        let root = self.hi.sqrt();
        let residue = self - Self::product(root, root);
        quick_two_sum(root, residue.hi / (2.0 * root))
    }

    /// `a * b` exactly.
    pub(crate) fn product(a: f64, b: f64) -> Self {
        let hi = a * b;
        Self { hi, lo: a.mul_add(b, -hi) }
    }

    pub(crate) fn squared(self) -> Self {
        self * self
    }

    pub(crate) fn is_negative(self) -> bool {
        self.hi < 0.0
    }
}

impl From<f64> for Dd {
    fn from(value: f64) -> Self {
        Self { hi: value, lo: 0.0 }
    }
}

impl Add for Dd {
    type Output = Self;

    fn add(self, other: Self) -> Self {
        let high = two_sum(self.hi, other.hi);
        let low = two_sum(self.lo, other.lo);
        let sum = quick_two_sum(high.hi, high.lo + low.hi);
        quick_two_sum(sum.hi, sum.lo + low.lo)
    }
}

impl Neg for Dd {
    type Output = Self;

    fn neg(self) -> Self {
        Self { hi: -self.hi, lo: -self.lo }
    }
}

impl Sub for Dd {
    type Output = Self;

    fn sub(self, other: Self) -> Self {
        self + -other
    }
}

impl Mul for Dd {
    type Output = Self;

    fn mul(self, other: Self) -> Self {
        let high = Self::product(self.hi, other.hi);
        quick_two_sum(high.hi, high.lo + (self.hi * other.lo + self.lo * other.hi))
    }
}

impl Div for Dd {
    type Output = Self;

    fn div(self, other: Self) -> Self {
        let first = self.hi / other.hi;
        let residue = self - other * Self::from(first);
        let second = residue.hi / other.hi;
        let residue = residue - other * Self::from(second);
        let third = residue.hi / other.hi;
        quick_two_sum(first, second) + Self::from(third)
    }
}

impl std::iter::Sum for Dd {
    fn sum<I: Iterator<Item = Self>>(numbers: I) -> Self {
        numbers.fold(Self::ZERO, Add::add)
    }
}

/// The sum of doubles.
pub(crate) fn sum(values: impl IntoIterator<Item = f64>) -> Dd {
    values.into_iter().map(Dd::from).sum()
}

/// The mean of at least one value.
pub(crate) fn mean(values: &[f64]) -> Dd {
    sum(values.iter().copied()) / Dd::from(values.len() as f64)
}

/// The mean of at least one value and the sum of squares about it.
pub(crate) fn mean_and_squares(values: &[f64]) -> (Dd, Dd) {
    let centre = mean(values);
    (centre, values.iter().map(|&v| (Dd::from(v) - centre).squared()).sum())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn keeps_what_double_precision_drops() {
        let sum = Dd::from(1e16) + Dd::from(1.0) - Dd::from(1e16);
        assert_eq!(sum.to_f64(), 1.0);
        let third = Dd::from(1.0) / Dd::from(3.0);
        assert!((third + third + third - Dd::from(1.0)).to_f64().abs() < 1e-31);
        let two = Dd::from(2.0).sqrt().squared() - Dd::from(2.0);
        assert!(two.to_f64().abs() < 1e-30);
    }
}
