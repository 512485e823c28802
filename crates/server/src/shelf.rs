//! Files that were sent to be imported and are being looked at: kept in memory only, until they are
//! imported, or others take their place. A file that is gone is sent again.

use std::collections::VecDeque;
use std::sync::{Arc, Mutex, PoisonError};

/// So many files are looked at at once.
const MOST: usize = 8;

/// A file as it was sent.
#[derive(Debug)]
pub(crate) struct Shelved {
    /// What it is called.
    pub(crate) name: String,
    /// The SHA-256 of its bytes.
    pub(crate) sha256: String,
    /// Its content.
    pub(crate) bytes: Vec<u8>,
}

/// The shelf, shared by all handlers.
#[derive(Debug, Clone, Default)]
pub(crate) struct Shelf(Arc<Mutex<VecDeque<Arc<Shelved>>>>);

impl Shelf {
    /// Puts a file on the shelf; the one that lies there longest makes room.
    pub(crate) fn put(&self, file: Shelved) {
        let mut files = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        files.retain(|known| known.sha256 != file.sha256);
        files.push_back(Arc::new(file));
        if files.len() > MOST {
            files.pop_front();
        }
    }

    /// The file with this hash, if it still lies there.
    pub(crate) fn get(&self, sha256: &str) -> Option<Arc<Shelved>> {
        let files = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        files.iter().find(|file| file.sha256 == sha256).cloned()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_oldest_makes_room() {
        let shelf = Shelf::default();
        let put = |number: usize| {
            let (name, sha256) = (String::new(), number.to_string());
            shelf.put(Shelved { name, sha256, bytes: Vec::new() });
        };
        (0..MOST).for_each(put);
        put(0);
        put(MOST);
        assert!(shelf.get("1").is_none());
        assert!(shelf.get("0").is_some() && shelf.get(&MOST.to_string()).is_some());
    }
}
