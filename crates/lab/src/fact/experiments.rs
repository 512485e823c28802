//! Experiments on how the loss follows a condition of the run.

use super::Condition;
use crate::code::{ExperimentCode, SampleCode, SpecimenCode};
use serde::{Deserialize, Serialize};
use stonewear_measure::Decimal;
use stonewear_method::MethodId;

/// An experiment was planned.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ExperimentPlanned {
    /// The experiment.
    pub experiment: ExperimentCode,
    /// What it is to tell.
    pub title: String,
    /// The condition that is varied.
    pub condition: Condition,
    /// The method.
    pub method: MethodId,
    /// Its grading.
    pub grading: String,
    /// The sample that all specimens are of, where one is named.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sample: Option<SampleCode>,
    /// The levels, lowest first, in the unit of the condition.
    pub levels: Vec<Decimal>,
    /// Runs at each level.
    pub replicates: u32,
    /// The seed that the order was drawn from.
    pub seed: u32,
    /// The level of each run, in the order in which they are to be run.
    pub runs: Vec<Decimal>,
}

/// A planned run was given its specimen.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ExperimentAssigned {
    /// The experiment.
    pub experiment: ExperimentCode,
    /// The run, from 1.
    pub run: u32,
    /// The specimen.
    pub specimen: SpecimenCode,
    /// Why it replaces another, if it does.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub reason: String,
}

/// A run was left out of the fit.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ExperimentRunLeftOut {
    /// The experiment.
    pub experiment: ExperimentCode,
    /// The run, from 1.
    pub run: u32,
    /// Why.
    pub reason: String,
}

/// One row of an experiment that was recorded from a table.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ImportedLoss {
    /// The level, in the unit of the condition.
    pub level: Decimal,
    /// The loss, %.
    pub loss_percent: Decimal,
}

/// An experiment was recorded from a table.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ExperimentImported {
    /// The experiment.
    pub experiment: ExperimentCode,
    /// What it is to tell.
    pub title: String,
    /// The condition that was varied.
    pub condition: Condition,
    /// The method.
    pub method: MethodId,
    /// Its grading.
    pub grading: String,
    /// Where the figures are on record.
    pub source: String,
    /// The rows, in the order of the table.
    pub rows: Vec<ImportedLoss>,
}

/// An experiment of the laboratory says how the loss follows a condition.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct SensitivityRecorded {
    /// The condition.
    pub condition: Condition,
    /// The method it holds for.
    pub method: MethodId,
    /// Percent of the loss per 1 % more revolutions or charge, or per 1 °C warmer water.
    pub percent_of_loss: Decimal,
    /// Its expanded uncertainty (k = 2), in the same unit.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub uncertainty: Option<Decimal>,
    /// The experiment: where its record is.
    pub experiment: String,
}
