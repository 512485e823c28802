//! Limits and points, common to all charts.

use super::rules::Signal;
use crate::error::{self, StatsError, checked};

/// Centre line and control limits, in the unit of what is plotted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limits {
    /// Centre line.
    pub centre: f64,
    /// Lower control limit.
    pub lower: f64,
    /// Upper control limit.
    pub upper: f64,
}

impl Limits {
    /// `centre` ± `half`.
    pub(crate) fn about(centre: f64, half: f64) -> Result<Self, StatsError> {
        Ok(Self { centre, lower: checked(centre - half)?, upper: checked(centre + half)? })
    }

    /// Whether a value lies outside. On the limit is inside.
    #[must_use]
    pub fn excludes(&self, value: f64) -> bool {
        value < self.lower || value > self.upper
    }
}

/// A process as it is known before the points are judged: phase 2 begins here.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Established {
    /// Mean, in the unit of the values.
    pub centre: f64,
    /// Standard deviation of single values.
    pub sigma: f64,
}

impl Established {
    /// A process with this mean and standard deviation.
    ///
    /// # Errors
    /// When one is not finite or sigma is not above zero.
    pub fn new(centre: f64, sigma: f64) -> Result<Self, StatsError> {
        error::finite("the centre", &[centre])?;
        error::positive("sigma", sigma)?;
        Ok(Self { centre, sigma })
    }
}

/// One plotted point.
#[derive(Debug, Clone, PartialEq)]
pub struct Point {
    /// Counted from 1.
    pub index: usize,
    /// What is plotted: a value, or the mean of a subgroup.
    pub value: f64,
    /// The same in standard deviations from the centre.
    pub statistic: f64,
    /// The rules that this point completes.
    pub signals: Vec<Signal>,
}
