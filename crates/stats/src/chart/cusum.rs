//! Tabular cumulative sums (E. S. Page, Biometrika 41 (1954) 100-115; NIST/SEMATECH e-Handbook
//! 6.3.2.3).

use crate::error::{self, StatsError, checked};

/// How a CUSUM chart is set up; everything in the unit of the values.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CusumDesign {
    /// What the values should be.
    pub target: f64,
    /// Allowance k: half the shift that matters.
    pub allowance: f64,
    /// Decision interval h: a sum above it signals.
    pub decision: f64,
}

/// One point of a CUSUM chart.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CusumPoint {
    /// Counted from 1.
    pub index: usize,
    /// The value itself.
    pub value: f64,
    /// Sum of what lies above target + k.
    pub high: f64,
    /// Sum of what lies below target - k.
    pub low: f64,
    /// Whether one of the sums is above the decision interval.
    pub signal: bool,
}

/// A CUSUM chart.
#[derive(Debug, Clone, PartialEq)]
pub struct CusumChart {
    /// The points.
    pub points: Vec<CusumPoint>,
    /// Index of the first point that signals.
    pub first_signal: Option<usize>,
    /// Where the run that led to it began: the point after the sum was last zero.
    pub change_began: Option<usize>,
}

/// Sums deviations from the target in both directions, starting at zero.
///
/// # Errors
/// When there is no value, one is not finite, or the design is out of range.
pub fn cusum(values: &[f64], design: CusumDesign) -> Result<CusumChart, StatsError> {
    error::at_least("values", 1, values)?;
    error::finite("the target", &[design.target])?;
    error::not_negative("the allowance k", design.allowance)?;
    error::positive("the decision interval h", design.decision)?;
    let (mut high, mut low) = (0.0f64, 0.0f64);
    let (mut high_began, mut low_began) = (1, 1);
    let mut chart = CusumChart { points: Vec::new(), first_signal: None, change_began: None };
    for (i, &value) in values.iter().enumerate() {
        let away = checked(value - design.target)?;
        high = checked((high + away - design.allowance).max(0.0))?;
        low = checked((low - away - design.allowance).max(0.0))?;
        let index = i + 1;
        if high == 0.0 {
            high_began = index + 1;
        }
        if low == 0.0 {
            low_began = index + 1;
        }
        let signal = high > design.decision || low > design.decision;
        if signal && chart.first_signal.is_none() {
            chart.first_signal = Some(index);
            chart.change_began = Some(if high > design.decision { high_began } else { low_began });
        }
        chart.points.push(CusumPoint { index, value, high, low, signal });
    }
    Ok(chart)
}
