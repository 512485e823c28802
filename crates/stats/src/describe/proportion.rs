//! A share that was counted, with its exact interval.

use crate::distribution::beta;
use crate::error::{self, StatsError};
use crate::regression::Interval;

/// The interval of a share of which `counted` of `of` were seen, at the two-sided level: exact, so
/// never too short (C. J. Clopper and E. S. Pearson, Biometrika 26 (1934) 404-413).
///
/// # Errors
/// When nothing was looked at, more was counted than looked at, or the level is not between 0 and 1.
pub fn exact_proportion(counted: u64, of: u64, level: f64) -> Result<Interval, StatsError> {
    error::probability("the level", level)?;
    error::within("the number looked at", of as f64, of > 0, "at least 1")?;
    let expected = "at most the number looked at";
    error::within("the number counted", counted as f64, counted <= of, expected)?;
    let tail = 0.5 * (1.0 - level);
    let (seen, others) = (counted as f64, (of - counted) as f64);
    let lower = if counted == 0 { 0.0 } else { beta::quantile(seen, others + 1.0, tail) };
    let upper = if counted == of { 1.0 } else { beta::quantile(seen + 1.0, others, 1.0 - tail) };
    Ok(Interval { lower, upper })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// None of n: 0 to 1 - (tail)^(1/n), which is algebra; 10 of 50 by the relation to the binomial
    /// distribution: at the ends, seeing as much or more (as little or less) has the probability of
    /// the tail.
    #[test]
    fn the_ends_leave_their_tails() {
        let none = exact_proportion(0, 50, 0.95).unwrap();
        assert_eq!(none.lower, 0.0);
        assert!((none.upper - (1.0 - 0.025_f64.powf(1.0 / 50.0))).abs() < 1e-12);
        let all = exact_proportion(50, 50, 0.95).unwrap();
        assert!((all.lower - 0.025_f64.powf(1.0 / 50.0)).abs() < 1e-12);
        assert_eq!(all.upper, 1.0);

        let some = exact_proportion(10, 50, 0.95).unwrap();
        let up_to = |most: u32, p: f64| -> f64 {
            let choose =
                |k: u32| (0..k).map(|i| f64::from(50 - i) / f64::from(i + 1)).product::<f64>();
            (0..=most)
                .map(|k| choose(k) * p.powf(f64::from(k)) * (1.0 - p).powf(f64::from(50 - k)))
                .sum()
        };
        assert!((1.0 - up_to(9, some.lower) - 0.025).abs() < 1e-10);
        assert!((up_to(10, some.upper) - 0.025).abs() < 1e-10);
    }

    #[test]
    fn what_cannot_be_counted_is_refused() {
        assert!(exact_proportion(0, 0, 0.95).is_err());
        assert!(exact_proportion(3, 2, 0.95).is_err());
        assert!(exact_proportion(1, 2, 1.0).is_err());
    }
}
