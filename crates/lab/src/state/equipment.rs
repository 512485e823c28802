//! Equipment and its checks.

use super::Noted;
use crate::code::{CheckCode, ItemCode};
use crate::fact::{Seen, Standing};
use jiff::tz::TimeZone;
use jiff::{Timestamp, ToSpan};
use serde::{Serialize, Serializer};
use std::collections::BTreeMap;
use std::sync::Arc;
use stonewear_measure::Decimal;
use stonewear_procedure::{Apparatus, ItemKind, Procedure, Step};

/// Where an item was put, and why.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct StandingChange {
    /// Where it stands from then on.
    pub standing: Standing,
    /// Why.
    pub reason: String,
}

/// A piece of equipment with its history.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Item {
    /// The code marked on it.
    pub code: ItemCode,
    /// What it is.
    pub kind: ItemKind,
    /// What people call it.
    pub name: String,
    /// Who made it, and its number.
    pub maker_and_serial: String,
    /// Opening of a sieve, mm.
    pub opening_mm: Option<Decimal>,
    /// The smallest step that an instrument shows, in the unit that it reads.
    pub resolution: Option<Decimal>,
    /// How an apparatus is built.
    pub apparatus: Option<Apparatus>,
    /// Since when it is known.
    pub registered: Noted<()>,
    /// Every correction of how it is described: the reason, oldest first.
    pub corrections: Vec<Noted<String>>,
    /// Every change of its standing, oldest first.
    pub standings: Vec<Noted<StandingChange>>,
}

impl Item {
    /// Where it stands now.
    pub fn standing(&self) -> Standing {
        self.standings.last().map_or(Standing::BeingProved, |change| change.value.standing)
    }

    /// Where it stood when the fact at this place in the journal was recorded.
    pub fn standing_at(&self, position: u64) -> Standing {
        self.standings
            .iter()
            .rev()
            .find(|change| change.position < position)
            .map_or(Standing::BeingProved, |change| change.value.standing)
    }

    /// Since when it stands as it does.
    pub fn since(&self) -> Timestamp {
        self.standings.last().map_or(self.registered.at, |change| change.at)
    }
}

/// What was seen or read in a step.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Observation {
    /// The step.
    pub step: String,
    /// What was seen or read.
    pub seen: Seen,
    /// Whether it was as it must be.
    pub passed: bool,
    /// What a number was read with.
    pub instrument: Option<ItemCode>,
    /// Expanded uncertainty (k = 2) of the number, where the verdict was guarded with it.
    pub uncertainty: Option<Decimal>,
    /// Anything worth keeping.
    pub note: String,
    /// What was typed or printed for a mass, where that was not a number of grams; for a difference,
    /// the two readings.
    pub as_read: String,
    /// What it was corrected to later, and why; the first record stays.
    pub corrected: Option<Box<Noted<ObservationCorrection>>>,
}

/// What had really been seen or read.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ObservationCorrection {
    /// What had really been seen or read.
    pub seen: Seen,
    /// What was typed or printed for a mass, where that was not a number of grams; for a difference,
    /// the two readings.
    pub as_read: String,
    /// Whether it was as it must be.
    pub passed: bool,
    /// Why it was recorded otherwise.
    pub reason: String,
}

impl Observation {
    /// What was seen or read, as it is known now.
    pub fn known(&self) -> &Seen {
        self.corrected.as_ref().map_or(&self.seen, |corrected| &corrected.value.seen)
    }

    /// How it was read, as it is known now: as the balance printed it, or the two readings whose
    /// difference it is; empty where the number says all.
    pub fn known_as_read(&self) -> &str {
        self.corrected.as_ref().map_or(&self.as_read, |corrected| &corrected.value.as_read)
    }

    /// Whether it was as it must be, as it is known now.
    pub fn holds(&self) -> bool {
        self.corrected.as_ref().map_or(self.passed, |corrected| corrected.value.passed)
    }
}

/// How a check ended.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct CheckEnd {
    /// Whether the item passed.
    pub passed: bool,
    /// Why it was given up, if it was.
    pub reason: String,
}

/// How long a pass of a procedure is good for, and on what grounds.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct IntervalChange {
    /// Months.
    pub months: u32,
    /// On what grounds.
    pub reason: String,
}

/// One execution of a procedure on an item.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Check {
    /// Its code.
    pub code: CheckCode,
    /// The item.
    pub item: ItemCode,
    /// The procedure, as it is followed.
    #[serde(serialize_with = "shared")]
    pub procedure: Arc<Procedure>,
    /// When it began.
    pub started: Noted<()>,
    /// Every observation, in order; repeats stay.
    pub observations: Vec<Noted<Observation>>,
    /// How it ended.
    pub ended: Option<Noted<CheckEnd>>,
    /// The step to be done next, by its place in the procedure.
    pub(crate) next: usize,
}

/// What is shared is written as if it were not.
fn shared<T: Serialize, S: Serializer>(value: &Arc<T>, to: S) -> Result<S::Ok, S::Error> {
    value.as_ref().serialize(to)
}

/// What a check waits for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CheckState<'a> {
    /// This step is next.
    At(&'a Step),
    /// It has ended, passed or not.
    Ended {
        /// Whether the item passed.
        passed: bool,
    },
}

impl Check {
    /// What it waits for.
    pub fn state(&self) -> CheckState<'_> {
        match (&self.ended, self.procedure.steps.get(self.next)) {
            (Some(ended), _) => CheckState::Ended { passed: ended.value.passed },
            (None, Some(step)) => CheckState::At(step),
            (None, None) => CheckState::Ended { passed: true },
        }
    }

    /// Whether it has ended with the item passing.
    pub fn passed(&self) -> bool {
        self.ended.as_ref().is_some_and(|ended| ended.value.passed)
    }

    /// Whether its procedure is one of those that let an item into service.
    pub fn lets_into_service(&self) -> bool {
        self.procedure.needed_for_service || self.procedure.stands_for.is_some()
    }

    /// Until when it proves the item, if it was passed and a pass is good for so many months.
    pub(crate) fn good_for(&self, months: u32) -> Option<Timestamp> {
        let ended = self.ended.as_ref().filter(|ended| ended.value.passed)?;
        let months = i64::from(months);
        let due = ended.at.to_zoned_datetime(TimeZone::UTC).checked_add(months.months()).ok()?;
        Some(due.timestamp())
    }

    /// How many steps are behind it.
    pub fn steps_done(&self) -> usize {
        self.next.min(self.procedure.steps.len())
    }

    /// Whether a step lies behind the one that the check is at.
    pub fn is_passed(&self, step: &str) -> bool {
        self.procedure.steps.iter().take(self.next).any(|passed| passed.id == step)
    }

    /// The last observation of a step.
    pub fn last_observation(&self, step: &str) -> Option<&Noted<Observation>> {
        self.observations.iter().rev().find(|observation| observation.value.step == step)
    }

    /// The last observation of each step, by the step's name.
    pub fn latest(&self) -> BTreeMap<&str, &Noted<Observation>> {
        self.observations.iter().map(|seen| (seen.value.step.as_str(), seen)).collect()
    }
}
