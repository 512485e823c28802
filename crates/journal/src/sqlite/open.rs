//! Creating and opening the file, and refusing what is not ours.

use super::SqliteStore;
use crate::store::{Head, StoreError};
use rusqlite::{Connection, ErrorCode, OpenFlags, TransactionBehavior, params};
use std::path::{Path, PathBuf};
use std::time::Duration;

/// `SWJ1` as a number: written into the file's header, so that it says whose it is.
const APPLICATION: i64 = 0x5357_4a31;

/// The format that this program writes, and the latest that it knows.
const FORMAT: i64 = 1;

/// How long to wait for another process before giving up.
const PATIENCE: Duration = Duration::from_secs(5);

const SCHEMA: &str = include_str!("schema.sql");

impl SqliteStore {
    /// Creates an empty journal at `path` and opens it for appending.
    ///
    /// # Errors
    /// [`StoreError::AlreadyThere`] or [`StoreError::NotAJournal`] when something stands there;
    /// an empty file (left by a creation that was cut short) is taken over.
    pub fn create(path: &Path) -> Result<Self, StoreError> {
        let mut connection = connect(path, OpenFlags::SQLITE_OPEN_CREATE)?;
        let empty = is_empty(&connection).map_err(|error| unreadable(path, error))?;
        if !empty {
            check_format(&connection, path)?;
            return Err(StoreError::AlreadyThere(path.to_owned()));
        }
        make_durable(&connection)?;
        let transaction = connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
        // Asked again: somebody else may have been quicker.
        if !is_empty(&transaction)? {
            return Err(StoreError::AlreadyThere(path.to_owned()));
        }
        transaction.execute_batch(SCHEMA)?;
        transaction.execute(
            "INSERT INTO head (only, position, hash) VALUES (1, 0, ?1)",
            params![Head::GENESIS.hash.as_bytes()],
        )?;
        transaction.pragma_update(None, "application_id", APPLICATION)?;
        transaction.pragma_update(None, "user_version", FORMAT)?;
        transaction.commit()?;
        Ok(Self { connection })
    }

    /// Opens the journal at `path` for appending.
    ///
    /// # Errors
    /// [`StoreError::Missing`], [`StoreError::NotAJournal`], [`StoreError::Newer`];
    /// [`StoreError::ReadOnly`] when the file may not be written.
    pub fn open(path: &Path) -> Result<Self, StoreError> {
        let connection = connect_existing(path, OpenFlags::empty())?;
        // Asked first: where nothing can be written, the first look would fail for want of the files
        // that readers and a writer share.
        if connection.is_readonly("main")? {
            return Err(StoreError::ReadOnly);
        }
        check_format(&connection, path)?;
        make_durable(&connection)?;
        Ok(Self { connection })
    }

    /// Opens the journal at `path` for reading, also while another process appends to it.
    /// Appending is refused with [`StoreError::ReadOnly`].
    ///
    /// A journal that was put away where nothing can be written (an archive, a disc) opens too.
    /// It is then read as a file that nobody changes.
    ///
    /// # Errors
    /// [`StoreError::Missing`], [`StoreError::NotAJournal`], [`StoreError::Newer`].
    pub fn open_read_only(path: &Path) -> Result<Self, StoreError> {
        let mut connection = connect_existing(path, OpenFlags::SQLITE_OPEN_READ_ONLY)?;
        if cannot_share(&connection) && !beside(path, "-wal").exists() {
            connection = connect_unchanging(path)?;
        }
        check_format(&connection, path)?;
        Ok(Self { connection })
    }
}

fn connect_existing(path: &Path, flags: OpenFlags) -> Result<Connection, StoreError> {
    match path.try_exists() {
        Ok(true) => connect(path, flags),
        Ok(false) => Err(StoreError::Missing(path.to_owned())),
        Err(error) => Err(StoreError::Other(error.into())),
    }
}

fn connect(path: &Path, flags: OpenFlags) -> Result<Connection, StoreError> {
    let write = if flags.contains(OpenFlags::SQLITE_OPEN_READ_ONLY) {
        OpenFlags::empty()
    } else {
        OpenFlags::SQLITE_OPEN_READ_WRITE
    };
    // A connection is used by one thread at a time (Rust sees to it), so SQLite need not lock.
    let connection =
        Connection::open_with_flags(path, flags | write | OpenFlags::SQLITE_OPEN_NO_MUTEX)?;
    connection.busy_timeout(PATIENCE)?;
    Ok(connection)
}

/// Whether the first look fails because the files that readers and a writer share cannot be made.
fn cannot_share(connection: &Connection) -> bool {
    let failure = number(connection, "application_id").err();
    let code = failure.and_then(|error| error.sqlite_error_code());
    matches!(code, Some(ErrorCode::ReadOnly | ErrorCode::CannotOpen))
}

/// The file that SQLite keeps beside the journal, by its ending.
fn beside(path: &Path, ending: &str) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push(ending);
    name.into()
}

/// Opens a file whose folder allows nothing to be written, and which has no write-ahead log: no
/// process can be writing to it, so it may be read without the files that processes share.
pub(super) fn connect_unchanging(path: &Path) -> Result<Connection, StoreError> {
    let plain = |byte: &u8| byte.is_ascii_alphanumeric() || b"/._-".contains(byte);
    let mut uri = String::from("file:");
    for byte in path.as_os_str().as_encoded_bytes() {
        if plain(byte) {
            uri.push(char::from(*byte));
        } else {
            uri.push_str(&format!("%{byte:02X}"));
        }
    }
    uri.push_str("?immutable=1");
    connect(Path::new(&uri), OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_URI)
}

/// A commit must be on the disk before it returns. The write-ahead log lets others read meanwhile.
fn make_durable(connection: &Connection) -> Result<(), StoreError> {
    let mode: String =
        connection.pragma_update_and_check(None, "journal_mode", "wal", |row| row.get(0))?;
    if !mode.eq_ignore_ascii_case("wal") {
        return Err(StoreError::Other(
            "its folder does not allow a write-ahead log (a network drive?); \
             keep the journal on a disk of this computer"
                .into(),
        ));
    }
    connection.pragma_update(None, "synchronous", "full")?;
    // On macOS a plain sync stops at the drive's own memory; elsewhere these do nothing.
    connection.pragma_update(None, "fullfsync", true)?;
    connection.pragma_update(None, "checkpoint_fullfsync", true)?;
    Ok(())
}

fn is_empty(connection: &Connection) -> rusqlite::Result<bool> {
    let objects: i64 =
        connection.query_row("SELECT count(*) FROM sqlite_schema", [], |row| row.get(0))?;
    Ok(objects == 0 && number(connection, "application_id")? == 0)
}

fn check_format(connection: &Connection, path: &Path) -> Result<(), StoreError> {
    let not_a_journal =
        |why: &str| StoreError::NotAJournal { path: path.to_owned(), why: why.to_owned() };
    let application =
        number(connection, "application_id").map_err(|error| unreadable(path, error))?;
    match application {
        APPLICATION => {}
        0 if is_empty(connection)? => return Err(not_a_journal("the file is empty")),
        _ => return Err(not_a_journal("the database belongs to another program")),
    }
    let found = number(connection, "user_version")?;
    if found > FORMAT {
        return Err(StoreError::Newer { path: path.to_owned(), found, known: FORMAT });
    }
    if found < FORMAT {
        return Err(not_a_journal("it names no format that ever was"));
    }
    Ok(())
}

fn number(connection: &Connection, pragma: &str) -> rusqlite::Result<i64> {
    connection.pragma_query_value(None, pragma, |row| row.get(0))
}

/// The first look at a file: one that is no database at all is told apart here.
fn unreadable(path: &Path, error: rusqlite::Error) -> StoreError {
    if error.sqlite_error_code() == Some(ErrorCode::NotADatabase) {
        StoreError::NotAJournal { path: path.to_owned(), why: "it is no SQLite database".into() }
    } else {
        error.into()
    }
}
