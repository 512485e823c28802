//! What happened in a round between laboratories that is organised from here.

use super::Deviation;
use crate::code::{ParticipantCode, ResultCode, RoundCode};
use jiff::civil::Date;
use serde::{Deserialize, Serialize};
use stonewear_measure::Decimal;

/// A step of a round. In JSON it carries its name as `step`.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "step", rename_all = "kebab-case")]
pub enum RoundFact {
    /// A round is planned.
    Planned(Box<RoundPlan>),
    /// A laboratory takes part.
    Joined(Joining),
    /// Some of the split samples were tested for homogeneity.
    HomogeneityTested(HomogeneityTest),
    /// Results of participants were taken in.
    ResultsTakenIn(ResultsTakenIn),
    /// A person decided whether a participant's results of one material count for precision.
    CellJudged(CellJudged),
    /// The round has ended.
    Closed(Box<RoundClosing>),
    /// It goes on after all.
    Reopened {
        /// The round.
        round: RoundCode,
        /// Why.
        reason: String,
    },
}

/// What is planned.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct RoundPlan {
    /// The round.
    pub round: RoundCode,
    /// What people call it.
    pub title: String,
    /// The test method: one of the library by its name, or any other in words.
    pub method: String,
    /// What is reported, with its unit: `loss, %`.
    pub quantity: String,
    /// The materials, in order.
    pub materials: Vec<RoundMaterial>,
    /// How many results each participant gives of a material.
    pub replicates: u32,
    /// Until when results are taken.
    pub closes_on: Date,
    /// The seed from which the codes of participants are drawn.
    pub seed: u64,
    /// What the instructions say beside the usual.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub instructions: String,
}

/// One material of a round.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct RoundMaterial {
    /// Its name on bags and forms.
    pub name: String,
    /// What is in the bag.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub description: String,
    /// Standard deviation for proficiency assessment, in the unit of the quantity, where it is
    /// given and not taken from the results.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sigma_pt: Option<Decimal>,
}

/// A laboratory that takes part.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Joining {
    /// The round.
    pub round: RoundCode,
    /// The code under which it takes part.
    pub participant: ParticipantCode,
    /// Its name.
    pub laboratory: String,
    /// Whom to write to.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub contact: String,
    /// Whether it is this laboratory itself.
    #[serde(default)]
    pub ours: bool,
}

/// A test of some of the split samples.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct HomogeneityTest {
    /// The round.
    pub round: RoundCode,
    /// What was found.
    pub values: Vec<BagValue>,
    /// Why it replaces an earlier test, if it does.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub reason: String,
}

/// One result of one bag.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct BagValue {
    /// Which material.
    pub material: String,
    /// Which bag.
    pub bag: String,
    /// The result.
    pub value: Decimal,
}

/// Results as they were sent.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ResultsTakenIn {
    /// The round.
    pub round: RoundCode,
    /// The results.
    pub values: Vec<RoundValue>,
    /// Where they come from: a file, a letter, a report.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub source: String,
    /// Departures that somebody answers for: too late, or in place of an earlier value.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub deviations: Vec<Deviation>,
}

/// One result of a participant.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct RoundValue {
    /// Whose.
    pub participant: ParticipantCode,
    /// Of which material.
    pub material: String,
    /// Which of its replicates, from 1.
    pub replicate: u32,
    /// The result.
    pub value: Decimal,
    /// The result of this laboratory that it is, where it takes part itself.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub result: Option<ResultCode>,
}

/// Whether the results of a participant for a material count for precision.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct CellJudged {
    /// The round.
    pub round: RoundCode,
    /// Whose.
    pub participant: ParticipantCode,
    /// Of which material.
    pub material: String,
    /// Whether they are left out.
    pub left_out: bool,
    /// Why.
    pub reason: String,
}

/// The end of a round, with the figures that its reports give.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct RoundClosing {
    /// The round.
    pub round: RoundCode,
    /// Anything that the reports should say.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub remark: String,
    /// The figures, material by material.
    pub figures: Vec<RoundFigures>,
}

/// What a round found of one material; six significant figures, absent where it is not defined.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct RoundFigures {
    /// The material.
    pub material: String,
    /// Laboratories that count for precision.
    pub laboratories: u32,
    /// General mean.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mean: Option<Decimal>,
    /// Repeatability standard deviation.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub s_r: Option<Decimal>,
    /// Reproducibility standard deviation.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub s_reproducibility: Option<Decimal>,
    /// Assigned value.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub assigned: Option<Decimal>,
    /// Its standard uncertainty.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub assigned_uncertainty: Option<Decimal>,
    /// Standard deviation for proficiency assessment.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sigma_pt: Option<Decimal>,
}
