//! What a file may suffer beside its chain.

use super::SqliteStore;
use crate::hash::Hash;
use crate::store::StoreError;

impl SqliteStore {
    /// What is wrong with the file beside the chain, in words; nothing if all is well.
    ///
    /// [`crate::verify`] reads the facts, and a fact may be whole in a file that is not: the index
    /// that requests are found by may have lost one, an attached file may have been changed. This
    /// reads everything, so it takes as long as the file is large.
    ///
    /// # Errors
    /// When the file cannot be read at all.
    pub fn inspect(&self) -> Result<Vec<String>, StoreError> {
        let mut wrong = Vec::new();
        let mut check = self.connection.prepare("PRAGMA integrity_check")?;
        for line in check.query_map([], |row| row.get::<_, String>(0))? {
            match line?.as_str() {
                "ok" => {}
                other => wrong.push(format!("SQLite says: {other}")),
            }
        }
        let mut blobs =
            self.connection.prepare("SELECT sha256, bytes FROM blob ORDER BY sha256")?;
        let mut rows = blobs.query([])?;
        while let Some(row) = rows.next()? {
            let hash = Hash::from_bytes(row.get(0)?);
            if Hash::of(&row.get::<_, Vec<u8>>(1)?) != hash {
                wrong.push(format!("the attached file {hash} was changed after it was kept"));
            }
        }
        Ok(wrong)
    }
}
