//! Randomisation from a seed: the same seed gives the same order and the same square, on every
//! machine and for ever. Only whole numbers are drawn.

use rand_xoshiro::Xoshiro256PlusPlus;
use rand_xoshiro::rand_core::{Rng, SeedableRng};

/// Chance that is fixed by its seed.
#[derive(Debug, Clone)]
pub struct Chance(Xoshiro256PlusPlus);

impl Chance {
    /// Chance from this seed.
    #[must_use]
    pub fn new(seed: u64) -> Self {
        Self(Xoshiro256PlusPlus::seed_from_u64(seed))
    }

    /// A whole number below `end`, each equally likely; zero where `end` is.
    fn below(&mut self, end: usize) -> usize {
        let end = end as u64;
        if end < 2 {
            return 0;
        }
        // What would make some numbers likelier than others is drawn again.
        let fair = u64::MAX - u64::MAX % end;
        loop {
            let drawn = self.0.next_u64();
            if drawn < fair {
                return (drawn % end) as usize;
            }
        }
    }

    /// The numbers from 0 to `count` - 1 in an order by chance, every order equally likely
    /// (R. A. Fisher and F. Yates; the exchange of D. E. Knuth, The Art of Computer Programming,
    /// volume 2, section 3.4.2, algorithm P).
    pub fn order(&mut self, count: usize) -> Vec<usize> {
        let mut order: Vec<usize> = (0..count).collect();
        for last in (1..count).rev() {
            let other = self.below(last + 1);
            order.swap(last, other);
        }
        order
    }

    /// A Latin square: `square[row][column]`, each number from 0 to `size` - 1 once in each row and
    /// each column. The cyclic square with its rows, columns and numbers in orders by chance
    /// (R. A. Fisher and F. Yates, Statistical Tables, introduction to table XV).
    pub fn latin_square(&mut self, size: usize) -> Vec<Vec<usize>> {
        let (rows, columns, names) = (self.order(size), self.order(size), self.order(size));
        rows.iter()
            .map(|row| columns.iter().map(|column| names[(row + column) % size]).collect())
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use std::collections::BTreeSet;

    #[test]
    fn every_order_is_as_likely() {
        let mut chance = Chance::new(7);
        let mut counts = std::collections::BTreeMap::new();
        for _ in 0..6000 {
            *counts.entry(chance.order(3)).or_insert(0_i32) += 1;
        }
        // 1000 each; the standard deviation of a count is 29.
        assert_eq!(counts.len(), 6);
        assert!(counts.values().all(|count| (count - 1000).abs() < 130), "{counts:?}");
    }

    proptest! {
        #[test]
        fn a_square_has_each_number_once_in_each_row_and_column(size in 1_usize..12, seed: u64) {
            let square = Chance::new(seed).latin_square(size);
            let all: BTreeSet<usize> = (0..size).collect();
            for i in 0..size {
                prop_assert_eq!(&square[i].iter().copied().collect::<BTreeSet<_>>(), &all);
                prop_assert_eq!(&square.iter().map(|row| row[i]).collect::<BTreeSet<_>>(), &all);
            }
            prop_assert_eq!(Chance::new(seed).latin_square(size), square);
        }
    }
}
