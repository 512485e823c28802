//! A round between laboratories as it stands.

use super::Noted;
use crate::code::{ParticipantCode, RoundCode};
use crate::fact::Deviation;
use crate::fact::round::{
    CellJudged, HomogeneityTest, Joining, RoundClosing, RoundMaterial, RoundPlan, RoundValue,
};
use jiff::civil::Date;
use serde::Serialize;
use std::collections::BTreeMap;

/// A round.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Round {
    /// What was planned.
    pub plan: Noted<RoundPlan>,
    /// Who takes part, by code.
    pub participants: BTreeMap<ParticipantCode, Noted<Joining>>,
    /// Tests of homogeneity, oldest first; the last one counts.
    pub homogeneity: Vec<Noted<HomogeneityTest>>,
    /// Every result as it was taken in, oldest first; of one replicate the last one counts.
    pub values: Vec<Noted<TakenIn>>,
    /// Departures in taking results in.
    pub deviations: Vec<Noted<Deviation>>,
    /// Decisions about what counts for precision, oldest first.
    pub judged: Vec<Noted<CellJudged>>,
    /// Its ends, and why it went on after them, oldest first.
    pub ends: Vec<Noted<RoundEnd>>,
}

/// A result and where it came from.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct TakenIn {
    /// The result.
    pub value: RoundValue,
    /// A file, a letter, a report.
    pub source: String,
}

/// An end of a round, or that it goes on.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub enum RoundEnd {
    /// It ended.
    Closed(RoundClosing),
    /// It goes on, for this reason.
    Reopened(String),
}

impl Round {
    /// A round that was just planned.
    pub(crate) fn new(plan: Noted<RoundPlan>) -> Self {
        Self {
            plan,
            participants: BTreeMap::new(),
            homogeneity: Vec::new(),
            values: Vec::new(),
            deviations: Vec::new(),
            judged: Vec::new(),
            ends: Vec::new(),
        }
    }

    /// Its code.
    pub fn code(&self) -> &RoundCode {
        &self.plan.value.round
    }

    /// Its materials, in order.
    pub fn materials(&self) -> &[RoundMaterial] {
        &self.plan.value.materials
    }

    /// The material with this name, whatever its capitals.
    pub fn material(&self, typed: &str) -> Option<&RoundMaterial> {
        self.materials().iter().find(|known| known.name.eq_ignore_ascii_case(typed.trim()))
    }

    /// The participant that is this laboratory itself.
    pub fn ours(&self) -> Option<&Joining> {
        self.participants.values().map(|joined| &joined.value).find(|joined| joined.ours)
    }

    /// The results that count, by participant, material and replicate.
    pub fn current(&self) -> BTreeMap<(&str, &str, u32), &Noted<TakenIn>> {
        let mut current = BTreeMap::new();
        for taken in &self.values {
            let RoundValue { participant, material, replicate, .. } = &taken.value.value;
            current.insert((participant.as_str(), material.as_str(), *replicate), taken);
        }
        current
    }

    /// Why the results of a participant for a material are left out of precision, if they are.
    pub fn left_out(&self, participant: &str, material: &str) -> Option<&Noted<CellJudged>> {
        let last = self.judged.iter().rev().find(|judged| {
            judged.value.participant.as_str() == participant && judged.value.material == material
        });
        last.filter(|judged| judged.value.left_out)
    }

    /// Its end, if it has ended.
    pub fn closed(&self) -> Option<Noted<&RoundClosing>> {
        let last = self.ends.last()?;
        let RoundEnd::Closed(closing) = &last.value else { return None };
        Some(Noted { value: closing, at: last.at, by: last.by.clone(), position: last.position })
    }

    /// How many of the results that are wanted have come, and how many are wanted.
    pub fn progress(&self) -> (usize, usize) {
        let each = self.materials().len() * self.plan.value.replicates as usize;
        (self.current().len(), self.participants.len() * each)
    }

    /// Where it stands on a day, in words.
    pub fn standing(&self, today: Date) -> String {
        let (come, wanted) = self.progress();
        let closes = self.plan.value.closes_on;
        if self.closed().is_some() {
            "closed".to_owned()
        } else if today > closes {
            format!("was to close on {closes}: {come} of {wanted} results have come")
        } else {
            format!("open until {closes}: {come} of {wanted} results have come")
        }
    }
}
