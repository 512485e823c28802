//! Phase 1: what a process is like, from its own baseline data.
//!
//! Nothing is dropped in silence. A point that lies outside the limits is a *suspect*: it stays in
//! until somebody excludes it and says why, and the exclusion stays visible beside the limits. The
//! standard deviation comes from moving ranges, so a shift within the baseline does not widen the
//! limits as the ordinary standard deviation would (ASTM E2587; ISO 7870-2).

use super::individuals::sigma_from_moving_ranges;
use super::limits::{Established, Limits};
use super::rules::{self, Rule, Signal};
use crate::error::{self, StatsError, Undefined, checked};
use crate::number;

/// A point left out of the estimate, by somebody and for a reason.
#[derive(Debug, Clone, PartialEq)]
pub struct Exclusion {
    /// Which point, counted from 1.
    pub index: usize,
    /// Why, in words.
    pub reason: String,
}

/// A point of the baseline that a rule speaks against.
#[derive(Debug, Clone, PartialEq)]
pub struct Suspect {
    /// Which point, counted from 1.
    pub index: usize,
    /// Its value.
    pub value: f64,
    /// The rules it completes.
    pub signals: Vec<Signal>,
}

/// What the baseline gives.
#[derive(Debug, Clone, PartialEq)]
pub struct Baseline {
    /// Mean and standard deviation: what phase 2 is judged against.
    pub process: Established,
    /// Centre and limits at three standard deviations.
    pub limits: Limits,
    /// Mean moving range of neighbours that are both used.
    pub moving_range_mean: f64,
    /// Ordinary standard deviation of the points used, for comparison: much larger than `sigma`
    /// means that the process moved during the baseline.
    pub overall_standard_deviation: f64,
    /// How many points were used.
    pub used: usize,
    /// What was left out and why.
    pub excluded: Vec<Exclusion>,
    /// Points still in that a rule speaks against.
    pub suspects: Vec<Suspect>,
}

/// Estimates a process from baseline values in the order they were made.
///
/// # Errors
/// When fewer than two neighbours remain, an exclusion names a point that is not there or twice,
/// gives no reason, a value is not finite, or the values do not vary.
pub fn baseline(
    values: &[f64],
    excluded: &[Exclusion],
    rules: &[Rule],
) -> Result<Baseline, StatsError> {
    error::at_least("baseline values", 2, values)?;
    let mut used = vec![true; values.len()];
    for exclusion in excluded {
        let there = (1..=values.len()).contains(&exclusion.index);
        let i = exclusion.index as f64;
        error::within("the point to exclude", i, there, "the index of a baseline point")?;
        let fresh = used[exclusion.index - 1];
        error::within("the point to exclude", i, fresh, "named once")?;
        if exclusion.reason.trim().is_empty() {
            return Err(StatsError::Layout(format!(
                "the exclusion of point {} needs a reason",
                exclusion.index
            )));
        }
        used[exclusion.index - 1] = false;
    }
    // A range across a gap would mix in whatever happened meanwhile.
    let ranges: Vec<f64> = values
        .windows(2)
        .zip(used.windows(2))
        .filter(|(_, used)| used[0] && used[1])
        .map(|(pair, _)| (pair[1] - pair[0]).abs())
        .collect();
    let kept: Vec<f64> = values.iter().zip(&used).filter(|(_, u)| **u).map(|(v, _)| *v).collect();
    if ranges.is_empty() {
        return Err(StatsError::TooFew { what: "pairs of neighbours", need: 1, got: 0 });
    }
    let (moving_range_mean, sigma) = sigma_from_moving_ranges(&ranges)?;
    if sigma == 0.0 {
        return Err(Undefined::NoVariation { what: "the baseline" }.into());
    }
    let (centre, squares) = number::mean_and_squares(&kept);
    let process = Established::new(checked(centre.to_f64())?, checked(sigma)?)?;
    let statistics: Vec<f64> =
        values.iter().map(|v| (v - process.centre) / process.sigma).collect();
    let suspects = (0..values.len())
        .filter(|&i| used[i])
        .map(|i| Suspect {
            index: i + 1,
            value: values[i],
            signals: rules::signals(&statistics[..=i], rules),
        })
        .filter(|suspect| !suspect.signals.is_empty())
        .collect();
    Ok(Baseline {
        process,
        limits: Limits::about(process.centre, 3.0 * process.sigma)?,
        moving_range_mean,
        overall_standard_deviation: checked((squares.to_f64() / (kept.len() - 1) as f64).sqrt())?,
        used: kept.len(),
        excluded: excluded.to_vec(),
        suspects,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_outlier_is_named_and_stays_until_it_is_excluded() {
        let values = [10.0, 10.2, 9.9, 10.1, 14.0, 10.0, 9.8, 10.1, 9.9, 10.0];
        let first = baseline(&values, &[], &[Rule::ONE]).expect("a baseline");
        assert_eq!((first.used, first.excluded.len()), (10, 0));
        let reason = "cover of the jar was loose".to_string();
        let second = baseline(&values, &[Exclusion { index: 5, reason }], &[Rule::ONE]);
        let second = second.expect("a baseline");
        assert_eq!((second.used, second.excluded.len()), (9, 1));
        assert!(second.process.sigma < 0.3 && first.process.sigma > 0.5);

        let unexplained = Exclusion { index: 5, reason: " ".to_string() };
        assert!(baseline(&values, &[unexplained], &[]).is_err());
        assert!(baseline(&[3.0; 5], &[], &[]).is_err());
    }
}
