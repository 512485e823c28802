//! Exponentially weighted moving average (S. W. Roberts, Technometrics 1 (1959) 239-250; NIST/SEMATECH
//! e-Handbook 6.3.2.4).

use super::limits::{Established, Limits};
use crate::error::{self, StatsError, checked};

/// Whether limits grow with the first points or stand at their final width.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum EwmaLimits {
    /// Exact for each point: narrow at first.
    Exact,
    /// Final width from the first point on.
    Asymptotic,
}

/// How an EWMA chart is set up.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EwmaDesign {
    /// Weight of the newest point, above 0 and up to 1.
    pub lambda: f64,
    /// Half-width of the limits in standard deviations of the average.
    pub width: f64,
    /// Which limits.
    pub limits: EwmaLimits,
}

/// One point of an EWMA chart.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EwmaPoint {
    /// Counted from 1.
    pub index: usize,
    /// The value itself.
    pub value: f64,
    /// The average after it.
    pub average: f64,
    /// The limits that hold for it.
    pub limits: Limits,
    /// Whether the average lies outside.
    pub signal: bool,
}

/// An EWMA chart.
#[derive(Debug, Clone, PartialEq)]
pub struct EwmaChart {
    /// The final limits.
    pub limits: Limits,
    /// The points.
    pub points: Vec<EwmaPoint>,
}

/// Judges values against an established process; the average starts at its centre.
///
/// # Errors
/// When there is no value, one is not finite, or the design is out of range.
pub fn ewma(
    values: &[f64],
    process: Established,
    design: EwmaDesign,
) -> Result<EwmaChart, StatsError> {
    error::at_least("values", 1, values)?;
    design.check()?;
    let keep = 1.0 - design.lambda;
    let final_half = design.half_width() * process.sigma;
    let mut average = process.centre;
    let mut remembered = 1.0;
    let mut points = Vec::with_capacity(values.len());
    for (i, &value) in values.iter().enumerate() {
        average = checked(design.lambda * value + keep * average)?;
        remembered *= keep * keep;
        let half = match design.limits {
            EwmaLimits::Exact => final_half * (1.0 - remembered).sqrt(),
            EwmaLimits::Asymptotic => final_half,
        };
        let limits = Limits::about(process.centre, half)?;
        let signal = limits.excludes(average);
        points.push(EwmaPoint { index: i + 1, value, average, limits, signal });
    }
    Ok(EwmaChart { limits: Limits::about(process.centre, final_half)?, points })
}

impl EwmaDesign {
    pub(crate) fn check(&self) -> Result<(), StatsError> {
        let good = self.lambda > 0.0 && self.lambda <= 1.0;
        error::within("lambda", self.lambda, good, "above 0 and at most 1")?;
        error::positive("the width of the limits", self.width)
    }

    /// Final half-width of the limits in standard deviations of single values.
    pub(crate) fn half_width(&self) -> f64 {
        self.width * (self.lambda / (2.0 - self.lambda)).sqrt()
    }
}
