//! Runs: jars turning.

use super::Noted;
use crate::code::{ItemCode, RunCode, SpecimenCode};
use crate::fact::{Deviation, Placed};
use serde::Serialize;
use stonewear_measure::Decimal;
use stonewear_procedure::apparatus::Control;

/// How a run ended.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Stopped {
    /// Revolutions shown, where the machine counts.
    pub revolutions: Option<Decimal>,
    /// Minutes that it turned.
    pub minutes: Option<Decimal>,
    /// Why it replaces an end that was recorded before, if it does.
    pub reason: String,
}

impl Stopped {
    /// Mean speed, revolutions per minute to one decimal, where both are known.
    pub fn rpm(&self) -> Option<Decimal> {
        let speed = self.revolutions?.checked_div(self.minutes?)?;
        Some(speed.round_dp(1))
    }
}

/// One turning of jars.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Run {
    /// Its code.
    pub code: RunCode,
    /// In which apparatus.
    pub apparatus: ItemCode,
    /// What makes it end.
    pub ended_by: Control,
    /// The count that is wanted.
    pub revolutions_wanted: Decimal,
    /// Temperature of the water, °C.
    pub water_c: Option<Decimal>,
    /// What lies where.
    pub placed: Vec<Placed>,
    /// When it started.
    pub started: Noted<()>,
    /// How it ended.
    pub stopped: Option<Noted<Stopped>>,
    /// Ends that were recorded before and replaced, oldest first.
    pub former_ends: Vec<Noted<Stopped>>,
    /// Departures that somebody answers for.
    pub deviations: Vec<Noted<Deviation>>,
}

impl Run {
    /// What lies with a specimen.
    pub fn placed(&self, specimen: &SpecimenCode) -> Option<&Placed> {
        self.placed.iter().find(|placed| placed.specimen == *specimen)
    }
}
