//! What a design can see: the power of the F test of a factor, and of two one-sided tests.
//!
//! For two levels that lie `d` standard deviations apart and all others midway, which is the least
//! favourable case, the noncentrality is n d² / 2 with n results a level (D. C. Montgomery, Design
//! and Analysis of Experiments, section 3.7; J. Cohen, Statistical Power Analysis, 2nd ed., 8.2).

use crate::comparison::{Bounds, exact_power};
use crate::distribution::{f, noncentral_f};
use crate::error::{self, StatsError, checked};
use crate::number::root;

/// A factor as a design looks at it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Effect {
    /// Its levels, at least 2.
    pub levels: usize,
    /// Results of each level.
    pub results_a_level: usize,
    /// Degrees of freedom of the error that it is tested against.
    pub freedom: usize,
}

impl Effect {
    fn check(&self, alpha: f64) -> Result<(), StatsError> {
        error::probability("alpha", alpha)?;
        let within = |what, value: usize, least: usize, words| {
            error::within(what, value as f64, value >= least, words)
        };
        within("the number of levels", self.levels, 2, "at least 2")?;
        within("the number of results a level", self.results_a_level, 1, "at least 1")?;
        within("the degrees of freedom of the error", self.freedom, 1, "at least 1")
    }

    fn power(&self, d: f64, alpha: f64) -> f64 {
        let (above, below) = ((self.levels - 1) as f64, self.freedom as f64);
        let critical = f::upper_quantile(alpha, above, below);
        let lambda = 0.5 * self.results_a_level as f64 * d * d;
        noncentral_f::above(critical, above, below, lambda)
    }
}

/// Probability that the F test at `alpha` finds that some levels differ, when two of them lie
/// `d` standard deviations apart.
///
/// # Errors
/// When an argument is out of range.
pub fn power_of_effect(effect: &Effect, d: f64, alpha: f64) -> Result<f64, StatsError> {
    effect.check(alpha)?;
    error::within("the difference", d, (0.0..=1e3).contains(&d), "from 0 to 1000 deviations")?;
    Ok(checked(effect.power(d, alpha))?)
}

/// How many standard deviations two levels have to lie apart for the F test at `alpha` to find it
/// with probability `power`.
///
/// # Errors
/// When an argument is out of range, or the power is not above `alpha`.
pub fn detectable_difference(effect: &Effect, alpha: f64, power: f64) -> Result<f64, StatsError> {
    effect.check(alpha)?;
    error::within("the power", power, power > alpha && power < 1.0, "above alpha and below 1")?;
    let mut high = 1.0;
    while effect.power(high, alpha) < power && high < 1e3 {
        high *= 2.0;
    }
    Ok(root(0.0, high, |d| effect.power(d, alpha) - power)?)
}

/// Probability that two one-sided tests at `alpha` show a difference to lie within ± `margin`, when
/// it is `difference`: its estimate has the variance `variance`, found with `freedom` degrees of
/// freedom, and beside it `known`, which is known without doubt (such as that of a reference value).
/// With a known part the degrees of freedom grow as JCGM 100:2008, G.4.1 says.
///
/// # Errors
/// When an argument is out of range.
pub fn power_of_equivalence(
    difference: f64,
    (variance, known): (f64, f64),
    freedom: f64,
    margin: f64,
    alpha: f64,
) -> Result<f64, StatsError> {
    error::positive("the variance", variance)?;
    error::not_negative("the known part of it", known)?;
    let all = variance + known;
    let effective = freedom * (all / variance) * (all / variance);
    exact_power(difference, all.sqrt(), effective, Bounds::new(-margin, margin)?, alpha)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::comparison::{Design, Tails, power_of_t};

    /// With two levels the F test is the two-sided t test.
    #[test]
    fn of_two_levels_it_is_the_t_test() {
        for (n, d) in [(4, 1.0), (10, 0.8), (17, 1.4), (64, 0.5)] {
            let effect = Effect { levels: 2, results_a_level: n, freedom: 2 * n - 2 };
            let by_f = power_of_effect(&effect, d, 0.05).unwrap();
            let by_t = power_of_t(Design::TwoSamples, Tails::Two, d, 0.05, n).unwrap();
            assert!((by_f - by_t).abs() < 1e-10, "{n} {d}: {by_f} {by_t}");
        }
    }

    /// J. Cohen, Statistical Power Analysis, 2nd ed., table 8.4.4: four groups, alpha 0.05, power
    /// 0.80, effect size f = 0.25 need 45 a group (from memory, unconfirmed; f² = d² / (2 k) here,
    /// since the noncentrality k n f² is n d² / 2).
    #[test]
    fn a_published_number_of_results() {
        let d = 0.25 * (2.0_f64 * 4.0).sqrt();
        let power = |n: usize| {
            let effect = Effect { levels: 4, results_a_level: n, freedom: 4 * n - 4 };
            power_of_effect(&effect, d, 0.05).unwrap()
        };
        assert!(power(45) >= 0.80 && power(44) < 0.80, "{} {}", power(44), power(45));
    }

    #[test]
    fn a_detectable_difference_is_found_with_its_power() {
        for freedom in [2, 6, 30] {
            let effect = Effect { levels: 4, results_a_level: 4, freedom };
            let d = detectable_difference(&effect, 0.05, 0.8).unwrap();
            assert!((power_of_effect(&effect, d, 0.05).unwrap() - 0.8).abs() < 1e-9);
        }
        let none = Effect { levels: 4, results_a_level: 1, freedom: 0 };
        assert!(detectable_difference(&none, 0.05, 0.8).is_err());
    }
}
