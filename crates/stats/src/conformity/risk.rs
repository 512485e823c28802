//! Global risks of a decision rule, over a whole production (JCGM 106, clause 9).

use super::probability::Tolerance;
use crate::distribution::normal;
use crate::error::{self, StatsError, Undefined};
use crate::number::{panels, root};

/// What is known about the items and about the measurement, in one unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Process {
    /// Mean of the true values.
    pub mean: f64,
    /// Standard deviation of the true values.
    pub sd: f64,
    /// Standard uncertainty of a measurement.
    pub u: f64,
}

/// The two risks.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GlobalRisk {
    /// Probability that an item is accepted and does not conform.
    pub consumer: f64,
    /// Probability that an item is rejected and conforms.
    pub producer: f64,
}

/// Risks of accepting what measures within `acceptance` while `tolerance` is what is permitted; true
/// values and measurement errors normal.
///
/// # Errors
/// When a number is not finite or a spread is not above zero.
pub fn global_risk(
    process: &Process,
    tolerance: &Tolerance,
    acceptance: &Tolerance,
) -> Result<GlobalRisk, StatsError> {
    error::finite("the process mean", &[process.mean])?;
    error::positive("the process standard deviation", process.sd)?;
    error::positive("the standard uncertainty", process.u)?;
    let (lower, upper) = tolerance.ends();
    let (from, to) = acceptance.ends();
    let accepted = |x: f64| normal::between((from - x) / process.u, (to - x) / process.u);
    let density = |x: f64| normal::density((x - process.mean) / process.sd) / process.sd;
    let (start, end) = (process.mean - 9.0 * process.sd, process.mean + 9.0 * process.sd);
    // Breaks where something happens: every limit, with a few uncertainties about it.
    let mut breaks: Vec<f64> =
        (0..=24).map(|i| start + (end - start) * f64::from(i) / 24.0).collect();
    for limit in [lower, upper, from, to] {
        for step in [-8.0, -4.0, -2.0, -1.0, 0.0, 1.0, 2.0, 4.0, 8.0] {
            breaks.push(limit + step * process.u);
        }
    }
    breaks.retain(|b| *b >= start && *b <= end);
    breaks.sort_by(f64::total_cmp);
    let (mut consumer, mut producer) = (0.0, 0.0);
    for (x, weight) in panels(10, &breaks).iter() {
        let share = weight * density(x);
        if tolerance.contains(x) {
            producer += share * (1.0 - accepted(x));
        } else {
            consumer += share * accepted(x);
        }
    }
    Ok(GlobalRisk { consumer, producer })
}

/// The guard band (inward, in the unit of the test; negative is outward) for which the global
/// consumer's risk is `risk`.
///
/// # Errors
/// As [`global_risk`], and when no guard band gives that risk.
pub fn guard_band_for_consumer_risk(
    process: &Process,
    tolerance: &Tolerance,
    risk: f64,
) -> Result<f64, StatsError> {
    error::probability("the risk", risk)?;
    global_risk(process, tolerance, tolerance)?;
    let most = match (tolerance.lower, tolerance.upper) {
        (Some(a), Some(b)) => 0.5 * (b - a),
        _ => 9.0 * (process.sd + process.u),
    };
    let excess = |w: f64| -> f64 {
        tolerance
            .narrowed(w)
            .and_then(|acceptance| global_risk(process, tolerance, &acceptance))
            .map_or(f64::NAN, |r| r.consumer - risk)
    };
    let least = -9.0 * (process.sd + process.u);
    root(least, most * (1.0 - 1e-12), excess).map_err(|_| {
        Undefined::Because("no guard band gives that consumer's risk with this process").into()
    })
}
