//! The store that a laboratory is kept in, whichever it is.

use crate::error::OpenError;
use crate::folder::Folder;
use crate::place::Place;
use std::ops::ControlFlow;
use stonewear_journal::postgres::{PostgresStore, ResultRow};
use stonewear_journal::{Draft, Entry, Hash, Head, RawEntry, SqliteStore, Store, StoreError};

/// A file of the laboratory's own, or its part of a database.
#[derive(Debug)]
pub(crate) enum AnyStore {
    File(SqliteStore),
    Database(PostgresStore),
}

impl AnyStore {
    /// Opens what is there to be read.
    pub(crate) fn open_read_only(place: &Place) -> Result<Self, OpenError> {
        if let Some(database) = place.database() {
            let store = PostgresStore::open_read_only(&database.address, &database.laboratory)?;
            return Ok(Self::Database(store));
        }
        match SqliteStore::open_read_only(&Folder::new(place.folder()).journal()) {
            Err(StoreError::Missing(_)) => Err(OpenError::NotThere(place.folder().to_owned())),
            opened => Ok(Self::File(opened?)),
        }
    }

    /// Opens it to be worked with, and makes the file where there is none; whether it can only be read.
    pub(crate) fn open(place: &Place, is_writable: bool) -> Result<(Self, bool), OpenError> {
        let journal = Folder::new(place.folder()).journal();
        if let Some(database) = place.database() {
            if journal.exists() {
                return Err(OpenError::OwnJournal(place.folder().to_owned()));
            }
            let store = PostgresStore::open(&database.address, &database.laboratory)?;
            return Ok((Self::Database(store), false));
        }
        let opened =
            if is_writable { SqliteStore::open(&journal) } else { Err(StoreError::ReadOnly) };
        let (store, is_only_readable) = match opened {
            Err(StoreError::Missing(_)) => (SqliteStore::create(&journal)?, false),
            // A journal that can only be read is still worth reading.
            Err(StoreError::ReadOnly) => (SqliteStore::open_read_only(&journal)?, true),
            opened => (opened?, false),
        };
        Ok((Self::File(store), is_only_readable))
    }

    /// Whether other processes append to it, too.
    pub(crate) fn is_shared(&self) -> bool {
        matches!(self, Self::Database(_))
    }

    /// Appends, and writes what results say from then on where other laboratories ask for it.
    pub(crate) fn append_with(
        &mut self,
        expected: Head,
        drafts: &mut dyn Iterator<Item = Result<Draft, StoreError>>,
        results: &[ResultRow],
    ) -> Result<Vec<Entry>, StoreError> {
        match self {
            Self::File(store) => store.append_each(expected, drafts),
            Self::Database(store) => {
                let drafts = drafts.collect::<Result<Vec<_>, _>>()?;
                store.append_with(expected, &drafts, results)
            }
        }
    }

    /// Waits for its turn among those that append; nothing to wait for where nobody else does.
    pub(crate) fn take_turn(&mut self) -> Result<(), StoreError> {
        match self {
            Self::File(_) => Ok(()),
            Self::Database(store) => store.take_turn(),
        }
    }

    /// Lets others append. What goes wrong here ends the turn, too.
    pub(crate) fn end_turn(&mut self) {
        if let Self::Database(store) = self {
            let _ = store.end_turn();
        }
    }

    pub(crate) fn try_writing(&mut self) -> Result<(), StoreError> {
        match self {
            Self::File(store) => store.try_writing(),
            Self::Database(store) => store.try_writing(),
        }
    }

    pub(crate) fn inspect(&self) -> Result<Vec<String>, StoreError> {
        match self {
            Self::File(store) => store.inspect(),
            Self::Database(store) => store.inspect(),
        }
    }

    fn reading(&self) -> &dyn Store {
        match self {
            Self::File(store) => store,
            Self::Database(store) => store,
        }
    }

    fn writing(&mut self) -> &mut dyn Store {
        match self {
            Self::File(store) => store,
            Self::Database(store) => store,
        }
    }
}

impl Store for AnyStore {
    fn head(&self) -> Result<Head, StoreError> {
        self.reading().head()
    }

    fn append_each(
        &mut self,
        expected: Head,
        drafts: &mut dyn Iterator<Item = Result<Draft, StoreError>>,
    ) -> Result<Vec<Entry>, StoreError> {
        self.writing().append_each(expected, drafts)
    }

    fn read_from(
        &self,
        from: u64,
        visit: &mut dyn FnMut(RawEntry<'_>) -> ControlFlow<()>,
    ) -> Result<Head, StoreError> {
        self.reading().read_from(from, visit)
    }

    fn find_request(&self, request: &str) -> Result<Vec<u64>, StoreError> {
        self.reading().find_request(request)
    }

    fn find_requests(&self, beginning: &str) -> Result<Vec<(u64, String)>, StoreError> {
        self.reading().find_requests(beginning)
    }

    fn put_blob(&mut self, bytes: &[u8]) -> Result<Hash, StoreError> {
        self.writing().put_blob(bytes)
    }

    fn get_blob(&self, hash: Hash) -> Result<Option<Vec<u8>>, StoreError> {
        self.reading().get_blob(hash)
    }
}
