//! The database: made, opened, shared between the program that serves and the command line.

use crate::challenge::Challenges;
use crate::limits::Limits;
use crate::openid::Question;
use jiff::Timestamp;
use rusqlite::{Connection, OpenFlags};
use sha2::{Digest, Sha256};
use std::path::{Path, PathBuf};
use std::sync::{Mutex, MutexGuard, PoisonError, TryLockError};
use std::time::Duration;

/// The file within the laboratory's folder.
const FILE: &str = "access.sqlite";
/// `SWA1` as a number: written into the file's header, so that it says whose it is.
const APPLICATION: i64 = 0x5357_4131;
/// The format that this program writes.
const FORMAT: i64 = 4;
/// How long to wait for the other program that has the file open.
const PATIENCE: Duration = Duration::from_secs(5);

const TABLES: &str = "
CREATE TABLE token (
    id TEXT PRIMARY KEY,
    name TEXT NOT NULL,
    person TEXT NOT NULL,
    scope TEXT NOT NULL,
    secret_sha256 BLOB NOT NULL,
    made_at TEXT NOT NULL,
    made_by TEXT NOT NULL,
    until TEXT,
    used_at TEXT,
    revoked_at TEXT,
    revoked_by TEXT
) STRICT;
CREATE TABLE answer (
    key TEXT PRIMARY KEY,
    print TEXT NOT NULL,
    status INTEGER NOT NULL,
    body BLOB NOT NULL,
    at TEXT NOT NULL
) STRICT;
CREATE TABLE hook (
    id TEXT PRIMARY KEY,
    url TEXT NOT NULL,
    kinds TEXT NOT NULL,
    secret BLOB NOT NULL,
    allow_private INTEGER NOT NULL,
    made_at TEXT NOT NULL,
    made_by TEXT NOT NULL,
    position INTEGER NOT NULL,
    told_at TEXT,
    failures INTEGER NOT NULL DEFAULT 0,
    failing_since TEXT,
    next_at TEXT,
    trouble TEXT NOT NULL DEFAULT ''
) STRICT;
";

/// What the second format adds: people who prove who they are.
const TABLES_OF_PEOPLE: &str = "
CREATE TABLE setting (
    name TEXT PRIMARY KEY,
    value TEXT NOT NULL
) STRICT;
CREATE TABLE account (
    person TEXT PRIMARY KEY,
    is_owner INTEGER NOT NULL,
    made_at TEXT NOT NULL,
    made_by TEXT NOT NULL,
    phrase TEXT,
    phrase_at TEXT,
    code_sha256 BLOB,
    code_until TEXT,
    closed_at TEXT,
    closed_by TEXT
) STRICT;
CREATE TABLE session (
    number INTEGER PRIMARY KEY AUTOINCREMENT,
    secret_sha256 BLOB NOT NULL UNIQUE,
    person TEXT NOT NULL,
    device INTEGER,
    began_at TEXT NOT NULL,
    seen_at TEXT NOT NULL,
    proved_at TEXT NOT NULL,
    address TEXT NOT NULL,
    browser TEXT NOT NULL,
    ended_at TEXT,
    ended_by TEXT
) STRICT;
CREATE TABLE device (
    number INTEGER PRIMARY KEY AUTOINCREMENT,
    secret_sha256 BLOB NOT NULL UNIQUE,
    made_at TEXT NOT NULL
) STRICT;
CREATE TABLE device_person (
    device INTEGER NOT NULL,
    person TEXT NOT NULL,
    last_at TEXT NOT NULL,
    PRIMARY KEY (device, person)
) STRICT;
CREATE TABLE event (
    number INTEGER PRIMARY KEY AUTOINCREMENT,
    at TEXT NOT NULL,
    kind TEXT NOT NULL,
    person TEXT NOT NULL,
    address TEXT NOT NULL,
    about TEXT NOT NULL,
    hash BLOB NOT NULL
) STRICT;
CREATE TRIGGER event_is_not_changed BEFORE UPDATE ON event
BEGIN SELECT RAISE(ABORT, 'the access log is only added to'); END;
CREATE TRIGGER event_is_not_removed BEFORE DELETE ON event
BEGIN SELECT RAISE(ABORT, 'the access log is only added to'); END;
";

/// What the third format adds: passkeys, and organisations that vouch for people.
const TABLES_OF_KEYS: &str = "
ALTER TABLE account ADD COLUMN handle BLOB;
CREATE TABLE passkey (
    number INTEGER PRIMARY KEY AUTOINCREMENT,
    person TEXT NOT NULL,
    name TEXT NOT NULL,
    site TEXT NOT NULL,
    id BLOB NOT NULL UNIQUE,
    key BLOB NOT NULL,
    counter INTEGER NOT NULL,
    may_be_copied INTEGER NOT NULL,
    added_at TEXT NOT NULL,
    used_at TEXT
) STRICT;
CREATE TABLE vouched (
    issuer TEXT NOT NULL,
    subject TEXT NOT NULL,
    person TEXT NOT NULL,
    linked_at TEXT NOT NULL,
    linked_by TEXT NOT NULL,
    PRIMARY KEY (issuer, subject),
    UNIQUE (issuer, person)
) STRICT;
";

/// What the fourth format adds: by what a session was begun.
const COLUMN_OF_MEANS: &str = "ALTER TABLE session ADD COLUMN means TEXT;";

/// Why the database does not do what was asked.
#[derive(Debug, thiserror::Error)]
pub enum AccessError {
    /// The file cannot be made or opened.
    #[error("{}: {source}", path.display())]
    File {
        /// Which file.
        path: PathBuf,
        /// What the system says.
        source: std::io::Error,
    },
    /// The file belongs to something else, or to a later version.
    #[error("{} is not a file of this version of the program: {why}", path.display())]
    NotOurs {
        /// Which file.
        path: PathBuf,
        /// How that was seen.
        why: String,
    },
    /// What was asked for is not there, or what was given cannot be used.
    #[error("{0}")]
    Wrong(String),
    /// The system gives no chance to make a secret from.
    #[error("the system gives no random bytes: {0}")]
    NoChance(String),
    /// Anything else, in the words of the database.
    #[error("the accounts, tokens and webhooks of the laboratory cannot be used: {0}")]
    Database(#[from] rusqlite::Error),
}

/// The accounts, tokens, kept answers and webhooks of one laboratory.
#[derive(Debug)]
pub struct Access {
    // A connection belongs to one thread at a time.
    connection: Mutex<Connection>,
    limits: Mutex<Limits>,
    challenges: Mutex<Challenges>,
    questions: Mutex<Challenges<(Question, Timestamp)>>,
    id: String,
}

impl Access {
    /// Opens what lies in a laboratory's folder; it is made if it is not there.
    ///
    /// # Errors
    /// When the file cannot be made or opened, or is not ours.
    pub fn open(folder: &Path) -> Result<Self, AccessError> {
        let path = folder.join(FILE);
        if let Err(error) = make_private(&path) {
            return Self::for_reading(&path).map_err(|_| error);
        }
        let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
        let mut connection = Connection::open_with_flags(&path, flags)?;
        connection.busy_timeout(PATIENCE)?;
        let transaction =
            connection.transaction_with_behavior(rusqlite::TransactionBehavior::Immediate)?;
        let number = |name: &str| -> rusqlite::Result<i64> {
            transaction.pragma_query_value(None, name, |row| row.get(0))
        };
        let not_ours = |why: &str| AccessError::NotOurs { path: path.clone(), why: why.to_owned() };
        match (number("application_id")?, number("user_version")?) {
            (APPLICATION, FORMAT) => {}
            (APPLICATION, before @ 1..FORMAT) => bring_up(&transaction, before)?,
            (APPLICATION, later) if later > FORMAT => {
                return Err(not_ours("a later version of the program wrote it"));
            }
            (0, 0) => {
                let objects: i64 =
                    transaction
                        .query_row("SELECT count(*) FROM sqlite_schema", [], |row| row.get(0))?;
                if objects > 0 {
                    return Err(not_ours("the database belongs to another program"));
                }
                transaction.execute_batch(TABLES)?;
                transaction.pragma_update(None, "application_id", APPLICATION)?;
                bring_up(&transaction, 1)?;
            }
            _ => return Err(not_ours("the database belongs to another program")),
        }
        let id =
            transaction
                .query_row("SELECT value FROM setting WHERE name = 'id'", [], |row| row.get(0))?;
        transaction.commit()?;
        // What was answered must be known after a power cut, too.
        connection.pragma_update(None, "synchronous", "full")?;
        Ok(Self {
            connection: Mutex::new(connection),
            limits: Mutex::default(),
            challenges: Mutex::default(),
            questions: Mutex::default(),
            id,
        })
    }

    /// Whether there is a file of ours in a folder.
    pub fn is_in(folder: &Path) -> bool {
        folder.join(FILE).exists()
    }

    /// Eight digits that tell this laboratory's cookies from those of another one that is served
    /// under the same name: a browser keeps cookies by name and not by port.
    pub fn id(&self) -> &str {
        &self.id
    }

    pub(crate) fn limits(&self) -> MutexGuard<'_, Limits> {
        self.limits.lock().unwrap_or_else(PoisonError::into_inner)
    }

    pub(crate) fn challenges(&self) -> MutexGuard<'_, Challenges> {
        self.challenges.lock().unwrap_or_else(PoisonError::into_inner)
    }

    pub(crate) fn questions(&self) -> MutexGuard<'_, Challenges<(Question, Timestamp)>> {
        self.questions.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Opens what lies where nothing can be written: whoever had a token can still read with it.
    fn for_reading(path: &Path) -> Result<Self, AccessError> {
        let flags = OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_NO_MUTEX;
        let connection = Connection::open_with_flags(path, flags)?;
        let number = |name: &str| -> rusqlite::Result<i64> {
            connection.pragma_query_value(None, name, |row| row.get(0))
        };
        if (number("application_id")?, number("user_version")?) != (APPLICATION, FORMAT) {
            let why = "another version of the program wrote it".to_owned();
            return Err(AccessError::NotOurs { path: path.to_owned(), why });
        }
        let id =
            connection
                .query_row("SELECT value FROM setting WHERE name = 'id'", [], |row| row.get(0))?;
        Ok(Self {
            connection: Mutex::new(connection),
            limits: Mutex::default(),
            challenges: Mutex::default(),
            questions: Mutex::default(),
            id,
        })
    }

    // A holder that panicked left the database as its last transaction had it.
    /// Whether nobody is at the accounts just now: then a look at them waits for nobody.
    pub fn is_at_rest(&self) -> bool {
        !matches!(self.connection.try_lock(), Err(TryLockError::WouldBlock))
    }

    pub(crate) fn connection(&self) -> MutexGuard<'_, Connection> {
        self.connection.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

fn add_people(transaction: &rusqlite::Transaction<'_>) -> Result<(), AccessError> {
    transaction.execute_batch(TABLES_OF_PEOPLE)?;
    let id = hex(&random::<4>()?);
    transaction.execute("INSERT INTO setting (name, value) VALUES ('id', ?1)", [id])?;
    Ok(())
}

/// Adds what every later format adds to a database of the format `before`.
fn bring_up(transaction: &rusqlite::Transaction<'_>, before: i64) -> Result<(), AccessError> {
    if before < 2 {
        add_people(transaction)?;
    }
    if before < 3 {
        transaction.execute_batch(TABLES_OF_KEYS)?;
    }
    transaction.execute_batch(COLUMN_OF_MEANS)?;
    transaction.pragma_update(None, "user_version", FORMAT)?;
    Ok(())
}

/// Makes the file before the database does, so that nobody else on the machine can read it.
fn make_private(path: &Path) -> Result<(), AccessError> {
    let mut options = std::fs::OpenOptions::new();
    options.write(true).create(true).truncate(false);
    #[cfg(unix)]
    {
        use std::os::unix::fs::OpenOptionsExt;
        options.mode(0o600);
    }
    let opened = options.open(path);
    opened.map(|_| ()).map_err(|source| AccessError::File { path: path.to_owned(), source })
}

/// Fills `bytes` from the chance of the system.
pub(crate) fn random<const N: usize>() -> Result<[u8; N], AccessError> {
    let mut bytes = [0; N];
    getrandom::fill(&mut bytes).map_err(|error| AccessError::NoChance(error.to_string()))?;
    Ok(bytes)
}

/// A secret that nobody can guess, as it is handed out: 256 bits in hexadecimal.
///
/// # Errors
/// When the system gives no random bytes.
pub fn secret() -> Result<String, AccessError> {
    Ok(hex(&random::<32>()?))
}

/// What is kept of a secret.
pub(crate) fn hash(secret: &str) -> [u8; 32] {
    Sha256::digest(secret.as_bytes()).into()
}

pub(crate) fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

/// An instant as a column keeps it.
pub(crate) fn moment(text: Option<String>) -> Option<Timestamp> {
    text.and_then(|text| text.parse().ok())
}

/// The next number behind the codes of a table: `T-1`, `T-2`, … None is used twice.
pub(crate) fn next_code(
    connection: &Connection,
    table: &str,
    letter: char,
) -> rusqlite::Result<String> {
    let last: Option<i64> = connection.query_row(
        &format!("SELECT max(CAST(substr(id, 3) AS INTEGER)) FROM {table}"),
        [],
        |row| row.get(0),
    )?;
    Ok(format!("{letter}-{}", last.unwrap_or(0) + 1))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn it_is_made_once_and_opened_by_two_programs() {
        let folder = tempfile::tempdir().unwrap();
        let first = Access::open(folder.path()).unwrap();
        let second = Access::open(folder.path()).unwrap();
        assert!(first.tokens().unwrap().is_empty() && second.hooks().unwrap().is_empty());
    }

    #[test]
    fn a_file_of_the_first_format_is_taken_along() {
        let folder = tempfile::tempdir().unwrap();
        let old = Connection::open(folder.path().join(FILE)).unwrap();
        old.execute_batch(TABLES).unwrap();
        old.execute_batch(
            "INSERT INTO token (id, name, person, scope, secret_sha256, made_at, made_by)
             VALUES ('T-1', 'balance bridge', 'IK', 'record', x'00', '2026-01-02T08:00:00Z', 'IK')",
        )
        .unwrap();
        old.pragma_update(None, "application_id", APPLICATION).unwrap();
        old.pragma_update(None, "user_version", 1).unwrap();
        drop(old);
        let access = Access::open(folder.path()).unwrap();
        assert_eq!(access.tokens().unwrap().len(), 1);
        assert!(!access.has_accounts().unwrap());
        let id = access.id().to_owned();
        assert_eq!(id.len(), 8);
        drop(access);
        assert_eq!(Access::open(folder.path()).unwrap().id(), id);
    }

    #[test]
    fn a_file_of_the_second_format_is_taken_along() {
        let folder = tempfile::tempdir().unwrap();
        let mut old = Connection::open(folder.path().join(FILE)).unwrap();
        old.execute_batch(TABLES).unwrap();
        let transaction = old.transaction().unwrap();
        add_people(&transaction).unwrap();
        transaction
            .execute_batch(
                "INSERT INTO account (person, is_owner, made_at, made_by, phrase, phrase_at)
                 VALUES ('IK', 1, '2026-01-02T08:00:00Z', 'IK', 'x', '2026-01-02T08:00:00Z')",
            )
            .unwrap();
        transaction.commit().unwrap();
        old.pragma_update(None, "application_id", APPLICATION).unwrap();
        old.pragma_update(None, "user_version", 2).unwrap();
        drop(old);
        let access = Access::open(folder.path()).unwrap();
        assert!(access.has_accounts().unwrap());
        assert!(access.passkeys("IK").unwrap().is_empty());
        let handle = access.handle("IK").unwrap();
        assert_eq!(handle.len(), 32);
        drop(access);
        assert_eq!(Access::open(folder.path()).unwrap().handle("IK").unwrap(), handle);
    }

    #[test]
    fn a_file_of_the_third_format_is_taken_along() {
        let folder = tempfile::tempdir().unwrap();
        let mut old = Connection::open(folder.path().join(FILE)).unwrap();
        old.execute_batch(TABLES).unwrap();
        let transaction = old.transaction().unwrap();
        add_people(&transaction).unwrap();
        transaction.execute_batch(TABLES_OF_KEYS).unwrap();
        transaction
            .execute(
                "INSERT INTO session (secret_sha256, person, device, began_at, seen_at, proved_at, address, browser)
                 VALUES (?1, 'IK', 1, ?2, ?2, ?2, '', '')",
                rusqlite::params![hash("secret").as_slice(), "2026-01-02T08:00:00Z"],
            )
            .unwrap();
        transaction.commit().unwrap();
        old.pragma_update(None, "application_id", APPLICATION).unwrap();
        old.pragma_update(None, "user_version", 3).unwrap();
        drop(old);
        let access = Access::open(folder.path()).unwrap();
        let now = "2026-01-02T09:00:00Z".parse().unwrap();
        let session = access.session("secret", now).unwrap().unwrap();
        assert_eq!((session.person.as_str(), session.means), ("IK", None));
    }

    #[cfg(unix)]
    #[test]
    fn nobody_else_may_read_it() {
        use std::os::unix::fs::PermissionsExt;
        let folder = tempfile::tempdir().unwrap();
        let _access = Access::open(folder.path()).unwrap();
        let mode = std::fs::metadata(folder.path().join(FILE)).unwrap().permissions().mode();
        assert_eq!(mode & 0o777, 0o600);
    }

    #[test]
    fn a_file_of_another_program_is_left_alone() {
        let folder = tempfile::tempdir().unwrap();
        let other = Connection::open(folder.path().join(FILE)).unwrap();
        other.execute_batch("CREATE TABLE theirs (x)").unwrap();
        drop(other);
        let error = Access::open(folder.path()).unwrap_err().to_string();
        assert!(error.contains("belongs to another program"), "{error}");
    }

    #[test]
    fn a_file_of_a_later_version_is_left_alone() {
        let folder = tempfile::tempdir().unwrap();
        let access = Access::open(folder.path()).unwrap();
        access.connection().pragma_update(None, "user_version", FORMAT + 1).unwrap();
        let error = Access::open(folder.path()).unwrap_err().to_string();
        assert!(error.contains("later version"), "{error}");
    }
}
