//! The chain of custody of a sample: who had it, where it lay, what became of it.

use super::{Noted, Sample};
use crate::fact::{CustodyStep, Holder};
use serde::Serialize;

/// One step of the chain.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Custody {
    /// What became of the sample.
    pub step: CustodyStep,
    /// Who had it before.
    pub from: Holder,
    /// Who has it, or the part split off, now; absent where it stayed in the same hands.
    pub to: Option<Holder>,
    /// Where it is kept now; empty where nobody said.
    pub place: String,
    /// Its condition, where that was noted.
    pub condition: String,
    /// How it was split, why it was returned or disposed of, or anything worth keeping.
    pub note: String,
}

impl Sample {
    /// Who has it now; who disposed of it, where it is no more. What was split off is not it.
    pub fn holder(&self) -> Holder {
        let moved = self.custody.iter().rev().filter(|one| one.value.step != CustodyStep::Split);
        moved
            .filter_map(|one| one.value.to.clone())
            .next()
            .unwrap_or_else(|| Holder::Person(self.received.by.clone()))
    }

    /// Where it is kept now; empty where nobody said, or where it went on since.
    pub fn kept_at(&self) -> &str {
        let last = self.custody.iter().rev().find(|one| one.value.step != CustodyStep::Split);
        last.map_or(self.place.as_str(), |one| one.value.place.as_str())
    }

    /// The step with which it left the laboratory, if it did.
    pub fn gone(&self) -> Option<&Noted<Custody>> {
        self.custody.last().filter(|last| last.value.step.is_the_last())
    }
}
