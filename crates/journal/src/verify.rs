//! Reading a store from one end to the other, checking as it goes.

use crate::chain::{Chain, Fault, read};
use crate::entry::EntryRef;
use crate::store::{Head, RawEntry, Store, StoreError};
use crate::together::replay_read;
use std::fmt;
use std::ops::ControlFlow;

/// What came of reading a journal or an export.
#[derive(Debug, Clone, PartialEq, Eq)]
#[must_use]
pub struct Verification {
    /// How many facts were read and found right.
    pub facts: u64,
    /// The last of them.
    pub head: Head,
    /// Where and how the chain breaks; nothing behind that place was read.
    pub broken: Option<Break>,
}

/// The first place where a journal is not what was written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Break {
    /// The position where it breaks.
    pub position: u64,
    /// The line, from 1, if an export was read.
    pub line: Option<u64>,
    /// What is wrong there.
    pub fault: Fault,
}

impl fmt::Display for Break {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.line {
            Some(line) => write!(f, "line {line}, entry {}: {}", self.position, self.fault),
            None => write!(f, "entry {}: {}", self.position, self.fault),
        }
    }
}

impl Verification {
    /// Whether everything that was read is what was written.
    pub fn intact(&self) -> bool {
        self.broken.is_none()
    }

    /// The position where the chain breaks.
    pub fn broken_at(&self) -> Option<u64> {
        self.broken.as_ref().map(|broken| broken.position)
    }

    /// In words, where and how the chain breaks.
    pub fn what(&self) -> Option<String> {
        self.broken.as_ref().map(ToString::to_string)
    }
}

/// Reads the entries behind `after` ([`Head::GENESIS`] for all) and hands each on to `visit` once
/// it is found right, until `visit` breaks, the chain breaks or the journal ends.
///
/// A journal that was read to its end must also end where its own record says; so a tail that was
/// cut off is found. When `visit` breaks, the verification tells of what was read until then.
///
/// # Errors
/// The store's own troubles; damage is no error but a [`Break`].
pub fn replay(
    store: &(impl Store + ?Sized),
    after: Head,
    visit: &mut dyn FnMut(EntryRef<'_>) -> ControlFlow<()>,
) -> Result<Verification, StoreError> {
    let mut chain = Chain::behind(after);
    let mut stopped = false;
    let mut broken = None;
    let outcome = store.read_from(chain.next(), &mut |raw| match check(&mut chain, raw) {
        Ok(entry) => {
            let flow = visit(entry);
            stopped = flow.is_break();
            flow
        }
        Err(fault) => {
            broken = Some((chain.next(), fault));
            ControlFlow::Break(())
        }
    });
    ended(&chain, after, outcome, broken, stopped)
}

/// What came of it, once the store was read as far as it was wanted.
pub(crate) fn ended(
    chain: &Chain,
    after: Head,
    outcome: Result<Head, StoreError>,
    mut broken: Option<(u64, Fault)>,
    stopped: bool,
) -> Result<Verification, StoreError> {
    if broken.is_none() && !stopped {
        broken = match outcome {
            Ok(record) => chain.ends_at(record).err(),
            Err(StoreError::Damaged(what)) => Some((chain.next(), Fault::Unreadable(what))),
            Err(error) => return Err(error),
        };
    }
    Ok(Verification {
        facts: chain.head().position - after.position,
        head: chain.head(),
        broken: broken.map(|(position, fault)| Break { position, line: None, fault }),
    })
}

fn check<'a>(chain: &mut Chain, raw: RawEntry<'a>) -> Result<EntryRef<'a>, Fault> {
    chain.expect(raw.position)?;
    let before = chain.head();
    let entry = chain.step(read(raw.hash, raw.bytes)?, raw.hash, raw.bytes)?;
    if entry.request != raw.request {
        *chain = Chain::behind(before);
        return Err(Fault::Request);
    }
    Ok(entry)
}

/// Reads a whole journal and says whether it is what was written: any changed byte, any missing,
/// moved, doubled or added entry, a cut tail, a wrong record of the end is found and named.
///
/// # Errors
/// The store's own troubles; damage is no error but a [`Break`].
pub fn verify(store: &(impl Store + ?Sized)) -> Result<Verification, StoreError> {
    replay_read(store, Head::GENESIS, &|_| (), &mut |_, ()| ControlFlow::Continue(()))
}
