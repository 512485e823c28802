//! A store whose content a test may change behind the journal's back.

use std::ops::ControlFlow;
use stonewear_journal::{Draft, Entry, Hash, Head, MemoryStore, RawEntry, Store, StoreError};

/// One row as a store would hold it.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Row {
    pub(crate) position: u64,
    pub(crate) hash: Hash,
    pub(crate) request: String,
    pub(crate) bytes: Vec<u8>,
}

/// A store to be read only.
#[derive(Debug, Clone)]
pub(crate) struct Doctored {
    pub(crate) rows: Vec<Row>,
    pub(crate) head: Head,
}

impl Doctored {
    /// The content of `store`, open to changes.
    pub(crate) fn of(store: &MemoryStore) -> Self {
        let mut rows = Vec::new();
        let head = store.read_from(1, &mut |raw| {
            rows.push(Row {
                position: raw.position,
                hash: raw.hash,
                request: raw.request.to_owned(),
                bytes: raw.bytes.to_vec(),
            });
            ControlFlow::Continue(())
        });
        Self { rows, head: head.unwrap() }
    }

    /// Gives every row the place where it now stands, as a careful hand would.
    pub(crate) fn renumbered(mut self) -> Self {
        (1..).zip(&mut self.rows).for_each(|(position, row)| row.position = position);
        self
    }
}

impl Store for Doctored {
    fn head(&self) -> Result<Head, StoreError> {
        Ok(self.head)
    }

    fn append_each(
        &mut self,
        _: Head,
        _: &mut dyn Iterator<Item = Result<Draft, StoreError>>,
    ) -> Result<Vec<Entry>, StoreError> {
        Err(StoreError::ReadOnly)
    }

    fn read_from(
        &self,
        from: u64,
        visit: &mut dyn FnMut(RawEntry<'_>) -> ControlFlow<()>,
    ) -> Result<Head, StoreError> {
        for Row { position, hash, request, bytes } in &self.rows {
            let raw = RawEntry { position: *position, hash: *hash, request, bytes };
            if *position >= from && visit(raw).is_break() {
                break;
            }
        }
        Ok(self.head)
    }

    fn find_requests(&self, _: &str) -> Result<Vec<(u64, String)>, StoreError> {
        Ok(Vec::new())
    }

    fn find_request(&self, _: &str) -> Result<Vec<u64>, StoreError> {
        Ok(Vec::new())
    }

    fn put_blob(&mut self, _: &[u8]) -> Result<Hash, StoreError> {
        Err(StoreError::ReadOnly)
    }

    fn get_blob(&self, _: Hash) -> Result<Option<Vec<u8>>, StoreError> {
        Ok(None)
    }
}
