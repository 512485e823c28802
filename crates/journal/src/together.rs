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
const AT_ONCE: usize = 64 << 10;

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
        // What has been read is read into again: fresh memory costs more than reading does.
        let mut spare = Vec::<Part<T>>::new();
        let mut part = Part::default();
        let mut away = VecDeque::<Receiver<Part<T>>>::new();
        let outcome = store.read_from(walk.chain.next(), &mut |raw| {
            part.push(raw);
            if part.bytes.len() < AT_ONCE {
                return ControlFlow::Continue(());
            }
            let mut full = std::mem::replace(&mut part, spare.pop().unwrap_or_default());
            let (done, back) = sync_channel(1);
            scope.spawn(move |_| {
                full.read(make);
                hand_back(&done, full);
            });
            away.push_back(back);
            // What is made waits in memory until it is its turn.
            if away.len() < most {
                return ControlFlow::Continue(());
            }
            walk.on_with(away.pop_front(), &mut spare)
        });
        while !walk.is_over() && !away.is_empty() {
            let _ = walk.on_with(away.pop_front(), &mut spare);
        }
        if !walk.is_over() {
            part.read(make);
            let _ = walk.on(&mut part);
        }
        outcome
    });
    ended(&walk.chain, after, outcome, walk.broken, walk.stopped)
}

/// Nobody waits for what was made behind a place where the chain broke.
fn hand_back<T>(to: &SyncSender<Part<T>>, part: Part<T>) {
    let _ = to.send(part);
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

    fn on_with(
        &mut self,
        back: Option<Receiver<Part<T>>>,
        spare: &mut Vec<Part<T>>,
    ) -> ControlFlow<()> {
        // What does not come back panicked; so does whoever waits for the scope.
        let Some(mut part) = back.and_then(|back| back.recv().ok()) else {
            return ControlFlow::Break(());
        };
        let flow = self.on(&mut part);
        part.empty();
        spare.push(part);
        flow
    }

    fn on(&mut self, part: &mut Part<T>) -> ControlFlow<()> {
        for made in part.made.drain(..) {
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

/// Entries as the store holds them, one behind the other; and what was made of them.
struct Part<T> {
    bytes: Vec<u8>,
    entries: Vec<Held>,
    made: Vec<Made<T>>,
}

impl<T> Default for Part<T> {
    fn default() -> Self {
        Self { bytes: Vec::new(), entries: Vec::new(), made: Vec::new() }
    }
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

impl<T> Part<T> {
    fn push(&mut self, raw: RawEntry<'_>) {
        let mut put = |bytes: &[u8]| {
            let from = self.bytes.len();
            self.bytes.extend_from_slice(bytes);
            from..self.bytes.len()
        };
        let (request, canonical) = (put(raw.request.as_bytes()), put(raw.bytes));
        self.entries.push(Held { position: raw.position, hash: raw.hash, request, canonical });
    }

    fn empty(&mut self) {
        self.bytes.clear();
        self.entries.clear();
        self.made.clear();
    }

    fn read(&mut self, make: &(dyn Fn(&EntryRef<'_>) -> T + Sync)) {
        let read = |held: &Held| {
            let bytes = &self.bytes[held.canonical.clone()];
            let stated = held.position;
            let nothing = Head { position: held.position, hash: held.hash };
            let fields = match read(held.hash, bytes) {
                Ok(fields) => fields,
                Err(fault) => {
                    let previous = Hash::GENESIS;
                    return Made { stated, head: nothing, previous, made: Err(fault), late: None };
                }
            };
            let (head, previous) = (Head { position: fields.position, ..nothing }, fields.previous);
            let mut late = fields.not_an_object();
            let entry = fields.into_entry(held.hash, bytes);
            if entry.request.as_bytes() != &self.bytes[held.request.clone()] {
                late = late.or(Some(Fault::Request));
            }
            Made { stated, head, previous, made: Ok(make(&entry)), late }
        };
        self.made.extend(self.entries.iter().map(read));
    }
}
