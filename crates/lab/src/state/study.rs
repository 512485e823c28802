//! Designed studies: the plan, and what has come of its runs.

use super::Noted;
use crate::code::SpecimenCode;
use crate::fact::{Deviation, StudyConcluded, StudyPlanned};
use serde::Serialize;
use std::collections::BTreeMap;
use stonewear_measure::Decimal;

/// The specimen of a run of a plan.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct AssignedRun {
    /// The specimen.
    pub specimen: SpecimenCode,
    /// Why it replaced another, if it did.
    pub reason: String,
    /// Departures from the plan that somebody answers for.
    pub deviations: Vec<Noted<Deviation>>,
}

/// The value of a run, from a file.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ImportedRun {
    /// The value, in the unit of the study.
    pub value: Decimal,
    /// The document that it comes from.
    pub document: String,
    /// Why it replaced another, if it did.
    pub reason: String,
}

/// A designed study.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Study {
    /// What was planned, when, by whom.
    pub plan: Noted<StudyPlanned>,
    /// Specimens by run of the plan, of each the last one counts.
    pub assigned: BTreeMap<u32, Vec<Noted<AssignedRun>>>,
    /// Values from files by run of the plan, of each the last one counts.
    pub imported: BTreeMap<u32, Vec<Noted<ImportedRun>>>,
    /// What was concluded.
    pub concluded: Option<Noted<StudyConcluded>>,
}

impl Study {
    /// The specimen of a run.
    pub fn specimen_of(&self, run: u32) -> Option<&Noted<AssignedRun>> {
        self.assigned.get(&run).and_then(|all| all.last())
    }

    /// The value of a run that came from a file.
    pub fn imported_of(&self, run: u32) -> Option<&Noted<ImportedRun>> {
        self.imported.get(&run).and_then(|all| all.last())
    }

    /// Whether it still waits for runs or a conclusion.
    pub fn is_open(&self) -> bool {
        self.concluded.is_none()
    }

    /// Where it stands, in words.
    pub fn in_words(&self) -> &'static str {
        match &self.concluded {
            None => "open",
            Some(concluded) if concluded.value.withdrawn => "withdrawn",
            Some(_) => "concluded",
        }
    }
}
