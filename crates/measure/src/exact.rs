//! Exact ratios of decimals.
//!
//! A loss is 100 (A − B) / A: a division, which a decimal with a fixed number of digits cannot
//! always hold. The mean of two such values could then fall on the wrong side of a half. Ratios
//! of whole numbers hold every step exactly, so the one rounding at the end acts on the true value.

use num_bigint::BigInt;
use num_rational::BigRational;
use num_traits::{Signed, ToPrimitive, Zero};
use rust_decimal::Decimal;
use std::fmt;

/// An exact number: a ratio of two whole numbers.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Exact(BigRational);

impl Exact {
    /// Decimals shown by `Display` when the ratio does not end.
    const DECIMALS_SHOWN: u32 = 12;

    /// A whole number.
    pub fn whole(value: BigInt) -> Self {
        Self(BigRational::from_integer(value))
    }

    /// The sum of both.
    #[must_use]
    pub fn plus(&self, other: &Self) -> Self {
        Self(&self.0 + &other.0)
    }

    /// This less the other.
    #[must_use]
    pub fn minus(&self, other: &Self) -> Self {
        Self(&self.0 - &other.0)
    }

    /// The product of both.
    #[must_use]
    pub fn times(&self, other: &Self) -> Self {
        Self(&self.0 * &other.0)
    }

    /// This divided by the other; `None` when the other is zero.
    pub fn divided_by(&self, other: &Self) -> Option<Self> {
        (!other.0.is_zero()).then(|| Self(&self.0 / &other.0))
    }

    /// Twice this.
    #[must_use]
    pub fn doubled(&self) -> Self {
        Self(&self.0 + &self.0)
    }

    /// The exact mean; `None` for no values.
    pub fn mean(values: &[Self]) -> Option<Self> {
        let sum = values.iter().fold(BigRational::zero(), |sum, value| sum + &value.0);
        Self(sum).divided_by(&Self::whole(BigInt::from(values.len())))
    }

    /// The greatest whole number not above this.
    pub fn floor(&self) -> BigInt {
        self.0.floor().to_integer()
    }

    /// The first `places` decimals, cut and without trailing zeros: all of the value where it ends
    /// within them.
    pub fn to_decimals(&self, places: u32) -> String {
        let shift = BigInt::from(10_u8).pow(places);
        let cut = (self.0.abs() * BigRational::from_integer(shift.clone())).to_integer();
        let sign = if self.0.is_negative() && !cut.is_zero() { "-" } else { "" };
        let decimals = format!("{:0width$}", &cut % &shift, width = places as usize);
        let whole = cut / shift;
        match decimals.trim_end_matches('0') {
            "" => format!("{sign}{whole}"),
            ending => format!("{sign}{whole}.{ending}"),
        }
    }

    /// This as a decimal, if it ends and fits in 28 digits.
    pub fn as_decimal(&self) -> Option<Decimal> {
        let mut numerator = self.0.numer().clone();
        let mut denominator = self.0.denom().clone();
        let mut scale = 0;
        while denominator != BigInt::from(1) {
            if scale == Decimal::MAX_SCALE {
                return None;
            }
            // One more decimal: shift the point, cancel what the shift made cancel.
            let shifted = BigRational::new(numerator * 10, denominator);
            numerator = shifted.numer().clone();
            denominator = shifted.denom().clone();
            scale += 1;
        }
        Decimal::try_from_i128_with_scale(numerator.to_i128()?, scale).ok()
    }
}

impl From<Decimal> for Exact {
    fn from(value: Decimal) -> Self {
        let denominator = BigInt::from(10_u8).pow(value.scale());
        Self(BigRational::new(BigInt::from(value.mantissa()), denominator))
    }
}

/// The whole decimal where it ends within twelve places; else cut there, with an ellipsis, so
/// that nobody takes it for the whole.
impl fmt::Display for Exact {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.to_decimals(Self::DECIMALS_SHOWN))?;
        let shift = BigRational::from_integer(BigInt::from(10_u8).pow(Self::DECIMALS_SHOWN));
        if (&self.0 * shift).is_integer() { Ok(()) } else { f.write_str("…") }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rounding::{Rounding, Rule};

    fn exact(text: &str) -> Exact {
        Exact::from(text.parse::<Decimal>().unwrap())
    }

    #[test]
    fn shows_the_whole_decimal_or_says_that_it_goes_on() {
        assert_eq!(exact("14.8").to_string(), "14.8");
        assert_eq!(exact("1500").to_string(), "1500");
        assert_eq!(exact("-0.50").to_string(), "-0.5");
        let third = exact("1").divided_by(&exact("3")).unwrap();
        assert_eq!(third.to_string(), "0.333333333333…");
        assert_eq!(third.to_decimals(5), "0.33333");
        assert_eq!(exact("-0.001").to_decimals(2), "0");
        assert_eq!(third.as_decimal(), None);
    }

    #[test]
    fn a_mean_that_ends_on_a_half_is_found_although_its_parts_do_not_end() {
        // 98/3 and 1/3 sum to 33 exactly, so the mean is 16.5 and to the place 0.2 an exact
        // half; decimals of a fixed number of digits miss it.
        let third = |n: &str| exact(n).divided_by(&exact("3")).unwrap();
        let mean = Exact::mean(&[third("98"), third("1")]).unwrap();
        assert_eq!(mean.as_decimal(), Some("16.5".parse().unwrap()));
        let place: Decimal = "0.2".parse().unwrap();
        let even = Rounding::new(place, Rule::HalfEven).unwrap().apply(&mean);
        let up = Rounding::new(place, Rule::HalfUp).unwrap().apply(&mean);
        assert_eq!(even, Some("16.4".parse().unwrap()));
        assert_eq!(up, Some("16.6".parse().unwrap()));
    }

    #[test]
    fn nothing_is_divided_by_zero() {
        assert_eq!(exact("1").divided_by(&exact("0.00")), None);
        assert_eq!(Exact::mean(&[]), None);
    }
}
