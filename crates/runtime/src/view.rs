//! A laboratory opened for reading, also while another program works with it.

use crate::clock::Clock;
use crate::end::EndNote;
use crate::error::OpenError;
use crate::folder::Folder;
use crate::open::anchor_of;
use crate::place::Place;
use crate::replay::{self, Witnesses};
use crate::signing;
use crate::store::AnyStore;
use jiff::Timestamp;
use std::fs::File;
use std::io::{BufReader, Write};
use std::ops::ControlFlow;
use std::path::Path;
use stonewear_journal::{ExportError, Head, StoreError, Verification};
use stonewear_lab::Lab;
use stonewear_lab::state::TestResult;
use stonewear_report::JournalAnchor;

/// A laboratory opened for reading.
#[derive(Debug)]
pub struct LaboratoryView {
    lab: Lab,
    store: AnyStore,
    last_at: Option<Timestamp>,
}

impl LaboratoryView {
    /// Opens a laboratory for reading.
    ///
    /// # Errors
    /// When there is none, it cannot be read, or its journal is damaged.
    pub fn open(place: impl Into<Place>) -> Result<Self, OpenError> {
        let place = place.into();
        // The note first: read later, it could be of an entry that came meanwhile.
        let noted = noted(&place);
        let store = AnyStore::open_read_only(&place)?;
        let replayed = replay::replay(&store, &noted)?;
        match replayed.damage {
            None => Ok(Self { lab: replayed.lab, store, last_at: replayed.last_at }),
            Some(damage) => Err(OpenError::Damaged(damage)),
        }
    }

    /// The time now; in an invented laboratory the moment of its last fact, since its calendar is
    /// not ours.
    pub fn now(&self) -> Timestamp {
        let is_invented = self.lab.identity.as_ref().is_some_and(|identity| identity.invented);
        let last = self.last_at.unwrap_or(Timestamp::UNIX_EPOCH);
        if is_invented { last } else { Clock::Machine.now().max(last) }
    }

    /// When the last fact was recorded.
    pub fn last_at(&self) -> Timestamp {
        self.last_at.unwrap_or(Timestamp::UNIX_EPOCH)
    }

    /// The laboratory as it stands.
    pub fn lab(&self) -> &Lab {
        &self.lab
    }

    /// Place and hash of the last fact; `None` in an empty journal.
    ///
    /// # Errors
    /// When the journal cannot be read.
    pub fn anchor(&self) -> Result<Option<JournalAnchor>, StoreError> {
        let position = self.lab.position;
        let hash = replay::hash_at(&self.store, position)?;
        Ok(hash.map(|head| JournalAnchor { position, head }))
    }

    pub(crate) fn store(&self) -> &AnyStore {
        &self.store
    }

    /// Place and hash of the fact that released a result; `None` while it is not released.
    ///
    /// # Errors
    /// When the journal cannot be read.
    pub fn anchor_of(&self, result: &TestResult) -> Result<Option<JournalAnchor>, StoreError> {
        anchor_of(&self.store, result)
    }
}

/// Verifies the journal of a laboratory.
///
/// # Errors
/// When there is none or it cannot be read; damage is an answer, not an error.
pub fn verify_folder(place: impl Into<Place>) -> Result<Verification, OpenError> {
    let place = place.into();
    let noted = noted(&place);
    let mut witnesses = Witnesses::new(&noted);
    let mut verification = stonewear_journal::replay_read(
        &AnyStore::open_read_only(&place)?,
        Head::GENESIS,
        &|_| (),
        &mut |head, ()| {
            witnesses.hear(head);
            ControlFlow::Continue(())
        },
    )?;
    if verification.broken.is_none() {
        verification.broken = witnesses.against(verification.head);
    }
    Ok(verification)
}

/// Where the journal ended, by what was noted and signed beside it.
pub(crate) fn noted(place: &Place) -> Vec<Head> {
    let path = place.folder();
    // What lies beside a journal in the folder is of that journal, and not of one in a database.
    if place.database().is_some() && Folder::new(path).journal().exists() {
        return Vec::new();
    }
    // Signatures that cannot be read are told of where signatures are.
    let signed = signing::ledger(path).ok().and_then(|ledger| ledger.end());
    EndNote::in_folder(path).read().into_iter().chain(signed).collect()
}

/// Verifies an exported journal.
///
/// # Errors
/// When the file cannot be read; damage is an answer, not an error.
pub fn verify_file(path: &Path) -> Result<Verification, OpenError> {
    let fault = |source| OpenError::Folder { path: path.to_owned(), source };
    let file = File::open(path).map_err(fault)?;
    stonewear_journal::verify_export(BufReader::new(file), None).map_err(fault)
}

/// Writes the journal of a laboratory as JSON Lines.
///
/// # Errors
/// When there is none, it is damaged, or `out` cannot be written.
pub fn export(place: impl Into<Place>, out: &mut dyn Write) -> Result<Verification, OpenError> {
    let place = place.into();
    let store = AnyStore::open_read_only(&place)?;
    stonewear_journal::export(&store, out).map_err(|error| match error {
        ExportError::Store(error) => OpenError::Store(error),
        ExportError::Write(source) => OpenError::Folder { path: place.folder().to_owned(), source },
    })
}
