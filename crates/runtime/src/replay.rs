//! Folding a journal into a laboratory, up to the first entry that cannot be trusted.

use jiff::Timestamp;
use std::fmt;
use std::ops::ControlFlow;
use stonewear_journal::{Break, EntryRef, Fault, Head, Store, StoreError};
use stonewear_lab::{Fact, Lab, PersonCode, Recorded};

/// Where a journal is damaged, and how. What comes before that place is still shown.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Damage {
    /// The entry that cannot be trusted.
    pub position: u64,
    /// What is wrong, in words that name the place.
    pub what: String,
}

impl fmt::Display for Damage {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.what)
    }
}

/// What a journal folds into.
#[derive(Debug)]
pub(crate) struct Replayed {
    pub(crate) lab: Lab,
    pub(crate) head: Head,
    pub(crate) last_at: Option<Timestamp>,
    pub(crate) damage: Option<Damage>,
}

/// Verifies and folds a whole journal in one pass, and holds it against ends that were noted beside
/// it: whatever stood there must still stand there.
pub(crate) fn replay(store: &dyn Store, noted: &[Head]) -> Result<Replayed, StoreError> {
    let mut lab = Lab::new();
    let mut last_at = None;
    let mut unreadable = None;
    let mut witnesses = Witnesses::new(noted);
    let verification = stonewear_journal::replay_read(
        store,
        Head::GENESIS,
        &recorded,
        &mut |head, read| match read {
            Ok(recorded) => {
                witnesses.hear(head);
                last_at = Some(recorded.at);
                lab.apply(&recorded);
                ControlFlow::Continue(())
            }
            Err(error) => {
                let what = format!(
                    "entry {}: the fact is of a kind that this version of the program does not know ({error}); \
                     use a later version",
                    head.position
                );
                unreadable = Some(Damage { position: head.position, what });
                ControlFlow::Break(())
            }
        },
    )?;
    let broken = verification.broken.clone();
    let broken = broken.or_else(|| witnesses.against(verification.head));
    let broken = broken
        .as_ref()
        .map(|broken| Damage { position: broken.position, what: broken.to_string() });
    Ok(Replayed { lab, head: verification.head, last_at, damage: unreadable.or(broken) })
}

/// Ends of the journal that were noted beside it, as it is read.
pub(crate) struct Witnesses<'a> {
    noted: &'a [Head],
    other: Option<u64>,
}

impl<'a> Witnesses<'a> {
    pub(crate) fn new(noted: &'a [Head]) -> Self {
        Self { noted, other: None }
    }

    /// Compares an entry with what was noted of its place.
    pub(crate) fn hear(&mut self, entry: Head) {
        let is_other = |head: &Head| head.position == entry.position && head.hash != entry.hash;
        if self.other.is_none() && self.noted.iter().any(is_other) {
            self.other = Some(entry.position);
        }
    }

    /// What speaks against a journal whose chain holds and that ends here.
    pub(crate) fn against(&self, end: Head) -> Option<Break> {
        if let Some(position) = self.other {
            return Some(Break { position, line: None, fault: Fault::HeadHash });
        }
        let until = self.noted.iter().map(|head| head.position).max()?;
        let from = end.position + 1;
        let fault = Fault::CutOff { from, until };
        (until >= from).then_some(Break { position: from, line: None, fault })
    }
}

/// An entry as the laboratory knows it.
pub(crate) fn recorded(entry: &EntryRef<'_>) -> Result<Recorded, serde_json::Error> {
    Ok(Recorded {
        position: entry.position,
        at: entry.at.timestamp(),
        by: PersonCode::from(entry.by.as_ref()),
        fact: Fact::read(entry.fact.get())?,
    })
}

/// The facts at these places in the journal.
pub(crate) fn facts_at(store: &dyn Store, positions: &[u64]) -> Result<Vec<Fact>, StoreError> {
    let Some((first, last)) = positions.first().zip(positions.last()) else {
        return Ok(Vec::new());
    };
    let mut facts = Vec::new();
    store.read_from(*first, &mut |raw| {
        if positions.contains(&raw.position) {
            let fact = serde_json::from_slice::<Envelope>(raw.bytes).map(|envelope| envelope.fact);
            facts.extend(fact);
        }
        if raw.position >= *last { ControlFlow::Break(()) } else { ControlFlow::Continue(()) }
    })?;
    Ok(facts)
}

#[derive(serde::Deserialize)]
struct Envelope {
    fact: Fact,
}

/// The hash of the entry at a place in the journal.
pub(crate) fn hash_at(store: &dyn Store, position: u64) -> Result<Option<String>, StoreError> {
    let mut hash = None;
    store.read_from(position, &mut |raw| {
        if raw.position == position {
            hash = Some(raw.hash.to_string());
        }
        ControlFlow::Break(())
    })?;
    Ok(hash)
}
