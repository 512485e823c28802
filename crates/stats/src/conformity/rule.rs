//! Statements of conformity by a decision rule (ILAC-G8:09/2019, section 4).

use super::probability::{Tolerance, conformance_probability};
use crate::error::{self, StatsError};

/// A decision rule.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Rule {
    /// Accept what measures within the limits (shared risk).
    Simple,
    /// Accept what measures within limits moved inward by the guard band: pass or fail.
    Guarded(GuardedRule),
    /// As `Guarded`, with two statements more for results within a guard band of a limit.
    NonBinary(GuardedRule),
}

/// How wide the guard band is, as a multiple of the expanded uncertainty U = 2u.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GuardedRule {
    /// Guard band over U: 1 is the usual choice, 0 is simple acceptance, negative lets pass what
    /// only exceeds a limit by that much.
    pub multiple: f64,
}

impl GuardedRule {
    /// Largest probability of a false acceptance at one limit: Φ(-2 · multiple).
    #[must_use]
    pub fn specific_risk(&self) -> f64 {
        crate::distribution::normal::above(2.0 * self.multiple)
    }
}

/// What is stated.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Statement {
    /// Conforms under the rule.
    Pass,
    /// Within the limit by less than the guard band.
    ConditionalPass,
    /// Beyond the limit by less than the guard band.
    ConditionalFail,
    /// Does not conform under the rule.
    Fail,
}

impl Statement {
    /// The words of the guideline.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Pass => "pass",
            Self::ConditionalPass => "conditional pass",
            Self::ConditionalFail => "conditional fail",
            Self::Fail => "fail",
        }
    }
}

/// A statement with what it rests on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Judgement {
    /// What is stated.
    pub statement: Statement,
    /// Probability that the true value conforms.
    pub probability: f64,
    /// Limits that the result was held against.
    pub acceptance: Tolerance,
}

/// Judges a result with standard uncertainty `u`.
///
/// # Errors
/// When a number is not finite, `u` is negative, or the guard bands leave nothing to accept.
pub fn judge(
    value: f64,
    u: f64,
    tolerance: &Tolerance,
    rule: Rule,
) -> Result<Judgement, StatsError> {
    let probability = conformance_probability(value, u, tolerance)?;
    let (band, binary) = match rule {
        Rule::Simple => (0.0, true),
        Rule::Guarded(rule) => (rule.multiple * 2.0 * u, true),
        Rule::NonBinary(rule) => {
            error::not_negative("the guard band of a rule with four statements", rule.multiple)?;
            (rule.multiple * 2.0 * u, false)
        }
    };
    let acceptance = tolerance.narrowed(band)?;
    // A result exactly on an acceptance limit is accepted, also when the subtraction that made the
    // limit was rounded the wrong way.
    let slack = 4.0 * f64::EPSILON * (value.abs() + band.abs());
    let inside = |limits: &Tolerance| {
        let (lower, upper) = limits.ends();
        value >= lower - slack && value <= upper + slack
    };
    let statement = if inside(&acceptance) {
        Statement::Pass
    } else if binary {
        Statement::Fail
    } else if inside(tolerance) {
        Statement::ConditionalPass
    } else if inside(&tolerance.narrowed(-band)?) {
        Statement::ConditionalFail
    } else {
        Statement::Fail
    };
    Ok(Judgement { statement, probability, acceptance })
}
