//! A journal in memory, for tests and rehearsals: gone with the process.

use crate::entry::{Draft, Entry};
use crate::hash::Hash;
use crate::store::{Head, RawEntry, Store, StoreError};
use std::collections::HashMap;
use std::ops::ControlFlow;

/// A [`Store`] that keeps everything in memory.
#[derive(Debug, Clone, Default)]
pub struct MemoryStore {
    entries: Vec<Kept>,
    requests: HashMap<String, Vec<u64>>,
    blobs: HashMap<Hash, Vec<u8>>,
}

#[derive(Debug, Clone)]
struct Kept {
    hash: Hash,
    request: String,
    bytes: Vec<u8>,
}

impl Store for MemoryStore {
    fn head(&self) -> Result<Head, StoreError> {
        let position = self.entries.len() as u64;
        Ok(self.entries.last().map_or(Head::GENESIS, |last| Head { position, hash: last.hash }))
    }

    fn append_each(
        &mut self,
        expected: Head,
        drafts: &mut dyn Iterator<Item = Result<Draft, StoreError>>,
    ) -> Result<Vec<Entry>, StoreError> {
        let found = self.head()?;
        if found != expected {
            return Err(StoreError::Conflict { expected, found });
        }
        let entries = Entry::seal_each(found, drafts, |_| Ok(()))?;
        for entry in &entries {
            self.requests.entry(entry.request.clone()).or_default().push(entry.position);
            self.entries.push(Kept {
                hash: entry.hash,
                request: entry.request.clone(),
                bytes: entry.canonical_bytes().to_vec(),
            });
        }
        Ok(entries)
    }

    fn read_from(
        &self,
        from: u64,
        visit: &mut dyn FnMut(RawEntry<'_>) -> ControlFlow<()>,
    ) -> Result<Head, StoreError> {
        for (position, kept) in (1..).zip(&self.entries).filter(|(position, _)| *position >= from) {
            let Kept { hash, request, bytes } = kept;
            if visit(RawEntry { position, hash: *hash, request, bytes }).is_break() {
                break;
            }
        }
        self.head()
    }

    fn find_request(&self, request: &str) -> Result<Vec<u64>, StoreError> {
        Ok(self.requests.get(request).cloned().unwrap_or_default())
    }

    fn find_requests(&self, beginning: &str) -> Result<Vec<(u64, String)>, StoreError> {
        let kept = (1..).zip(&self.entries);
        let found = kept.filter(|(_, kept)| kept.request.starts_with(beginning));
        Ok(found.map(|(position, kept)| (position, kept.request.clone())).collect())
    }

    fn put_blob(&mut self, bytes: &[u8]) -> Result<Hash, StoreError> {
        let hash = Hash::of(bytes);
        self.blobs.entry(hash).or_insert_with(|| bytes.to_vec());
        Ok(hash)
    }

    fn get_blob(&self, hash: Hash) -> Result<Option<Vec<u8>>, StoreError> {
        Ok(self.blobs.get(&hash).cloned())
    }
}
