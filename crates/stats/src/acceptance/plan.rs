//! What a plan accepts: its operating-characteristic curve and both risks, for one limit and a normal
//! lot with unknown standard deviation (G. J. Resnikoff and G. J. Lieberman, Tables of the Non-central
//! t-Distribution, 1957; ISO 3951-1).

use super::quality_index::quality_index_for;
use crate::distribution::{noncentral_t, normal};
use crate::error::{self, StatsError};
use crate::number::minimum_where;

/// Accept a lot when the quality index of `n` results is at least `k`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Plan {
    /// Number of results.
    pub n: usize,
    /// Acceptance constant.
    pub k: f64,
}

impl Plan {
    /// The plan that asks for at least `percent` within the limit as estimated from `n` results.
    ///
    /// # Errors
    /// When `percent` is not between 0 and 100 or `n` below 3.
    pub fn for_percent(n: usize, percent: f64) -> Result<Self, StatsError> {
        Ok(Self { n, k: quality_index_for(percent, n)? })
    }

    /// Probability of accepting a lot of which truly `percent` lies within the limit: one point of
    /// the operating-characteristic curve.
    ///
    /// # Errors
    /// When `percent` is not between 0 and 100, `n` is below 2 or `k` not finite.
    pub fn acceptance_probability(&self, percent: f64) -> Result<f64, StatsError> {
        let good = percent > 0.0 && percent < 100.0;
        error::within("the per cent within the limit", percent, good, "above 0 and below 100")?;
        error::within("the number of results", self.n as f64, self.n >= 2, "at least 2")?;
        error::finite("the acceptance constant", &[self.k])?;
        let root = (self.n as f64).sqrt();
        let delta = root * normal::quantile(percent / 100.0);
        // P(T > t; δ) = P(T < -t; -δ).
        Ok(noncentral_t::integral(-self.k * root, (self.n - 1) as f64, -delta))
    }

    /// Probability of rejecting a lot that is as good as it should be.
    ///
    /// # Errors
    /// As [`acceptance_probability`](Self::acceptance_probability).
    pub fn producer_risk(&self, acceptable_percent: f64) -> Result<f64, StatsError> {
        Ok(1.0 - self.acceptance_probability(acceptable_percent)?)
    }

    /// Probability of accepting a lot that should be rejected.
    ///
    /// # Errors
    /// As [`acceptance_probability`](Self::acceptance_probability).
    pub fn consumer_risk(&self, rejectable_percent: f64) -> Result<f64, StatsError> {
        self.acceptance_probability(rejectable_percent)
    }
}

/// The smallest plan that rejects a lot with `acceptable` per cent within at most with probability
/// `producer_risk`, and accepts one with `rejectable` per cent at most with `consumer_risk`.
///
/// # Errors
/// When an argument is out of range, or the two qualities are too close for any plan in reach.
pub fn plan_for(
    (acceptable, producer_risk): (f64, f64),
    (rejectable, consumer_risk): (f64, f64),
) -> Result<Plan, StatsError> {
    error::probability("the producer's risk", producer_risk)?;
    error::probability("the consumer's risk", consumer_risk)?;
    let good = acceptable < 100.0 && acceptable > rejectable && rejectable > 0.0;
    let expected = "below 100 and above the rejectable per cent, which is above 0";
    error::within("the acceptable per cent", acceptable, good, expected)?;
    let at = |n: usize| -> Result<Plan, StatsError> {
        let root = (n as f64).sqrt();
        let delta = root * normal::quantile(acceptable / 100.0);
        let t = noncentral_t::quantile(producer_risk, (n - 1) as f64, delta)?;
        Ok(Plan { n, k: t / root })
    };
    let n = minimum_where(3, 1 << 16, |n| Ok(at(n)?.consumer_risk(rejectable)? <= consumer_risk))?;
    at(n)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn risks_are_held_and_the_curve_rises() {
        let plan = plan_for((95.0, 0.05), (80.0, 0.10)).expect("a plan");
        assert!((plan.producer_risk(95.0).expect("in range") - 0.05).abs() < 1e-9);
        assert!(plan.consumer_risk(80.0).expect("in range") <= 0.10);
        let smaller = Plan { n: plan.n - 1, ..plan };
        assert!(
            smaller.consumer_risk(80.0).expect("in range")
                > plan.consumer_risk(80.0).expect("in range")
        );
        let curve: Vec<f64> = [60.0, 75.0, 90.0, 97.0, 99.9]
            .map(|p| plan.acceptance_probability(p).expect("in range"))
            .to_vec();
        assert!(curve.windows(2).all(|pair| pair[0] < pair[1]));
    }
}
