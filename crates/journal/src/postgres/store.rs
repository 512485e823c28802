//! What the store does, in SQL.

use super::connection::{Attempt, Line};
use super::{PostgresStore, ResultRow};
use crate::entry::{Draft, Entry};
use crate::hash::Hash;
use crate::store::{Head, RawEntry, Store, StoreError};
use postgres::{IsolationLevel, Row};
use std::ops::ControlFlow;
use std::sync::Arc;
use std::sync::mpsc;

/// Rows that are fetched at once.
const FETCHED: i32 = 500;

const HEAD: &str = "SELECT position, hash FROM stonewear.head WHERE laboratory = $1";
const HEAD_LOCKED: &str =
    "SELECT position, hash FROM stonewear.head WHERE laboratory = $1 FOR UPDATE";
const INSERT: &str = "INSERT INTO stonewear.entry (laboratory, position, hash, request, canonical) \
     SELECT $1, one.* FROM unnest($2::bigint[], $3::bytea[], $4::bytea[], $5::bytea[]) \
     AS one (position, hash, request, canonical) ORDER BY one.position";
const MOVE_HEAD: &str = "UPDATE stonewear.head SET position = $2, hash = $3 WHERE laboratory = $1";
// The whole journal has no lower bound: an entry smuggled in below the first is seen.
const READ: &str = "SELECT position, hash, request, canonical FROM stonewear.entry \
     WHERE laboratory = $1 AND position >= $2 ORDER BY position";
/// All rows at once, as one JSON document; those that stand so already are left alone.
const PUT_RESULTS: &str = "INSERT INTO stonewear.result AS old \
     SELECT $1, one.* FROM jsonb_to_recordset($2::text::jsonb) AS one (result text, sample text, source text, \
     material text, method text, grading text, apparatus text, reference text, version integer, \
     loss_percent numeric, charted_percent numeric, found_at timestamptz, released_at timestamptz, \
     in_doubt boolean) \
     ON CONFLICT (laboratory, result) DO UPDATE SET (sample, source, material, method, grading, apparatus, \
     reference, version, loss_percent, charted_percent, found_at, released_at, in_doubt) = \
     (excluded.sample, excluded.source, excluded.material, excluded.method, excluded.grading, \
     excluded.apparatus, excluded.reference, excluded.version, excluded.loss_percent, \
     excluded.charted_percent, excluded.found_at, excluded.released_at, excluded.in_doubt) \
     WHERE old IS DISTINCT FROM excluded";

impl PostgresStore {
    /// As [`Store::append`], and in the same transaction writes what results say from then on.
    ///
    /// # Errors
    /// As [`Store::append`].
    pub fn append_with(
        &mut self,
        expected: Head,
        drafts: &[Draft],
        results: &[ResultRow],
    ) -> Result<Vec<Entry>, StoreError> {
        let laboratory = self.laboratory.clone();
        let (drafts, results) = (drafts.to_vec(), results.to_vec());
        self.connection.ask(move |line, attempt| {
            match append(line, &laboratory, expected, &drafts, &results) {
                // The line was lost while the server committed: these very entries stand there.
                Err(StoreError::Conflict { expected, found }) if attempt == Attempt::Again => {
                    let entries = sealed(expected, &drafts)?;
                    let is_ours = entries.last().is_some_and(|last| last.head() == found);
                    if is_ours {
                        Ok(entries)
                    } else {
                        Err(StoreError::Conflict { expected, found })
                    }
                }
                outcome => outcome,
            }
        })
    }

    /// Waits until it is this store's turn among those that want to append, so that a decision which lost a
    /// race is made anew without losing another. Ends with [`PostgresStore::end_turn`], or with the
    /// connection.
    ///
    /// # Errors
    /// [`StoreError::Busy`] when others take too long; and the store's own troubles.
    pub fn take_turn(&mut self) -> Result<(), StoreError> {
        let laboratory = self.laboratory.clone();
        self.connection.ask(move |line, _| {
            line.client.execute(
                "SELECT pg_advisory_lock(hashtextextended('stonewear ' || $1, 0))",
                &[&&*laboratory],
            )?;
            Ok(())
        })
    }

    /// Lets the next one append.
    ///
    /// # Errors
    /// The store's own troubles.
    pub fn end_turn(&mut self) -> Result<(), StoreError> {
        let laboratory = self.laboratory.clone();
        self.connection.ask(move |line, _| {
            // On a new connection the turn is over already: then the server warns, which is no error.
            line.client.execute(
                "SELECT pg_advisory_unlock(hashtextextended('stonewear ' || $1, 0))",
                &[&&*laboratory],
            )?;
            Ok(())
        })
    }

    /// Writes where the journal ends once more, as it stands: whether the server takes something again.
    ///
    /// # Errors
    /// Those that an append would meet.
    pub fn try_writing(&mut self) -> Result<(), StoreError> {
        let laboratory = self.laboratory.clone();
        self.connection.ask(move |line, _| {
            line.client.execute(
                "UPDATE stonewear.head SET position = position WHERE laboratory = $1",
                &[&&*laboratory],
            )?;
            Ok(())
        })
    }

    /// What is wrong with attached files, in words; nothing if all is well. Whether the database is sound
    /// below that is asked of PostgreSQL's own `pg_amcheck` and data checksums.
    ///
    /// # Errors
    /// When the database cannot be read at all.
    pub fn inspect(&self) -> Result<Vec<String>, StoreError> {
        let laboratory = self.laboratory.clone();
        let changed = self.connection.ask(move |line, _| {
            let rows = line.client.query(
                "SELECT sha256 FROM stonewear.blob WHERE laboratory = $1 AND sha256 <> sha256(bytes) \
                 ORDER BY sha256",
                &[&&*laboratory],
            )?;
            rows.iter().map(|row| hash(row, 0)).collect::<Result<Vec<_>, _>>()
        })?;
        Ok(changed.into_iter().map(changed_file).collect())
    }
}

impl Store for PostgresStore {
    fn head(&self) -> Result<Head, StoreError> {
        let laboratory = self.laboratory.clone();
        self.connection.ask(move |line, _| {
            let statement = line.statement(HEAD)?;
            head_of(line.client.query_opt(&statement, &[&&*laboratory])?)
        })
    }

    // They are kept until the server has answered: a line that was lost is tried again.
    fn append_each(
        &mut self,
        expected: Head,
        drafts: &mut dyn Iterator<Item = Result<Draft, StoreError>>,
    ) -> Result<Vec<Entry>, StoreError> {
        let drafts = drafts.collect::<Result<Vec<_>, _>>()?;
        self.append_with(expected, &drafts, &[])
    }

    fn read_from(
        &self,
        from: u64,
        visit: &mut dyn FnMut(RawEntry<'_>) -> ControlFlow<()>,
    ) -> Result<Head, StoreError> {
        let laboratory = self.laboratory.clone();
        let (send, batches) = mpsc::sync_channel(1);
        let mut is_handed_on = false;
        let ended = self.connection.ask_meanwhile(move |line, attempt| {
            if attempt == Attempt::Again && is_handed_on {
                return Err(StoreError::Unreachable(
                    "the line was lost while the journal was read".to_owned(),
                ));
            }
            read(line, &laboratory, from, &mut |rows| {
                is_handed_on = true;
                send.send(rows).is_ok()
            })
        })?;
        let mut outcome = Ok(());
        'reading: for rows in batches {
            for row in &rows {
                match raw_entry(row) {
                    Ok(raw) if visit(raw).is_continue() => {}
                    Ok(_) => break 'reading,
                    Err(error) => {
                        outcome = Err(error);
                        break 'reading;
                    }
                }
            }
        }
        let head = ended.recv().unwrap_or_else(|_| {
            Err(StoreError::Other("the thread that asks the database has ended".into()))
        });
        outcome.and(head)
    }

    fn find_request(&self, request: &str) -> Result<Vec<u64>, StoreError> {
        let (laboratory, request) = (self.laboratory.clone(), request.as_bytes().to_vec());
        self.connection.ask(move |line, _| {
            let statement = line.statement(
                "SELECT position FROM stonewear.entry WHERE laboratory = $1 AND request = $2 \
                 ORDER BY position",
            )?;
            let rows = line.client.query(&statement, &[&&*laboratory, &request])?;
            rows.iter().map(|row| position(row, 0)).collect()
        })
    }

    fn find_requests(&self, beginning: &str) -> Result<Vec<(u64, String)>, StoreError> {
        let (laboratory, beginning) = (self.laboratory.clone(), beginning.as_bytes().to_vec());
        // No text holds this byte, so it stands behind every key that begins so.
        let beyond = [beginning.as_slice(), &[0xff]].concat();
        self.connection.ask(move |line, _| {
            let statement = line.statement(
                "SELECT position, request FROM stonewear.entry \
                 WHERE laboratory = $1 AND request >= $2 AND request < $3 ORDER BY position",
            )?;
            let rows = line.client.query(&statement, &[&&*laboratory, &beginning, &beyond])?;
            rows.iter().map(|row| Ok((position(row, 0)?, text(row, 1)?.to_owned()))).collect()
        })
    }

    fn put_blob(&mut self, bytes: &[u8]) -> Result<Hash, StoreError> {
        let hash = Hash::of(bytes);
        let (laboratory, bytes) = (self.laboratory.clone(), Arc::<[u8]>::from(bytes));
        self.connection.ask(move |line, _| {
            let statement = line.statement(
                "INSERT INTO stonewear.blob (laboratory, sha256, bytes) VALUES ($1, $2, $3) \
                 ON CONFLICT DO NOTHING",
            )?;
            line.client
                .execute(&statement, &[&&*laboratory, &&hash.as_bytes()[..], &&bytes[..]])?;
            Ok(hash)
        })
    }

    fn get_blob(&self, hash: Hash) -> Result<Option<Vec<u8>>, StoreError> {
        let laboratory = self.laboratory.clone();
        let bytes: Option<Vec<u8>> = self.connection.ask(move |line, _| {
            let statement = line.statement(
                "SELECT bytes FROM stonewear.blob WHERE laboratory = $1 AND sha256 = $2",
            )?;
            let row = line.client.query_opt(&statement, &[&&*laboratory, &&hash.as_bytes()[..]])?;
            Ok(row.map(|row| row.get(0)))
        })?;
        match bytes {
            Some(bytes) if Hash::of(&bytes) != hash => Err(StoreError::Damaged(changed_file(hash))),
            other => Ok(other),
        }
    }
}

fn append(
    line: &mut Line,
    laboratory: &str,
    expected: Head,
    drafts: &[Draft],
    results: &[ResultRow],
) -> Result<Vec<Entry>, StoreError> {
    let locked = line.statement(HEAD_LOCKED)?;
    let (insert, move_head) = (line.statement(INSERT)?, line.statement(MOVE_HEAD)?);
    let put_results = if results.is_empty() { None } else { Some(line.statement(PUT_RESULTS)?) };
    // Dropped before its commit, a transaction is rolled back.
    let mut transaction = line.client.transaction()?;
    // Taken before anything is compared: nobody else can append in between.
    let found = head_of(transaction.query_opt(&locked, &[&laboratory])?)?;
    if found != expected {
        return Err(StoreError::Conflict { expected, found });
    }
    let entries = sealed(found, drafts)?;
    let Some(last) = entries.last() else {
        return Ok(entries);
    };
    let columns = |entry: &Entry| to_column(entry.position);
    let positions = entries.iter().map(columns).collect::<Result<Vec<i64>, _>>()?;
    let hashes: Vec<&[u8]> = entries.iter().map(|entry| &entry.hash.as_bytes()[..]).collect();
    let requests: Vec<&[u8]> = entries.iter().map(|entry| entry.request.as_bytes()).collect();
    let canonical: Vec<&[u8]> = entries.iter().map(Entry::canonical_bytes).collect();
    transaction.execute(&insert, &[&laboratory, &positions, &hashes, &requests, &canonical])?;
    let end = to_column(last.position)?;
    transaction.execute(&move_head, &[&laboratory, &end, &&last.hash.as_bytes()[..]])?;
    if let Some(statement) = put_results {
        let rows =
            serde_json::to_string(results).map_err(|error| StoreError::Other(error.into()))?;
        transaction.execute(&statement, &[&laboratory, &rows])?;
    }
    transaction.commit()?;
    Ok(entries)
}

/// What drafts become behind an entry.
fn sealed(head: Head, drafts: &[Draft]) -> Result<Vec<Entry>, StoreError> {
    Entry::seal_each(head, &mut drafts.iter().cloned().map(Ok), |_| Ok(()))
}

/// Hands on rows until `hand_on` says no or there are no more, and says where the journal ends, all of one
/// moment.
fn read(
    line: &mut Line,
    laboratory: &str,
    from: u64,
    hand_on: &mut dyn FnMut(Vec<Row>) -> bool,
) -> Result<Head, StoreError> {
    let (statement, head) = (line.statement(READ)?, line.statement(HEAD)?);
    let from = if from <= 1 { i64::MIN } else { i64::try_from(from).unwrap_or(i64::MAX) };
    let mut transaction = line
        .client
        .build_transaction()
        .isolation_level(IsolationLevel::RepeatableRead)
        .read_only(true)
        .start()?;
    let portal = transaction.bind(&statement, &[&laboratory, &from])?;
    loop {
        let rows = transaction.query_portal(&portal, FETCHED)?;
        let is_last = rows.len() < usize::try_from(FETCHED).unwrap_or(usize::MAX);
        if (!rows.is_empty() && !hand_on(rows)) || is_last {
            break;
        }
    }
    head_of(transaction.query_opt(&head, &[&laboratory])?)
}

fn head_of(row: Option<Row>) -> Result<Head, StoreError> {
    let row =
        row.ok_or_else(|| StoreError::Damaged("the record of where it ends is missing".into()))?;
    Ok(Head { position: position(&row, 0)?, hash: hash(&row, 1)? })
}

fn raw_entry(row: &Row) -> Result<RawEntry<'_>, StoreError> {
    Ok(RawEntry {
        // A place below 1 cannot be told as one; 0 is never the next, so it is found all the same.
        position: position(row, 0).unwrap_or(0),
        hash: hash(row, 1)?,
        request: text(row, 2)?,
        bytes: row.try_get(3).map_err(unreadable)?,
    })
}

fn position(row: &Row, column: usize) -> Result<u64, StoreError> {
    let position: i64 = row.try_get(column).map_err(unreadable)?;
    u64::try_from(position)
        .map_err(|_| StoreError::Damaged(format!("{position} is no place of a journal")))
}

fn hash(row: &Row, column: usize) -> Result<Hash, StoreError> {
    let bytes: &[u8] = row.try_get(column).map_err(unreadable)?;
    let bytes = bytes.try_into();
    bytes.map(Hash::from_bytes).map_err(|_| StoreError::Damaged("a hash has 32 bytes".into()))
}

fn text(row: &Row, column: usize) -> Result<&str, StoreError> {
    let bytes: &[u8] = row.try_get(column).map_err(unreadable)?;
    std::str::from_utf8(bytes)
        .map_err(|error| StoreError::Damaged(format!("the key of a request is no text: {error}")))
}

fn unreadable(error: postgres::Error) -> StoreError {
    StoreError::Damaged(error.to_string())
}

fn to_column(position: u64) -> Result<i64, StoreError> {
    i64::try_from(position).map_err(|error| StoreError::Other(error.into()))
}

fn changed_file(hash: Hash) -> String {
    format!("the attached file {hash} was changed after it was kept")
}
