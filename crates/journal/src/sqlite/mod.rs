//! The journal in one SQLite file.

mod error;
mod inspect;
mod open;
mod store;
#[cfg(test)]
mod tests;
mod trial;

/// A [`crate::Store`] in one SQLite file, with a write-ahead log beside it while it is open.
///
/// One process appends; any number read meanwhile, each a picture of one moment. Every append is
/// one transaction, forced to the disk before it returns.
#[derive(Debug)]
pub struct SqliteStore {
    connection: rusqlite::Connection,
}
