//! Carrying a journal between the file of a laboratory and a database: with the one, a laboratory goes on
//! while the line is down; with the other, it is seen by its network.
//!
//! Only what is missing is carried, and only behind the very entries that it was written behind. Whoever
//! carries again, after a line was cut or a program was killed, goes on where it ended.

use crate::end::EndNote;
use crate::error::OpenError;
use crate::folder::Folder;
use crate::place::{Place, SharedDatabase};
use crate::replay::{self, Replayed};
use crate::results::{self, Rows};
use crate::store::AnyStore;
use crate::view::noted;
use std::collections::BTreeMap;
use std::ops::ControlFlow;
use std::path::Path;
use stonewear_journal::postgres::PostgresStore;
use stonewear_journal::{Draft, Hash, Head, Store, StoreError};
use stonewear_lab::state::KeptFile;
use stonewear_lab::{Lab, Recorded};

/// What was carried.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Carried {
    /// How many facts were carried now.
    pub facts: u64,
    /// Where the receiving journal ends now.
    pub head: Head,
    /// How many files that facts name were carried now.
    pub files: usize,
    /// Files that facts name and that are missing or changed where they were to be carried from, in words.
    pub lacking: Vec<String>,
    /// How many facts the receiving journal has that the other has not: to be carried the other way.
    pub beyond: u64,
}

/// Why a journal was not carried, or not to its end.
#[derive(Debug, thiserror::Error)]
pub enum CarryError {
    /// One of the two cannot be opened.
    #[error(transparent)]
    Open(#[from] OpenError),
    /// One of the two is not what was written.
    #[error("nothing was carried: {which} is damaged: {what}")]
    Damaged {
        /// Which.
        which: String,
        /// Where and how.
        what: String,
    },
    /// They are journals of two laboratories.
    #[error(
        "nothing was carried: {from} begins with {from_hash} and {to} with {to_hash}, so they are journals of \
         two laboratories; name another laboratory"
    )]
    Strangers {
        /// Where it was to be carried from.
        from: String,
        /// The hash of its first entry.
        from_hash: Hash,
        /// Where to.
        to: String,
        /// The hash of its first entry.
        to_hash: Hash,
    },
    /// Both went on from the same entry, each with another.
    #[error(
        "nothing was carried: the two went on differently. Up to entry {} they are the same; entry {position} \
         is {from_hash} in {from} and {to_hash} in {to}. Keep both as they are, find out who recorded where, \
         take one as the laboratory's journal, and enter in it again what only the other has",
        position - 1
    )]
    Fork {
        /// The first entry that differs.
        position: u64,
        /// Where it was to be carried from.
        from: String,
        /// The hash of the entry there.
        from_hash: Hash,
        /// Where to.
        to: String,
        /// The hash of the entry there.
        to_hash: Hash,
    },
    /// It broke off.
    #[error(
        "{done} facts were carried, then it broke off: {source}; carry again, and it goes on there"
    )]
    BrokenOff {
        /// How many facts were carried before.
        done: u64,
        /// Why.
        source: StoreError,
    },
}

impl From<StoreError> for CarryError {
    fn from(error: StoreError) -> Self {
        Self::Open(error.into())
    }
}

/// One of the two journals: opened, read through and found right.
struct Side {
    store: AnyStore,
    read: Replayed,
    name: String,
}

impl Side {
    fn read(store: AnyStore, noted: &[Head], name: String) -> Result<Self, CarryError> {
        let read = replay::replay(&store, noted)?;
        match &read.damage {
            None => Ok(Self { store, read, name }),
            Some(damage) => Err(CarryError::Damaged { which: name, what: damage.to_string() }),
        }
    }

    fn hash_at(&self, position: u64) -> Result<Hash, CarryError> {
        let hash = replay::hash_at(&self.store, position)?.and_then(|hash| hash.parse().ok());
        hash.ok_or_else(|| CarryError::Damaged {
            which: self.name.clone(),
            what: format!("entry {position} cannot be read any longer"),
        })
    }
}

/// Carries what the database lacks from the journal in a folder, `batch` facts at a time; also while
/// another program works with the folder.
///
/// # Errors
/// When one of the two cannot be opened or is damaged, they went on differently, or it broke off.
pub fn push(dir: &Path, to: &SharedDatabase, batch: usize) -> Result<Carried, CarryError> {
    let place = Place::from(dir);
    let ends = noted(&place);
    let from = Side::read(AnyStore::open_read_only(&place)?, &ends, place.to_string())?;
    let store = AnyStore::Database(PostgresStore::open(&to.address, &to.laboratory)?);
    let to = Side::read(store, &[], to.to_string())?;
    carry(&from, to, batch)
}

/// Carries what the journal in a folder lacks from the database, `batch` facts at a time. The folder may be
/// empty or not there.
///
/// # Errors
/// As [`push`]; and when another program works with the folder.
pub fn pull(dir: &Path, from: &SharedDatabase, batch: usize) -> Result<Carried, CarryError> {
    let folder = Folder::new(dir);
    folder.create()?;
    let lock = folder.lock()?;
    let place = Place::from(dir);
    let ends = noted(&place);
    let (store, is_only_readable) = AnyStore::open(&place, lock.is_some())?;
    if is_only_readable {
        return Err(StoreError::ReadOnly.into());
    }
    let to = Side::read(store, &ends, place.to_string())?;
    let place = Place::in_database(dir, from.clone());
    let from = Side::read(AnyStore::open_read_only(&place)?, &[], from.to_string())?;
    let carried = carry(&from, to, batch)?;
    EndNote::in_folder(dir).write(carried.head);
    Ok(carried)
}

fn carry(from: &Side, mut to: Side, batch: usize) -> Result<Carried, CarryError> {
    let (there, here) = (from.read.head, to.read.head);
    let common = there.position.min(here.position);
    if common > 0 && from.hash_at(common)? != to.hash_at(common)? {
        return Err(parted(from, &to, common)?);
    }
    let mut receiver = Receiver {
        lab: std::mem::take(&mut to.read.lab),
        rows: Rows::new(),
        head: here,
        files: files_of(&from.read.lab),
        done: Carried {
            facts: 0,
            head: here,
            files: 0,
            lacking: Vec::new(),
            beyond: here.position.saturating_sub(there.position),
        },
    };
    if there.position > here.position {
        let done = receiver.receive(from, &mut to.store, batch.max(1));
        if let Err(source) = done {
            return Err(CarryError::BrokenOff { done: receiver.done.facts, source });
        }
    }
    // What stands there now is read through once more, from the disk.
    let verified = stonewear_journal::verify(&to.store)?;
    let damaged = |what: String| CarryError::Damaged { which: to.name.clone(), what };
    if let Some(what) = verified.what() {
        return Err(damaged(what));
    }
    if there.position > 0
        && to.hash_at(there.position.min(verified.head.position))?
            != from_hash(from, verified.head)?
    {
        return Err(damaged("it does not end as the other does".to_owned()));
    }
    Ok(Carried { head: verified.head, ..receiver.done })
}

/// The hash of the last entry that both have, where the receiving journal ends with `end`.
fn from_hash(from: &Side, end: Head) -> Result<Hash, CarryError> {
    from.hash_at(from.read.head.position.min(end.position))
}

/// The entries behind `after`, at most so many.
fn next_batch(from: &Side, after: Head, most: usize) -> Result<Batch, StoreError> {
    let mut batch = Batch::default();
    let mut unknown = None;
    let verification = stonewear_journal::replay(&from.store, after, &mut |entry| {
        let read = replay::recorded(&entry)
            .and_then(|recorded| Ok((recorded, serde_json::from_str(entry.fact.get())?)));
        match read {
            Ok((recorded, fact)) => {
                batch.last = Some(Head { position: entry.position, hash: entry.hash });
                let (by, request) = (entry.by.into_owned(), entry.request.into_owned());
                batch.drafts.push(Draft { at: entry.at, by, request, fact });
                batch.facts.push(recorded);
            }
            Err(error) => unknown = Some(format!("entry {}: {error}", entry.position)),
        }
        let is_last = batch.drafts.len() >= most || entry.position >= from.read.head.position;
        if is_last || unknown.is_some() {
            ControlFlow::Break(())
        } else {
            ControlFlow::Continue(())
        }
    })?;
    let missing = || "its end is missing".to_owned();
    match unknown.or_else(|| verification.what()) {
        None if batch.last.is_none() => Err(StoreError::Damaged(missing())),
        None => Ok(batch),
        Some(what) => Err(StoreError::Damaged(what)),
    }
}

/// Where two journals part that do not have the same entry at `position`. Each hash is one of all entries
/// up to it, so that halving finds the first that differs.
fn parted(from: &Side, to: &Side, position: u64) -> Result<CarryError, CarryError> {
    let (mut same, mut other) = (0, position);
    while other - same > 1 {
        let middle = same + (other - same) / 2;
        if from.hash_at(middle)? == to.hash_at(middle)? {
            same = middle;
        } else {
            other = middle;
        }
    }
    let (from_hash, to_hash) = (from.hash_at(other)?, to.hash_at(other)?);
    let (from, to) = (from.name.clone(), to.name.clone());
    Ok(if other == 1 {
        CarryError::Strangers { from, from_hash, to, to_hash }
    } else {
        CarryError::Fork { position: other, from, from_hash, to, to_hash }
    })
}

/// The files that facts name, by the place of the fact.
fn files_of(lab: &Lab) -> BTreeMap<u64, Vec<KeptFile>> {
    let mut files: BTreeMap<u64, Vec<KeptFile>> = BTreeMap::new();
    for file in lab.kept_files() {
        files.entry(file.position).or_default().push(file);
    }
    files
}

/// What the receiving side knows.
struct Receiver {
    lab: Lab,
    rows: Rows,
    head: Head,
    files: BTreeMap<u64, Vec<KeptFile>>,
    done: Carried,
}

/// Entries that are on their way.
#[derive(Default)]
struct Batch {
    drafts: Vec<Draft>,
    facts: Vec<Recorded>,
    last: Option<Head>,
}

impl Receiver {
    /// Takes in the entries behind its own end, batch by batch. Nothing is taken in while the other store is
    /// being read.
    fn receive(&mut self, from: &Side, to: &mut AnyStore, batch: usize) -> Result<(), StoreError> {
        // What comes since it was read through waits for the next time.
        while self.head.position < from.read.head.position {
            let next = next_batch(from, self.head, batch)?;
            self.take(from, to, next)?;
        }
        Ok(())
    }

    /// Takes in one batch: its files first, so that a fact never names what is not there.
    fn take(&mut self, from: &Side, to: &mut AnyStore, batch: Batch) -> Result<(), StoreError> {
        let Some(last) = batch.last else { return Ok(()) };
        let named = self.files.range(self.head.position + 1..=last.position);
        for file in named.flat_map(|(_, files)| files) {
            let bytes = match file.sha256.parse() {
                Ok(hash) => from.store.get_blob(hash),
                Err(_) => Ok(None),
            };
            match bytes {
                Ok(Some(bytes)) => {
                    to.put_blob(&bytes)?;
                    self.done.files += 1;
                }
                Ok(None) => {
                    let KeptFile { name, sha256, position, .. } = file;
                    let words = format!("“{name}”, {sha256}, which entry {position} names");
                    self.done.lacking.push(words);
                }
                Err(StoreError::Damaged(what)) => self.done.lacking.push(what),
                Err(error) => return Err(error),
            }
        }
        for recorded in &batch.facts {
            self.lab.apply(recorded);
        }
        let rows = if to.is_shared() { results::rows(&self.lab) } else { Rows::new() };
        let changed = results::changed(&self.rows, &rows);
        let mut drafts = batch.drafts.into_iter().map(Ok);
        let entries = to.append_with(self.head, &mut drafts, &changed)?;
        let end = entries.last().map(stonewear_journal::Entry::head);
        if end != Some(last) {
            // Never seen: the same facts behind the same entry have the same hash.
            return Err(StoreError::Damaged(format!("entry {} became another", last.position)));
        }
        self.rows = rows;
        self.head = last;
        self.done.facts += entries.len() as u64;
        Ok(())
    }
}
