//! Whether the file takes anything at all, found out without a fact.

use super::SqliteStore;
use crate::store::StoreError;
use rusqlite::TransactionBehavior;

/// Pages that are written: as many as an entry of a usual size needs, and some more. A disk that takes
/// one page more may still not take an entry.
const PAGES: usize = 8;

impl SqliteStore {
    /// Writes where the journal ends some times more, as it stands, in transactions like those of an
    /// append: whether a disk that was full or failing takes something again.
    ///
    /// # Errors
    /// Those that an append would meet.
    pub fn try_writing(&mut self) -> Result<(), StoreError> {
        for _ in 0..PAGES {
            let behavior = TransactionBehavior::Immediate;
            let transaction = self.connection.transaction_with_behavior(behavior)?;
            let hash: Vec<u8> =
                transaction.query_row("SELECT hash FROM head", [], |row| row.get(0))?;
            // What is written as it stands is not written at all, so it is changed and put back.
            transaction.execute("UPDATE head SET hash = zeroblob(32)", [])?;
            transaction.execute("UPDATE head SET hash = ?1", [hash])?;
            transaction.commit()?;
        }
        Ok(())
    }
}
