//! An order drawn by chance from a recorded seed, so that anybody can draw it again.

use crate::design::Chance;

/// The numbers from 0 to `count` less one in an order in which each is as likely as any other
/// (the shuffle of R. A. Fisher and F. Yates as D. E. Knuth gives it, The Art of Computer
/// Programming, volume 2, section 3.4.2, algorithm P). The draws come from xoshiro256++ started
/// with the seed through splitmix64; a draw that would favour some places is thrown away. The same
/// seed gives the same order on every machine.
#[must_use]
pub fn random_order(count: usize, seed: u64) -> Vec<usize> {
    Chance::new(seed).order(count)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_order_holds_every_number_once_and_depends_on_the_seed_alone() {
        for count in [0, 1, 2, 25] {
            let mut order = random_order(count, 7);
            assert_eq!(order, random_order(count, 7));
            order.sort_unstable();
            assert_eq!(order, (0..count).collect::<Vec<_>>());
        }
        assert_ne!(random_order(25, 7), random_order(25, 8));
    }

    /// Of 6000 orders of three, each of the six is expected 1000 times with a standard deviation of
    /// √(6000 · 1/6 · 5/6) = 28.9; five of them are 145.
    #[test]
    fn each_order_is_as_likely_as_any_other() {
        let mut seen = std::collections::BTreeMap::new();
        for seed in 0..6000 {
            *seen.entry(random_order(3, seed)).or_insert(0_i32) += 1;
        }
        assert_eq!(seen.len(), 6);
        assert!(seen.values().all(|count| (count - 1000).abs() < 145), "{seen:?}");
    }
}
