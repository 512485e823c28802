//! What this laboratory was told of itself in the proficiency rounds of others, and did about it.

use crate::code::{ResultCode, ScoreCode};
use jiff::civil::Date;
use serde::{Deserialize, Serialize};
use stonewear_measure::Decimal;

/// A fact about proficiency. In JSON it carries its name as `step`.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "step", rename_all = "kebab-case")]
pub enum ProficiencyFact {
    /// A row of a provider's table was taken in.
    Told(Box<Told>),
    /// Something was done about a score.
    Acted {
        /// The score.
        score: ScoreCode,
        /// What was found to be the cause.
        cause: String,
        /// What was done.
        action: String,
    },
    /// A person has looked whether it helped, and closed the matter.
    Closed {
        /// The score.
        score: ScoreCode,
        /// What shows that it helped.
        finding: String,
    },
}

/// A row of a provider's table. All values are in the unit of the quantity.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Told {
    /// The code of the score.
    pub score: ScoreCode,
    /// Who runs the rounds.
    pub provider: String,
    /// Which round.
    pub round: String,
    /// Its day.
    pub on: Date,
    /// The material.
    pub material: String,
    /// The method: one of the library by its name, or any other in words.
    pub method: String,
    /// What was reported, with its unit.
    pub quantity: String,
    /// What this laboratory reported.
    pub value: Decimal,
    /// The result that this is, where it is one of this laboratory's records.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub result: Option<ResultCode>,
    /// The assigned value.
    pub assigned: Decimal,
    /// Standard deviation for proficiency assessment.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sigma_pt: Option<Decimal>,
    /// Standard uncertainty of the value.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub uncertainty: Option<Decimal>,
    /// Expanded uncertainty of the value (k = 2).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub expanded: Option<Decimal>,
    /// Standard uncertainty of the assigned value.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub assigned_uncertainty: Option<Decimal>,
    /// Expanded uncertainty of the assigned value (k = 2).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub assigned_expanded: Option<Decimal>,
    /// Why it replaces what was taken in before, if it does.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub reason: String,
    /// The score that it replaces.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub replaces: Option<ScoreCode>,
}
