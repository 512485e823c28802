//! Why a request did not become facts: what is wrong, where, by which rule, and what would be
//! right.

use serde::Serialize;
use std::fmt;

/// One thing that is wrong with a request.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Problem {
    /// The field of the request: `mass_g`, `placements.0.jar`; empty for the request as a whole.
    pub field: String,
    /// A short stable name of the rule that says so: `item-not-in-service`.
    pub rule: &'static str,
    /// What is wrong.
    pub message: String,
    /// What would be right.
    pub hint: String,
    /// Whether a person may go on all the same by recording a reason, as a deviation.
    pub excusable: bool,
}

/// A request that was refused, with everything that is wrong with it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Refusal {
    /// At least one problem.
    pub problems: Vec<Problem>,
}

impl Refusal {
    /// A refusal for one reason that no recorded reason can excuse.
    pub fn of(
        field: &str,
        rule: &'static str,
        message: impl Into<String>,
        hint: impl Into<String>,
    ) -> Self {
        Self {
            problems: vec![Problem {
                field: field.to_owned(),
                rule,
                message: message.into(),
                hint: hint.into(),
                excusable: false,
            }],
        }
    }

    /// True when every problem could be excused by a recorded reason.
    pub fn excusable(&self) -> bool {
        self.problems.iter().all(|problem| problem.excusable)
    }

    /// True when the typed input was at fault rather than a rule of the laboratory.
    pub fn is_wrong_input(&self) -> bool {
        self.problems
            .iter()
            .any(|problem| problem.rule.starts_with("input-") || problem.rule.ends_with("-unknown"))
    }
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if !self.field.is_empty() {
            write!(f, "{}: ", self.field)?;
        }
        f.write_str(&self.message)?;
        if !self.hint.is_empty() {
            write!(f, "; {}", self.hint)?;
        }
        Ok(())
    }
}

impl fmt::Display for Refusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (index, problem) in self.problems.iter().enumerate() {
            if index > 0 {
                f.write_str("\n")?;
            }
            write!(f, "{problem}")?;
        }
        Ok(())
    }
}

impl std::error::Error for Refusal {}
