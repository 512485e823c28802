//! What was worked out from the facts so far, kept until the next one: it takes milliseconds in a
//! laboratory of ten years, and every page asks for it.
//!
//! It adds nothing to the laboratory: one that has worked nothing out yet is the same laboratory. So
//! it is in no comparison and in no file, and a copy begins without it.

use crate::charge::ChargeRecord;
use crate::code::{ItemCode, LotCode};
use crate::control::{Known, Owed};
use crate::due::Due;
use std::collections::BTreeMap;
use std::fmt;
use std::sync::{Arc, Mutex, PoisonError};

/// Everything that is kept until the next fact.
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
