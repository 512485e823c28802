//! Exact ratios of decimals.
//!
//! A loss is 100 (A − B) / A: a division, which a decimal with a fixed number of digits cannot
//! always hold. The mean of two such values could then fall on the wrong side of a half. Ratios
//! of whole numbers hold every step exactly, so the one rounding at the end acts on the true value.
//!
//! Masses as they are read fit in a machine's own whole numbers many times over. Ratios are held in
//! them, and only where a product would not fit in numbers of any size.

use num_bigint::BigInt;
use num_integer::Integer;
use num_rational::BigRational;
use num_traits::{Signed, ToPrimitive, Zero};
use rust_decimal::Decimal;
use std::cmp::Ordering;
use std::fmt;

/// An exact number: a ratio of two whole numbers.
#[derive(Debug, Clone)]
pub struct Exact(Held);

#[derive(Debug, Clone)]
enum Held {
    /// A ratio that need not be in its lowest terms; the denominator is above zero.
    Ratio(i128, i128),
    /// What does not fit in a ratio of machine numbers, in its lowest terms.
    Any(Box<BigRational>),
}

impl Exact {
    /// Decimals shown by `Display` when the ratio does not end.
    const DECIMALS_SHOWN: u32 = 12;

    /// The sum of both.
    #[must_use]
    pub fn plus(&self, other: &Self) -> Self {
        self.with(other, |(a, b), (c, d)| sum((a, b), (c, d)), |one, two| one + two)
    }

    /// This less the other.
    #[must_use]
    pub fn minus(&self, other: &Self) -> Self {
        self.with(other, |(a, b), (c, d)| sum((a, b), (c.checked_neg()?, d)), |one, two| one - two)
    }

    /// The product of both.
    #[must_use]
    pub fn times(&self, other: &Self) -> Self {
        self.with(other, product, |one, two| one * two)
    }

    /// This divided by the other; `None` when the other is zero.
    pub fn divided_by(&self, other: &Self) -> Option<Self> {
        if other.is_zero() {
            return None;
        }
        let quotient = |(a, b), (c, d): (i128, i128)| {
            let sign = c.signum();
            product((a, b), (d * sign, c.checked_mul(sign)?))
        };
        Some(self.with(other, quotient, |one, two| one / two))
    }

    /// The exact mean; `None` for no values.
    pub fn mean<'a>(values: impl IntoIterator<Item = &'a Self>) -> Option<Self> {
        let (mut sum, mut count) = (Self(Held::Ratio(0, 1)), 0);
        for value in values {
            sum = if count == 0 { value.clone() } else { sum.plus(value) };
            count += 1;
        }
        sum.divided_by(&Self(Held::Ratio(count, 1)))
    }

    /// The greatest whole number not above this.
    #[must_use]
    pub fn floor(&self) -> Self {
        match &self.0 {
            Held::Ratio(numerator, denominator) => {
                Self(Held::Ratio(numerator.div_euclid(*denominator), 1))
            }
            Held::Any(value) => Self::smallest(value.floor()),
        }
    }

    /// How many whole `step`s fit in this, towards minus infinity, and how what is left compares
    /// with half a step. `None` where the number of steps is beyond 127 bits. The step is above zero.
    pub(crate) fn in_steps(&self, step: Decimal) -> Option<(i128, Ordering)> {
        let steps = self.divided_by(&Self::from(step))?;
        if let Held::Ratio(numerator, denominator) = steps.0 {
            let below = numerator.div_euclid(denominator);
            let rest = numerator - below * denominator;
            // Twice the rest may not fit; the rest and what is missing to the whole always do.
            return Some((below, rest.cmp(&(denominator - rest))));
        }
        let steps = steps.of_any_size();
        let below = steps.floor();
        let half = BigRational::new(BigInt::from(1), BigInt::from(2));
        Some((below.to_integer().to_i128()?, (steps - below).cmp(&half)))
    }

    /// The first `places` decimals, cut and without trailing zeros: all of the value where it ends
    /// within them.
    pub fn to_decimals(&self, places: u32) -> String {
        let value = self.of_any_size();
        let shift = BigInt::from(10_u8).pow(places);
        let cut = (value.abs() * BigRational::from_integer(shift.clone())).to_integer();
        let sign = if value.is_negative() && !cut.is_zero() { "-" } else { "" };
        let decimals = format!("{:0width$}", &cut % &shift, width = places as usize);
        let whole = cut / shift;
        match decimals.trim_end_matches('0') {
            "" => format!("{sign}{whole}"),
            ending => format!("{sign}{whole}.{ending}"),
        }
    }

    /// This as a decimal, if it ends and fits in 28 digits.
    pub fn as_decimal(&self) -> Option<Decimal> {
        let ends = |(numerator, denominator): (i128, i128)| {
            // A ratio ends where its denominator is made of twos and fives alone: as many decimals
            // as there are of the more frequent one.
            let twos = denominator.trailing_zeros();
            let (rest, fives) = without_fives(denominator >> twos);
            let scale = twos.max(fives);
            if rest != 1 {
                return None;
            }
            let more = 2_i128
                .checked_pow(scale - twos)?
                .checked_mul(5_i128.checked_pow(scale - fives)?)?;
            let (mantissa, scale) = without_zeros(times(numerator, more)?, scale);
            Decimal::try_from_i128_with_scale(mantissa, scale).ok()
        };
        let Held::Ratio(numerator, denominator) = self.0 else { return ends(self.lowest()?) };
        // Most end as they are held; what does not may do so in its lowest terms.
        ends((numerator, denominator)).or_else(|| ends(self.lowest()?))
    }

    fn is_zero(&self) -> bool {
        match &self.0 {
            Held::Ratio(numerator, _) => *numerator == 0,
            Held::Any(value) => value.is_zero(),
        }
    }

    /// Numerator and denominator without a common divisor, where they fit.
    fn lowest(&self) -> Option<(i128, i128)> {
        match &self.0 {
            Held::Ratio(numerator, denominator) => {
                let divisor = common_divisor(numerator.unsigned_abs(), denominator.unsigned_abs());
                let divisor = i128::try_from(divisor).ok()?;
                Some((numerator / divisor, denominator / divisor))
            }
            Held::Any(value) => Some((value.numer().to_i128()?, value.denom().to_i128()?)),
        }
    }

    fn of_any_size(&self) -> BigRational {
        match &self.0 {
            Held::Ratio(numerator, denominator) => {
                BigRational::new(BigInt::from(*numerator), BigInt::from(*denominator))
            }
            Held::Any(value) => value.as_ref().clone(),
        }
    }

    /// Held as a ratio of machine numbers again where it fits.
    fn smallest(value: BigRational) -> Self {
        match (value.numer().to_i128(), value.denom().to_i128()) {
            (Some(numerator), Some(denominator)) => Self(Held::Ratio(numerator, denominator)),
            _ => Self(Held::Any(Box::new(value))),
        }
    }

    /// Works with machine numbers, and where they are too small with numbers of any size.
    fn with(
        &self,
        other: &Self,
        small: impl FnOnce((i128, i128), (i128, i128)) -> Option<(i128, i128)>,
        any: impl FnOnce(BigRational, BigRational) -> BigRational,
    ) -> Self {
        if let (Held::Ratio(a, b), Held::Ratio(c, d)) = (&self.0, &other.0)
            && let Some((numerator, denominator)) = small((*a, *b), (*c, *d))
        {
            return Self(Held::Ratio(numerator, denominator));
        }
        Self::smallest(any(self.of_any_size(), other.of_any_size()))
    }
}

fn sum((a, b): (i128, i128), (c, d): (i128, i128)) -> Option<(i128, i128)> {
    if b == d {
        return Some((a.checked_add(c)?, b));
    }
    Some((times(a, d)?.checked_add(times(c, b)?)?, times(b, d)?))
}

fn product((a, b): (i128, i128), (c, d): (i128, i128)) -> Option<(i128, i128)> {
    Some((times(a, c)?, times(b, d)?))
}

/// The product where it fits. That of two numbers of half the bits always does, and is one instruction.
fn times(one: i128, other: i128) -> Option<i128> {
    match (i64::try_from(one), i64::try_from(other)) {
        (Ok(one), Ok(other)) => Some(i128::from(one) * i128::from(other)),
        _ => one.checked_mul(other),
    }
}

/// A number without the fives in it, and how many those are.
fn without_fives(mut number: i128) -> (i128, u32) {
    let mut fives = 0;
    if let Ok(mut small) = u64::try_from(number) {
        while small != 0 && small.is_multiple_of(5) {
            small /= 5;
            fives += 1;
        }
        return (small.into(), fives);
    }
    while number % 5 == 0 {
        number /= 5;
        fives += 1;
    }
    (number, fives)
}

/// Digits behind a point without the zeros at their end.
fn without_zeros(mut mantissa: i128, mut scale: u32) -> (i128, u32) {
    if let Ok(mut small) = i64::try_from(mantissa) {
        while scale > 0 && small % 10 == 0 {
            (small, scale) = (small / 10, scale - 1);
        }
        return (small.into(), scale);
    }
    while scale > 0 && mantissa % 10 == 0 {
        (mantissa, scale) = (mantissa / 10, scale - 1);
    }
    (mantissa, scale)
}

/// The greatest common divisor; most ratios fit in half the bits, where it is found several times as fast.
fn common_divisor(one: u128, other: u128) -> u128 {
    match (u64::try_from(one), u64::try_from(other)) {
        (Ok(one), Ok(other)) => one.gcd(&other).into(),
        _ => one.gcd(&other),
    }
}

impl From<Decimal> for Exact {
    fn from(value: Decimal) -> Self {
        // A decimal has 28 places at most, and ten to the 28th fits in 94 bits.
        Self(Held::Ratio(value.mantissa(), 10_i128.pow(value.scale())))
    }
}

impl Ord for Exact {
    fn cmp(&self, other: &Self) -> Ordering {
        if let (Held::Ratio(a, b), Held::Ratio(c, d)) = (&self.0, &other.0)
            && let (Some(one), Some(two)) = (times(*a, *d), times(*c, *b))
        {
            return one.cmp(&two);
        }
        self.of_any_size().cmp(&other.of_any_size())
    }
}

impl PartialOrd for Exact {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl PartialEq for Exact {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other).is_eq()
    }
}

impl Eq for Exact {}

/// The whole decimal where it ends within twelve places; else cut there, with an ellipsis, so
/// that nobody takes it for the whole.
impl fmt::Display for Exact {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.to_decimals(Self::DECIMALS_SHOWN))?;
        let shift = BigRational::from_integer(BigInt::from(10_u8).pow(Self::DECIMALS_SHOWN));
        if (self.of_any_size() * shift).is_integer() { Ok(()) } else { f.write_str("…") }
    }
}

#[cfg(test)]
mod tests;
