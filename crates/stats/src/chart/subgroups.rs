//! Charts of subgroups: mean and range, mean and standard deviation (ASTM E2587).

use super::constants::Constants;
use super::individuals::points;
use super::limits::{Limits, Point};
use super::rules::Rule;
use crate::error::{self, StatsError, Undefined, checked};
use crate::number;

/// The spread of one subgroup.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spread {
    /// Counted from 1.
    pub index: usize,
    /// Range or standard deviation, in the unit of the values.
    pub value: f64,
    /// Whether it lies outside its limits.
    pub beyond: bool,
}

/// A chart of means with its chart of spreads.
#[derive(Debug, Clone, PartialEq)]
pub struct SubgroupChart {
    /// Size of each subgroup.
    pub subgroup_size: usize,
    /// Centre and limits of the means, at three standard errors.
    pub limits: Limits,
    /// The means with their signals.
    pub points: Vec<Point>,
    /// Centre and limits of the spreads.
    pub spread_limits: Limits,
    /// The spreads.
    pub spreads: Vec<Spread>,
    /// Estimated standard deviation of single values within subgroups.
    pub sigma: f64,
}

/// Chart of means with limits from the mean range. All subgroups have the same size, 2 to 25.
///
/// # Errors
/// When there are fewer than two subgroups, sizes differ or are out of range, a value is not
/// finite, or nothing varies within the subgroups.
pub fn mean_range(subgroups: &[Vec<f64>], rules: &[Rule]) -> Result<SubgroupChart, StatsError> {
    let n = size(subgroups, 25)?;
    let factors = Constants::new(n, 3.0)?;
    let range = |group: &[f64]| {
        let most = group.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        most - group.iter().copied().fold(f64::INFINITY, f64::min)
    };
    let spreads: Vec<f64> = subgroups.iter().map(|g| range(g)).collect();
    let factors = (factors.d2, factors.a2, factors.lower_d3, factors.upper_d4);
    chart(subgroups, n, &spreads, factors, rules)
}

/// Chart of means with limits from the mean standard deviation. All subgroups have the same size,
/// 2 to 1000.
///
/// # Errors
/// As [`mean_range`].
pub fn mean_sd(subgroups: &[Vec<f64>], rules: &[Rule]) -> Result<SubgroupChart, StatsError> {
    let n = size(subgroups, 1000)?;
    let factors = Constants::new(n, 3.0)?;
    let spreads: Vec<f64> = subgroups
        .iter()
        .map(|g| (number::mean_and_squares(g).1.to_f64() / (n - 1) as f64).sqrt())
        .collect();
    chart(subgroups, n, &spreads, (factors.c4, factors.a3, factors.b3, factors.b4), rules)
}

/// The common size of the subgroups.
fn size(subgroups: &[Vec<f64>], most: usize) -> Result<usize, StatsError> {
    if subgroups.len() < 2 {
        return Err(StatsError::TooFew { what: "subgroups", need: 2, got: subgroups.len() });
    }
    let n = subgroups[0].len();
    for (i, group) in subgroups.iter().enumerate() {
        error::finite("subgroup", group)?;
        if group.len() != n {
            return Err(StatsError::Layout(format!(
                "subgroup {} has {} values and the first has {n}; all have to have the same size",
                i + 1,
                group.len()
            )));
        }
    }
    let good = (2..=most).contains(&n);
    let expected = if most == 25 { "from 2 to 25" } else { "from 2 to 1000" };
    error::within("the subgroup size", n as f64, good, expected)?;
    Ok(n)
}

/// The chart, given `(sigma divisor, factor for means, lower, upper factor for spreads)`.
fn chart(
    subgroups: &[Vec<f64>],
    n: usize,
    spreads: &[f64],
    (divisor, a, lower, upper): (f64, f64, f64, f64),
    rules: &[Rule],
) -> Result<SubgroupChart, StatsError> {
    let means: Vec<f64> = subgroups.iter().map(|g| number::mean(g).to_f64()).collect();
    let centre = checked(number::mean(&means).to_f64())?;
    let spread_mean = checked(number::mean(spreads).to_f64())?;
    let sigma = spread_mean / divisor;
    if sigma == 0.0 {
        return Err(Undefined::NoVariation { what: "what lies within the subgroups" }.into());
    }
    let standard_error = sigma / (n as f64).sqrt();
    let statistics: Vec<f64> = means.iter().map(|m| (m - centre) / standard_error).collect();
    error::finite("standardized means", &statistics)?;
    let spread_limits = Limits {
        centre: spread_mean,
        lower: lower * spread_mean,
        upper: checked(upper * spread_mean)?,
    };
    Ok(SubgroupChart {
        subgroup_size: n,
        limits: Limits::about(centre, a * spread_mean)?,
        points: points(&means, &statistics, rules),
        spreads: spreads
            .iter()
            .enumerate()
            .map(|(i, &value)| Spread {
                index: i + 1,
                value,
                beyond: spread_limits.excludes(value),
            })
            .collect(),
        spread_limits,
        sigma,
    })
}
