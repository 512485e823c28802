//! What was worked out from the facts so far, kept until the next one: it takes milliseconds in a
//! laboratory of ten years, and every page asks for it.
//!
//! It adds nothing to the laboratory: one that has worked nothing out yet is the same laboratory. So
//! it is in no comparison and in no file, and a copy begins without it.

use crate::charge::ChargeRecord;
use crate::code::{ItemCode, LotCode};
use crate::control::{Known, Owed};
use crate::due::Due;
use crate::fact::{Fact, Placed};
use crate::state::Lab;
use std::collections::BTreeMap;
use std::fmt;
use std::sync::{Arc, Mutex, PoisonError};

/// Everything that is kept until the next fact; what is on record of a charge, until the next fact about it.
#[derive(Debug, Default)]
pub(crate) struct WorkedOut {
    /// The losses of a lot on an apparatus.
    pub(crate) losses: Kept<(LotCode, ItemCode), Vec<Known>>,
    /// The runs of reference aggregate that each apparatus owes, on whichever day.
    pub(crate) owed: Kept<(), Vec<Owed>>,
    /// What is on record of a ball charge.
    pub(crate) charges: Kept<ItemCode, Option<ChargeRecord>>,
    /// What falls due.
    pub(crate) due: Kept<(), Vec<Due>>,
}

impl Lab {
    /// The items that a fact tells something about which bears on a charge; `None` where it may be every one.
    fn charges_touched_by(&self, fact: &Fact) -> Option<Vec<ItemCode>> {
        let laid_in =
            |placed: &[Placed]| placed.iter().filter_map(|one| one.charge.clone()).collect();
        Some(match fact {
            Fact::SampleReceived { .. }
            | Fact::SampleHandedOver(_)
            | Fact::SpecimenBegun { .. }
            | Fact::MassWeighed { .. }
            | Fact::DryingWeighed(_)
            | Fact::SoakStarted { .. }
            | Fact::SievingRecorded(_)
            | Fact::CheckStarted { .. }
            | Fact::ResultWorkedOut { .. }
            | Fact::ResultRevised { .. }
            | Fact::ResultReleased { .. }
            | Fact::Paper(_)
            | Fact::FileAttached(_) => Vec::new(),
            Fact::StepObserved { check, .. } | Fact::CheckEnded { check, .. } => {
                self.checks.get(check).map(|check| check.item.clone()).into_iter().collect()
            }
            Fact::ChargeChanged(changed) => vec![changed.charge.clone()],
            Fact::RunStarted { placed, .. } => laid_in(placed),
            Fact::RunInterrupted { run, .. }
            | Fact::RunResumed { run, .. }
            | Fact::RunStopped { run, .. } => {
                laid_in(self.runs.get(run).map(|run| run.placed.as_slice()).unwrap_or_default())
            }
            _ => return None,
        })
    }

    /// Forgets of what was worked out whatever a fact may have changed.
    pub(crate) fn forget_what_changes(&mut self, fact: &Fact) {
        let touched = self.charges_touched_by(fact);
        let charges = std::mem::take(&mut self.worked_out).charges;
        if let Some(touched) = touched {
            self.worked_out.charges = charges;
            self.worked_out.charges.forget(&touched);
        }
    }
}

impl Clone for WorkedOut {
    fn clone(&self) -> Self {
        Self::default()
    }
}

impl PartialEq for WorkedOut {
    fn eq(&self, _: &Self) -> bool {
        true
    }
}

impl Eq for WorkedOut {}

/// Values by what they were asked for.
pub(crate) struct Kept<K, V>(Mutex<BTreeMap<K, Arc<V>>>);

impl<K: Ord, V> Kept<K, V> {
    /// The value for `key`, worked out when it is asked for the first time.
    pub(crate) fn get(&self, key: K, work_out: impl FnOnce() -> V) -> Arc<V> {
        // A holder that panicked had worked nothing out.
        let known = self.0.lock().unwrap_or_else(PoisonError::into_inner).get(&key).cloned();
        known.unwrap_or_else(|| {
            // Not under the lock: what is worked out may rest on other values of its kind.
            let value = Arc::new(work_out());
            let mut kept = self.0.lock().unwrap_or_else(PoisonError::into_inner);
            kept.entry(key).or_insert(value).clone()
        })
    }
}

impl<K: Ord, V> Kept<K, V> {
    fn forget(&mut self, keys: &[K]) {
        let kept = self.0.get_mut().unwrap_or_else(PoisonError::into_inner);
        keys.iter().for_each(|key| drop(kept.remove(key)));
    }
}

impl<K, V> Default for Kept<K, V> {
    fn default() -> Self {
        Self(Mutex::default())
    }
}

impl<K, V> fmt::Debug for Kept<K, V> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Kept")
    }
}

#[cfg(test)]
mod tests {
    use super::Kept;

    #[test]
    fn what_was_worked_out_is_not_worked_out_again() {
        let kept = Kept::<&str, usize>::default();
        assert_eq!(*kept.get("a", || 1), 1);
        assert_eq!(*kept.get("a", || panic!("worked out again")), 1);
        // One value may rest on another.
        assert_eq!(*kept.get("b", || *kept.get("c", || 2) + 1), 3);
    }
}
