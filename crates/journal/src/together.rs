//! Reading a store on all cores: what can be said of an entry alone is found out away from the thread that
//! reads, and only the chain is walked in order.

use crate::chain::{Chain, Fault, read};
use crate::entry::EntryRef;
use crate::hash::Hash;
use crate::store::{Head, RawEntry, Store, StoreError};
use crate::verify::{Verification, ended};
use std::collections::VecDeque;
use std::ops::{ControlFlow, Range};
use std::sync::mpsc::{Receiver, SyncSender, sync_channel};

/// Bytes of entries that are handed to another core at once. A journal that is not larger is read by one.
const AT_ONCE: usize = 256 << 10;

/// Like [`crate::replay`], for what takes long to read: `make` is asked on any core and in any order what an
/// entry is; what it made is handed on to `visit` in order, with the place and the hash of the entry, once
/// the chain was found right up to there. `make` may be asked for entries that no `visit` sees, behind a
/// place where the chain breaks.
///
/// # Errors
/// The store's own troubles; damage is no error but a [`crate::Break`].
pub fn replay_read<T: Send>(
    store: &(impl Store + ?Sized),
    after: Head,
    make: &(dyn Fn(&EntryRef<'_>) -> T + Sync),
    visit: &mut dyn FnMut(Head, T) -> ControlFlow<()>,
) -> Result<Verification, StoreError> {
    let mut walk = Walk { chain: Chain::behind(after), visit, broken: None, stopped: false };
    let most = 2 * rayon::current_num_threads();
    let outcome = rayon::in_place_scope(|scope| {
        let mut batch = Batch::default();
        let mut away = VecDeque::<Receiver<Vec<Made<T>>>>::new();
        let outcome = store.read_from(walk.chain.next(), &mut |raw| {
            batch.push(raw);
            if batch.bytes.len() < AT_ONCE {
                return ControlFlow::Continue(());
            }
            let full = std::mem::take(&mut batch);
            let (made, back) = sync_channel(1);
            scope.spawn(move |_| hand_back(&made, full.read(make)));
            away.push_back(back);
            // What is made waits in memory until it is its turn.
            if away.len() < most {
                ControlFlow::Continue(())
            } else {
                walk.on_with(away.pop_front())
            }
        });
        while !walk.is_over() && !away.is_empty() {
            let _ = walk.on_with(away.pop_front());
        }
        if !walk.is_over() {
            let _ = walk.on(batch.read(make));
        }
        outcome
    });
    ended(&walk.chain, after, outcome, walk.broken, walk.stopped)
}

/// Nobody waits for what was made behind a place where the chain broke.
fn hand_back<T>(to: &SyncSender<Vec<Made<T>>>, made: Vec<Made<T>>) {
    let _ = to.send(made);
}

/// The walk along the chain.
struct Walk<'a, T> {
    chain: Chain,
    visit: &'a mut dyn FnMut(Head, T) -> ControlFlow<()>,
    broken: Option<(u64, Fault)>,
    stopped: bool,
}

impl<T> Walk<'_, T> {
    fn is_over(&self) -> bool {
        self.stopped || self.broken.is_some()
    }

    fn on_with(&mut self, back: Option<Receiver<Vec<Made<T>>>>) -> ControlFlow<()> {
        match back.and_then(|back| back.recv().ok()) {
            Some(made) => self.on(made),
            // It panicked; so does whoever waits for the scope.
            None => ControlFlow::Break(()),
        }
    }

    fn on(&mut self, all: Vec<Made<T>>) -> ControlFlow<()> {
        for made in all {
            let Made { stated, head, previous, made, late } = made;
            let before = self.chain.head();
            let checked = self
                .chain
                .expect(stated)
                .and(made)
                .and_then(|made| self.chain.link(head, previous).map(|()| made))
                .and_then(|made| late.map_or(Ok(made), Err));
            match checked {
                Ok(made) => {
                    if (self.visit)(head, made).is_break() {
                        self.stopped = true;
                        return ControlFlow::Break(());
                    }
                }
                Err(fault) => {
                    self.chain = Chain::behind(before);
                    self.broken = Some((self.chain.next(), fault));
                    return ControlFlow::Break(());
                }
            }
        }
        ControlFlow::Continue(())
    }
}

/// Entries as the store holds them, one behind the other.
#[derive(Default)]
struct Batch {
    bytes: Vec<u8>,
    entries: Vec<Held>,
}

struct Held {
    position: u64,
    hash: Hash,
    request: Range<usize>,
    canonical: Range<usize>,
}

/// What was found out about an entry alone.
struct Made<T> {
    /// Where the store holds it.
    stated: u64,
    /// Its place by its own text, and its hash.
    head: Head,
    previous: Hash,
    /// What was made of it, or why it is no entry.
    made: Result<T, Fault>,
    /// What is wrong although the chain may hold.
    late: Option<Fault>,
}

impl Batch {
    fn push(&mut self, raw: RawEntry<'_>) {
        let mut put = |bytes: &[u8]| {
            let from = self.bytes.len();
            self.bytes.extend_from_slice(bytes);
            from..self.bytes.len()
        };
        let (request, canonical) = (put(raw.request.as_bytes()), put(raw.bytes));
        self.entries.push(Held { position: raw.position, hash: raw.hash, request, canonical });
    }

    fn read<T>(self, make: &(dyn Fn(&EntryRef<'_>) -> T + Sync)) -> Vec<Made<T>> {
        let made = |held: &Held| {
            let bytes = &self.bytes[held.canonical.clone()];
            let nothing = Head { position: held.position, hash: held.hash };
            let fields = match read(held.hash, bytes) {
                Ok(fields) => fields,
                Err(fault) => {
                    let (stated, previous) = (held.position, Hash::GENESIS);
                    return Made { stated, head: nothing, previous, made: Err(fault), late: None };
                }
            };
            let (head, previous) = (Head { position: fields.position, ..nothing }, fields.previous);
            let mut late = fields.not_an_object();
            let entry = fields.into_entry(held.hash, bytes);
            if entry.request.as_bytes() != &self.bytes[held.request.clone()] {
                late = late.or(Some(Fault::Request));
            }
            Made { stated: held.position, head, previous, made: Ok(make(&entry)), late }
        };
        self.entries.iter().map(made).collect()
    }
}
