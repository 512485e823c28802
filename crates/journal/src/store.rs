//! What a store of entries does, and what can go wrong with it.

use crate::entry::{Draft, DraftError, Entry};
use crate::hash::Hash;
use std::ops::ControlFlow;
use std::path::PathBuf;

/// Where a journal ends: its last position and the hash there.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Head {
    /// The last position; 0 in an empty journal.
    pub position: u64,
    /// The hash of the last entry; [`Hash::GENESIS`] in an empty journal.
    pub hash: Hash,
}

impl Head {
    /// The head of an empty journal.
    pub const GENESIS: Self = Self { position: 0, hash: Hash::GENESIS };
}

/// An entry as a store holds it: unchecked.
#[derive(Debug, Clone, Copy)]
pub struct RawEntry<'a> {
    /// The place where the store holds it.
    pub position: u64,
    /// The hash that the store holds beside the bytes.
    pub hash: Hash,
    /// The request under which [`Store::find_request`] finds it.
    pub request: &'a str,
    /// The canonical bytes.
    pub bytes: &'a [u8],
}

/// A place that keeps a journal.
///
/// A store keeps and returns bytes; it does not judge them. [`crate::verify`] does.
pub trait Store {
    /// Where the journal ends by the store's own record.
    ///
    /// # Errors
    /// [`StoreError::Damaged`] when that record is missing or unreadable.
    fn head(&self) -> Result<Head, StoreError>;

    /// Appends `drafts` in order behind `expected`, all of them or none, and returns the entries
    /// that they became. What has been returned survives a killed process and a power cut.
    ///
    /// Asking for the head rather than taking whatever is there has two uses: a decision was made
    /// on the facts up to that head, so that it must not stand behind others; and a request that
    /// was not found by [`Store::find_request`] at that head is still new.
    ///
    /// # Errors
    /// [`StoreError::Conflict`] when the journal ends elsewhere, [`StoreError::Draft`] when a
    /// draft cannot become an entry; and the store's own troubles. Nothing is appended then.
    fn append(&mut self, expected: Head, drafts: &[Draft]) -> Result<Vec<Entry>, StoreError> {
        self.append_each(expected, &mut drafts.iter().cloned().map(Ok))
    }

    /// Like [`Store::append`], with drafts that are made one by one: of many large facts only one is
    /// held beside its text. A draft that could not be made ends it, and nothing is appended.
    ///
    /// # Errors
    /// As with [`Store::append`], and what a draft could not be made for.
    fn append_each(
        &mut self,
        expected: Head,
        drafts: &mut dyn Iterator<Item = Result<Draft, StoreError>>,
    ) -> Result<Vec<Entry>, StoreError>;

    /// Hands the entries from position `from` on to `visit`, in order of position, until it
    /// breaks; then returns the head. Entries and head are of one moment, even while another
    /// process appends. Nothing is held back: entries behind the head are handed on too.
    /// `visit` must not read from the same store: the reading is one transaction.
    ///
    /// # Errors
    /// [`StoreError::Damaged`] when the store cannot be read on; and the store's own troubles.
    fn read_from(
        &self,
        from: u64,
        visit: &mut dyn FnMut(RawEntry<'_>) -> ControlFlow<()>,
    ) -> Result<Head, StoreError>;

    /// The positions of the facts that the request with this key became, in order; none when the
    /// key is new.
    ///
    /// # Errors
    /// The store's own troubles.
    fn find_request(&self, request: &str) -> Result<Vec<u64>, StoreError>;

    /// The positions of all facts whose request key begins with `beginning`, in order, each with its
    /// key.
    ///
    /// # Errors
    /// The store's own troubles.
    fn find_requests(&self, beginning: &str) -> Result<Vec<(u64, String)>, StoreError>;

    /// Keeps `bytes` (a picture, a certificate) and returns their hash, by which a fact may name
    /// them. Keeping the same bytes again changes nothing. Durable like [`Store::append`].
    ///
    /// # Errors
    /// The store's own troubles.
    fn put_blob(&mut self, bytes: &[u8]) -> Result<Hash, StoreError>;

    /// The bytes with this hash, if they are kept.
    ///
    /// # Errors
    /// [`StoreError::Damaged`] when the bytes no longer have this hash; and the store's own
    /// troubles.
    fn get_blob(&self, hash: Hash) -> Result<Option<Vec<u8>>, StoreError>;
}

/// Why a store did not do what was asked.
#[derive(Debug, thiserror::Error)]
pub enum StoreError {
    /// Somebody else has appended, or the caller's picture is of another journal.
    #[error(
        "the journal has moved on: this was decided behind entry {}, but the journal now ends \
         with entry {}; read it again and repeat the request",
        expected.position, found.position
    )]
    Conflict {
        /// Where the caller thought that the journal ends.
        expected: Head,
        /// Where it ends.
        found: Head,
    },
    /// A draft cannot become an entry.
    #[error("fact {} of the request cannot be recorded: {source}", index + 1)]
    Draft {
        /// Which of the drafts, from 0.
        index: usize,
        /// Why.
        source: DraftError,
    },
    /// There is no such file.
    #[error("there is no journal at {}", .0.display())]
    Missing(PathBuf),
    /// A journal was to be created where one stands already.
    #[error("a journal stands at {} already", .0.display())]
    AlreadyThere(PathBuf),
    /// The file belongs to something else.
    #[error("{} is not a journal: {why}", path.display())]
    NotAJournal {
        /// The file.
        path: PathBuf,
        /// How that was seen.
        why: String,
    },
    /// The file was written by a later version of the program.
    #[error(
        "the journal at {} has format {found}; this program knows format {known}: \
         use a later version of the program", path.display()
    )]
    Newer {
        /// The file.
        path: PathBuf,
        /// The format of the file.
        found: i64,
        /// The latest format that this program knows.
        known: i64,
    },
    /// No room.
    #[error("the disk is full: nothing was recorded; make room and repeat the request")]
    DiskFull,
    /// The disk fails, or a quota forbids more.
    #[error(
        "the disk does not take what is written to it: nothing was recorded; look at the disk, \
         its quota and its cables, and repeat the request ({0})"
    )]
    Failing(String),
    /// The journal was opened for reading, or the file may not be written.
    #[error("the journal can only be read here: nothing was recorded")]
    ReadOnly,
    /// The database does not answer.
    #[error("the database cannot be reached, so nothing was recorded; repeat the request ({0})")]
    Unreachable(String),
    /// The database is not one to work with, or not for this role.
    #[error(transparent)]
    Database(Box<crate::postgres::DatabaseError>),
    /// Another process holds the journal for too long.
    #[error("another program is writing to the journal and did not finish in time; try again")]
    Busy,
    /// The stored data is not what was written.
    #[error("the journal is damaged: {0}")]
    Damaged(String),
    /// Anything else, in the words of the library or the operating system.
    #[error("the journal cannot be used: {0}")]
    Other(#[source] Box<dyn std::error::Error + Send + Sync>),
}

impl From<(usize, DraftError)> for StoreError {
    fn from((index, source): (usize, DraftError)) -> Self {
        Self::Draft { index, source }
    }
}
