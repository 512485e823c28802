//! Individuals and moving range (ASTM E2587; NIST/SEMATECH e-Handbook 6.3.2.2).

use super::constants::Constants;
use super::limits::{Established, Limits, Point};
use super::rules::{self, Rule};
use crate::error::{self, Figure, StatsError, Undefined, checked, ratio};
use crate::number;

/// A moving range.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MovingRange {
    /// Index of the later of the two points, counted from 1.
    pub index: usize,
    /// Its distance from the point before.
    pub value: f64,
    /// Whether it lies above the upper limit.
    pub beyond: bool,
}

/// Points against limits that stand.
#[derive(Debug, Clone, PartialEq)]
pub struct IndividualsChart {
    /// Centre and limits at three standard deviations.
    pub limits: Limits,
    /// The points with their signals.
    pub points: Vec<Point>,
    /// Centre and limits of the moving ranges.
    pub range_limits: Limits,
    /// The moving ranges.
    pub ranges: Vec<MovingRange>,
}

/// Mean of the moving ranges, and the standard deviation it stands for: mean / d2.
///
/// # Errors
/// `Undefined` for fewer than two values.
pub(crate) fn sigma_from_moving_ranges(ranges: &[f64]) -> Result<(f64, f64), StatsError> {
    if ranges.is_empty() {
        return Err(Undefined::TooFew { need: 2, got: 1 }.into());
    }
    let mean = checked(number::mean(ranges).to_f64())?;
    Ok((mean, mean / super::d2(2)?))
}

/// Judges values against an established process: three-sigma limits and the selected run rules.
///
/// # Errors
/// When there is no value or one is not finite.
pub fn individuals(
    values: &[f64],
    process: Established,
    rules: &[Rule],
) -> Result<IndividualsChart, StatsError> {
    error::at_least("values", 1, values)?;
    let statistics = values
        .iter()
        .map(|v| ratio(v - process.centre, process.sigma, "the process"))
        .collect::<Result<Vec<f64>, Undefined>>()?;
    let factors = Constants::new(2, 3.0)?;
    let range_centre = factors.d2 * process.sigma;
    let range_limits = Limits {
        centre: range_centre,
        lower: factors.lower_d3 * range_centre,
        upper: checked(factors.upper_d4 * range_centre)?,
    };
    let ranges = values
        .windows(2)
        .enumerate()
        .map(|(i, pair)| {
            let value = checked((pair[1] - pair[0]).abs())?;
            Ok(MovingRange { index: i + 2, value, beyond: value > range_limits.upper })
        })
        .collect::<Result<Vec<MovingRange>, Undefined>>()?;
    Ok(IndividualsChart {
        limits: Limits::about(process.centre, 3.0 * process.sigma)?,
        points: points(values, &statistics, rules),
        range_limits,
        ranges,
    })
}

impl IndividualsChart {
    /// Mean of the moving ranges of the points shown.
    ///
    /// # Errors
    /// `Undefined` when there is only one point.
    pub fn moving_range_mean(&self) -> Figure {
        if self.ranges.is_empty() {
            return Err(Undefined::TooFew { need: 2, got: 1 });
        }
        let ranges: Vec<f64> = self.ranges.iter().map(|r| r.value).collect();
        checked(number::mean(&ranges).to_f64())
    }
}

/// Points with their signals.
pub(crate) fn points(values: &[f64], statistics: &[f64], rules: &[Rule]) -> Vec<Point> {
    values
        .iter()
        .zip(statistics)
        .enumerate()
        .map(|(i, (&value, &statistic))| Point {
            index: i + 1,
            value,
            statistic,
            signals: rules::signals(&statistics[..=i], rules),
        })
        .collect()
}
