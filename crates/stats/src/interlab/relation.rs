//! How precision depends on the level, and how well two levels can be told apart.

use crate::error::{self, Figure, StatsError, Undefined, checked};

/// A functional relation between a standard deviation s and the level m.
#[derive(Debug, Clone, PartialEq)]
pub struct Relation {
    /// s = slope · m: the mean of s/m.
    pub proportional: Figure,
    /// s = intercept + slope · m, by the iterated weighted line of ISO 5725-2.
    pub linear: Result<(f64, f64), Undefined>,
    /// lg s = constant + exponent · lg m, by an ordinary line.
    pub power: Result<(f64, f64), Undefined>,
}

/// Fits the three relations of ISO 5725-2 to standard deviations at several levels.
///
/// # Errors
/// When the lists differ in length, have fewer than two entries, or hold a value that is not above
/// zero.
pub fn relations(levels: &[f64], deviations: &[f64]) -> Result<Relation, StatsError> {
    error::at_least("levels", 2, levels)?;
    if levels.len() != deviations.len() {
        return Err(StatsError::UnequalLengths {
            what: "levels and standard deviations",
            left: levels.len(),
            right: deviations.len(),
        });
    }
    for (&m, &s) in levels.iter().zip(deviations) {
        error::positive("a level", m)?;
        error::positive("a standard deviation", s)?;
    }
    let ratios: Vec<f64> = deviations.iter().zip(levels).map(|(s, m)| s / m).collect();
    let logs = |values: &[f64]| values.iter().map(|v| libm::log10(*v)).collect::<Vec<f64>>();
    let power = crate::regression::straight_line(&logs(levels), &logs(deviations))
        .map(|line| (line.intercept, line.slope))
        .map_err(|_| Undefined::NoVariation { what: "the level" });
    Ok(Relation {
        proportional: crate::describe::mean(&ratios),
        linear: weighted_line(levels, deviations),
        power,
    })
}

/// The line whose weights are the inverse squares of its own values, starting from those observed.
fn weighted_line(levels: &[f64], deviations: &[f64]) -> Result<(f64, f64), Undefined> {
    let mut expected = deviations.to_vec();
    let mut line = (0.0, 0.0);
    for _ in 0..200 {
        let (mut t1, mut t2, mut t3, mut t4, mut t5) = (0.0, 0.0, 0.0, 0.0, 0.0);
        for ((&m, &s), &e) in levels.iter().zip(deviations).zip(&expected) {
            let w = 1.0 / (e * e);
            t1 += w;
            t2 += w * m;
            t3 += w * m * m;
            t4 += w * s;
            t5 += w * m * s;
        }
        let divisor = t1 * t3 - t2 * t2;
        if divisor <= 1e-12 * t1 * t3 {
            return Err(Undefined::NoVariation { what: "the level" });
        }
        let next = ((t3 * t4 - t2 * t5) / divisor, (t1 * t5 - t2 * t4) / divisor);
        checked(next.0)?;
        checked(next.1)?;
        expected = levels.iter().map(|m| next.0 + next.1 * m).collect();
        if expected.iter().any(|e| *e <= 0.0) {
            return Err(Undefined::Because(
                "the line falls to zero or below within the levels, so its weights have no meaning",
            ));
        }
        let moved = (next.0 - line.0).abs() + (next.1 - line.1).abs();
        line = next;
        if moved <= 1e-13 * (line.0.abs() + line.1.abs()) {
            return Ok(line);
        }
    }
    Err(Undefined::Because("the weighted line does not settle"))
}

/// Distance of two levels in units of their combined standard deviation: how well a test tells two
/// materials apart.
///
/// # Errors
/// `Undefined` when both standard deviations are zero or the result leaves double precision.
pub fn sensitivity_ratio(low: (f64, f64), high: (f64, f64)) -> Figure {
    let combined = libm::hypot(low.1, high.1);
    error::ratio(high.0 - low.0, combined, "either level")
}
