//! Experiments on how the loss follows a condition of the run.

use super::Noted;
use crate::code::{ExperimentCode, SampleCode, SpecimenCode};
use crate::fact::Condition;
use serde::Serialize;
use std::collections::BTreeMap;
use stonewear_measure::Decimal;
use stonewear_method::{Method, MethodId};

/// A specimen of a planned run.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct AssignedSpecimen {
    /// The specimen.
    pub specimen: SpecimenCode,
    /// Why it replaced another, if it did.
    pub reason: String,
}

/// One run of an experiment.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ExperimentRun {
    /// Its number in the order of the plan or the table, from 1.
    pub number: u32,
    /// The level, in the unit of the condition.
    pub level: Decimal,
    /// Its specimens, oldest first; the last one counts.
    pub specimens: Vec<Noted<AssignedSpecimen>>,
    /// The loss that a table gave, %.
    pub imported_percent: Option<Decimal>,
    /// Why it is left out of the fit, if it is.
    pub left_out: Option<Noted<String>>,
}

impl ExperimentRun {
    /// The specimen that counts.
    pub fn specimen(&self) -> Option<&SpecimenCode> {
        self.specimens.last().map(|one| &one.value.specimen)
    }
}

/// An experiment.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Experiment {
    /// Its code.
    pub code: ExperimentCode,
    /// What it is to tell.
    pub title: String,
    /// The condition that is varied.
    pub condition: Condition,
    /// The method.
    pub method: MethodId,
    /// Its grading.
    pub grading: String,
    /// The sample that all specimens are of, where one is named.
    pub sample: Option<SampleCode>,
    /// The levels, lowest first.
    pub levels: Vec<Decimal>,
    /// Runs at each level, where it was planned.
    pub replicates: Option<u32>,
    /// The seed that the order was drawn from, where it was planned.
    pub seed: Option<u32>,
    /// Where the figures are on record, where they came from a table.
    pub source: String,
    /// When it was planned or recorded, and by whom.
    pub begun: Noted<()>,
    /// Its runs, in the order of the plan or the table.
    pub runs: Vec<ExperimentRun>,
    /// The method as it is at each level: the one condition moved, all else as it stands.
    #[serde(skip)]
    pub(crate) rules: BTreeMap<Decimal, Method>,
}

impl Experiment {
    /// Whether its losses came from a table.
    pub fn is_imported(&self) -> bool {
        self.seed.is_none()
    }

    /// The run of this number.
    pub fn run(&self, number: u32) -> Option<&ExperimentRun> {
        self.runs.iter().find(|run| run.number == number)
    }

    /// What doubts and reports call it.
    pub fn name(&self) -> String {
        format!("experiment {}, {}", self.code, self.title)
    }
}
