//! Chance from a seed, in whole numbers, so that every machine draws the same.

use rand::{RngExt, SeedableRng};
use rand_xoshiro::Xoshiro256PlusPlus;
use stonewear_measure::Decimal;

/// A source of chance.
pub(crate) struct Chance(Xoshiro256PlusPlus);

impl Chance {
    pub(crate) fn new(seed: u64) -> Self {
        Self(Xoshiro256PlusPlus::seed_from_u64(seed))
    }

    /// A whole number from `low` to `high`, both included.
    pub(crate) fn between(&mut self, low: i64, high: i64) -> i64 {
        self.0.random_range(low..=high)
    }

    /// A deviate with mean zero and about the given standard deviation, to `scale` decimals, near
    /// enough to normal for a demo: the sum of twelve uniform ones, which has variance one.
    pub(crate) fn noise(&mut self, deviation: Decimal, scale: u32) -> Decimal {
        let sum: i64 = (0..12).map(|_| self.between(-500, 500)).sum();
        (deviation * Decimal::new(sum, 3)).round_dp(scale)
    }

    /// One of these.
    pub(crate) fn one_of<'a, T>(&mut self, all: &'a [T]) -> Option<&'a T> {
        let last = i64::try_from(all.len()).ok()?.checked_sub(1)?;
        all.get(usize::try_from(self.between(0, last)).ok()?)
    }
}
