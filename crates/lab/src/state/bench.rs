//! Runs: jars turning.

use super::Noted;
use crate::code::{ItemCode, RunCode, SpecimenCode};
use crate::fact::{Deviation, Placed};
use jiff::Timestamp;
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

/// How far jars turned in a run before it was interrupted.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Interruption {
    /// Revolutions shown, where the machine counts.
    pub revolutions: Option<Decimal>,
    /// Minutes that they turned since the run began or was resumed.
    pub minutes: Option<Decimal>,
    /// What happened.
    pub reason: String,
    /// When they turned again, and what the counter showed at that moment.
    pub resumed: Option<Noted<Decimal>>,
    /// When they turned again: when that was entered, where the entry waited on a tablet.
    pub turning_again: Option<Timestamp>,
}

/// What lay with one specimen, as it was recorded before it was corrected.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct RunCorrection {
    /// What lay with the specimen, as recorded before.
    pub placed: Placed,
    /// Temperature of the water, °C, as recorded before.
    pub water_c: Option<Decimal>,
    /// Why it was corrected.
    pub reason: String,
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
    /// What it was read with.
    pub thermometer: Option<ItemCode>,
    /// What lies where, as it is known now.
    pub placed: Vec<Placed>,
    /// What was recorded before and corrected, oldest first, noted by who corrected it.
    pub corrections: Vec<Noted<RunCorrection>>,
    /// When its start was recorded.
    pub started: Noted<()>,
    /// When the jars began to turn: when that was entered, where the entry waited on a tablet.
    pub turning_from: Timestamp,
    /// Where it was interrupted, oldest first.
    pub interruptions: Vec<Noted<Interruption>>,
    /// How it ended; count and minutes are those of the last turning, after any interruption.
    pub stopped: Option<Noted<Stopped>>,
    /// Ends that were recorded before and replaced, oldest first.
    pub former_ends: Vec<Noted<Stopped>>,
    /// Departures that somebody answers for.
    pub deviations: Vec<Noted<Deviation>>,
}

impl Run {
    /// Whether the jars stand although the run has not ended.
    pub fn is_interrupted(&self) -> bool {
        self.stopped.is_none()
            && self.interruptions.last().is_some_and(|one| one.value.resumed.is_none())
    }

    /// Since when the jars turn without a pause; `None` while they stand.
    pub fn turning_since(&self) -> Option<Timestamp> {
        if self.stopped.is_some() {
            return None;
        }
        match self.interruptions.last() {
            None => Some(self.turning_from),
            Some(last) => last.value.turning_again,
        }
    }

    /// What the counter showed when the jars last began to turn.
    fn counter_at_start(&self, turning: usize) -> Decimal {
        let before = turning.checked_sub(1).and_then(|before| self.interruptions.get(before));
        let resumed = before.and_then(|before| before.value.resumed.as_ref());
        resumed.map_or(Decimal::ZERO, |resumed| resumed.value)
    }

    /// Revolutions of all turnings that have ended so far; the counter may go on from one to the
    /// next or start again. `None` when one of them was not counted.
    pub fn revolutions_so_far(&self) -> Option<Decimal> {
        let shown = self.interruptions.iter().map(|one| one.value.revolutions);
        self.added(shown)
    }

    fn added(&self, shown: impl Iterator<Item = Option<Decimal>>) -> Option<Decimal> {
        shown.enumerate().try_fold(Decimal::ZERO, |sum, (turning, shown)| {
            sum.checked_add(shown?.checked_sub(self.counter_at_start(turning))?)
        })
    }

    /// The end of the run with count and minutes of all turnings together; `None` while it has
    /// not ended.
    pub fn in_all(&self) -> Option<Stopped> {
        let stopped = &self.stopped.as_ref()?.value;
        Some(self.with_end(stopped))
    }

    /// Count and minutes of all turnings together, if the last one ended like this.
    pub fn with_end(&self, last: &Stopped) -> Stopped {
        // A run that is ended while it is interrupted turned no further.
        let turned_on = self.interruptions.last().is_none_or(|one| one.value.resumed.is_some());
        let last_shown = turned_on.then_some(last.revolutions);
        let last_minutes = turned_on.then_some(last.minutes);
        let shown = self.interruptions.iter().map(|one| one.value.revolutions).chain(last_shown);
        let minutes = self.interruptions.iter().map(|one| one.value.minutes).chain(last_minutes);
        Stopped {
            revolutions: self.added(shown),
            minutes: minutes.into_iter().try_fold(Decimal::ZERO, |sum, one| sum.checked_add(one?)),
            reason: last.reason.clone(),
        }
    }

    /// What lies with a specimen.
    pub fn placed(&self, specimen: &SpecimenCode) -> Option<&Placed> {
        self.placed.iter().find(|placed| placed.specimen == *specimen)
    }
}
