//! What the store does, in SQL.

use super::SqliteStore;
use crate::entry::{Draft, Entry};
use crate::hash::Hash;
use crate::store::{Head, RawEntry, Store, StoreError};
use rusqlite::types::{FromSql, FromSqlError, Type, ValueRef};
use rusqlite::{Connection, OptionalExtension, Row, TransactionBehavior, params};
use std::ops::ControlFlow;

impl Store for SqliteStore {
    fn head(&self) -> Result<Head, StoreError> {
        head(&self.connection)
    }

    fn append_each(
        &mut self,
        expected: Head,
        drafts: &mut dyn Iterator<Item = Result<Draft, StoreError>>,
    ) -> Result<Vec<Entry>, StoreError> {
        // Taken before the head is read: nobody else can write in between.
        let transaction =
            self.connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
        let found = head(&transaction)?;
        if found != expected {
            return Err(StoreError::Conflict { expected, found });
        }
        let entries = {
            let mut insert = transaction.prepare_cached(
                "INSERT INTO entry (position, hash, request, canonical) VALUES (?1, ?2, ?3, ?4)",
            )?;
            Entry::seal_each(found, drafts, |entry| {
                insert.execute(params![
                    to_column(entry.position)?,
                    entry.hash.as_bytes(),
                    entry.request,
                    entry.canonical_bytes(),
                ])?;
                Ok(())
            })?
        };
        let Some(last) = entries.last() else {
            return Ok(entries);
        };
        // Kept like the other statements: it stands in every append, and its trigger is compiled with it.
        transaction
            .prepare_cached("UPDATE head SET position = ?1, hash = ?2")?
            .execute(params![to_column(last.position)?, last.hash.as_bytes()])?;
        transaction.commit()?;
        Ok(entries)
    }

    fn read_from(
        &self,
        from: u64,
        visit: &mut dyn FnMut(RawEntry<'_>) -> ControlFlow<()>,
    ) -> Result<Head, StoreError> {
        // One transaction, so that entries and head are of one moment.
        let transaction = self.connection.unchecked_transaction()?;
        // The whole journal has no lower bound: an entry smuggled in below the first is seen.
        let from = if from <= 1 { i64::MIN } else { i64::try_from(from).unwrap_or(i64::MAX) };
        {
            let mut select = transaction.prepare_cached(
                "SELECT position, hash, request, canonical FROM entry \
                 WHERE position >= ?1 ORDER BY position",
            )?;
            let mut rows = select.query([from])?;
            while let Some(row) = rows.next()? {
                if visit(raw_entry(row)?).is_break() {
                    break;
                }
            }
        }
        head(&transaction)
    }

    fn find_request(&self, request: &str) -> Result<Vec<u64>, StoreError> {
        let mut select = self
            .connection
            .prepare_cached("SELECT position FROM entry WHERE request = ?1 ORDER BY position")?;
        let positions = select.query_map([request], |row| from_column(row, 0))?;
        Ok(positions.collect::<Result<_, _>>()?)
    }

    fn find_requests(&self, beginning: &str) -> Result<Vec<(u64, String)>, StoreError> {
        // Keys are compared byte by byte, so all that begin alike lie side by side in the index.
        let beyond = format!("{beginning}{}", char::MAX);
        let mut select = self.connection.prepare_cached(
            "SELECT position, request FROM entry WHERE request >= ?1 AND request < ?2 \
             ORDER BY position",
        )?;
        let found = select.query_map([beginning, beyond.as_str()], |row| {
            Ok((from_column(row, 0)?, row.get(1)?))
        })?;
        Ok(found.collect::<Result<_, _>>()?)
    }

    fn put_blob(&mut self, bytes: &[u8]) -> Result<Hash, StoreError> {
        let hash = Hash::of(bytes);
        self.connection.execute(
            "INSERT INTO blob (sha256, bytes) VALUES (?1, ?2)",
            params![hash.as_bytes(), bytes],
        )?;
        Ok(hash)
    }

    fn get_blob(&self, hash: Hash) -> Result<Option<Vec<u8>>, StoreError> {
        let bytes: Option<Vec<u8>> = self
            .connection
            .prepare_cached("SELECT bytes FROM blob WHERE sha256 = ?1")?
            .query_row(params![hash.as_bytes()], |row| row.get(0))
            .optional()?;
        match bytes {
            Some(bytes) if Hash::of(&bytes) != hash => Err(StoreError::Damaged(format!(
                "the attached file {hash} was changed after it was kept"
            ))),
            other => Ok(other),
        }
    }
}

fn head(connection: &Connection) -> Result<Head, StoreError> {
    connection
        .prepare_cached("SELECT position, hash FROM head")?
        .query_row([], |row| {
            Ok(Head { position: from_column(row, 0)?, hash: Hash::from_bytes(row.get(1)?) })
        })
        .optional()?
        .ok_or_else(|| StoreError::Damaged("the record of where it ends is missing".into()))
}

fn raw_entry<'a>(row: &'a Row<'_>) -> Result<RawEntry<'a>, StoreError> {
    Ok(RawEntry {
        // A place below 1 cannot be told as one; 0 is never the next, so it is found all the same.
        position: from_column(row, 0).unwrap_or(0),
        hash: hash(row.get_ref(1)?, 1)?,
        request: text(row.get_ref(2)?, 2)?,
        bytes: blob(row.get_ref(3)?, 3)?,
    })
}

fn from_column(row: &Row<'_>, column: usize) -> rusqlite::Result<u64> {
    let position: i64 = row.get(column)?;
    u64::try_from(position).map_err(|_| rusqlite::Error::IntegralValueOutOfRange(column, position))
}

fn to_column(position: u64) -> rusqlite::Result<i64> {
    i64::try_from(position).map_err(|error| rusqlite::Error::ToSqlConversionFailure(error.into()))
}

fn text(value: ValueRef<'_>, column: usize) -> rusqlite::Result<&str> {
    value.as_str().map_err(|error| wrong(column, Type::Text, error))
}

fn hash(value: ValueRef<'_>, column: usize) -> rusqlite::Result<Hash> {
    let bytes = <[u8; 32]>::column_result(value);
    bytes.map(Hash::from_bytes).map_err(|error| wrong(column, Type::Blob, error))
}

fn blob(value: ValueRef<'_>, column: usize) -> rusqlite::Result<&[u8]> {
    value.as_blob().map_err(|error| wrong(column, Type::Blob, error))
}

fn wrong(column: usize, kind: Type, error: FromSqlError) -> rusqlite::Error {
    rusqlite::Error::FromSqlConversionFailure(column, kind, Box::new(error))
}
