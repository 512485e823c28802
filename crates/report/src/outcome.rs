//! The reported number: its working, its uncertainty, and the decision made on it.

use serde::{Deserialize, Serialize};

/// One line of the working, from the formula to the reported value.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct WorkedLine {
    /// What the line is: `Formula`, `With numbers`, `Unrounded`, `Rounding`, `Reported`.
    pub label: String,
    /// The line itself.
    pub text: String,
}

/// How uncertain the reported value is. The unit is that of the value.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Uncertainty {
    /// Expanded uncertainty.
    pub expanded: String,
    /// Coverage factor.
    pub coverage_factor: String,
    /// Probability of coverage with its unit.
    pub coverage: String,
    /// How it was found, or empty.
    pub basis: String,
}

/// What was decided about the value.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Outcome {
    /// Inside the limit, guard band included.
    Conforms,
    /// Inside the limit, but in the guard band.
    ConformsInGuardBand,
    /// Beyond the limit, but in the guard band.
    FailsInGuardBand,
    /// Beyond the limit, guard band included.
    DoesNotConform,
    /// No decision was asked for or could be made.
    #[default]
    NotDecided,
}

impl Outcome {
    /// Every outcome.
    pub const ALL: [Self; 5] = [
        Self::Conforms,
        Self::ConformsInGuardBand,
        Self::FailsInGuardBand,
        Self::DoesNotConform,
        Self::NotDecided,
    ];

    /// The words for it on every paper.
    pub fn words(self) -> &'static str {
        match self {
            Self::Conforms => "Conforms",
            Self::ConformsInGuardBand => "Conforms, within the guard band",
            Self::FailsInGuardBand => "Does not conform, within the guard band",
            Self::DoesNotConform => "Does not conform",
            Self::NotDecided => "Not decided",
        }
    }
}

/// A statement of conformity: what was required, where, by which rule it was judged
/// (ISO/IEC 17025:2017, 7.8.6).
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Decision {
    /// The requirement in words: `at most 17.0 %`.
    pub requirement: String,
    /// The document that makes it.
    pub document: String,
    /// The decision rule, named, with its risk.
    pub rule: String,
    /// What follows.
    pub outcome: Outcome,
    /// The limits as numbers, to draw.
    pub strip: Strip,
}

/// Limits as decimal texts in the unit of the value, for the tolerance strip.
///
/// A limit that is left out does not exist; an acceptance limit is left out when there is no guard
/// band on that side.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Strip {
    /// Least allowed.
    pub lower: Option<String>,
    /// Most allowed.
    pub upper: Option<String>,
    /// Least accepted under the decision rule.
    pub acceptance_lower: Option<String>,
    /// Most accepted under the decision rule.
    pub acceptance_upper: Option<String>,
}
