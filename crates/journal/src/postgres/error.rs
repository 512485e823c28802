//! PostgreSQL's troubles in the words of a user.

use crate::store::StoreError;
use postgres::Error;
use postgres::error::SqlState;

/// Why a database cannot be worked with, before any fact is touched.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum DatabaseError {
    /// The name of a laboratory is none.
    #[error(
        "“{0}” is not the name of a laboratory in a database; write up to 40 small letters, digits and \
         hyphens, beginning with a letter, such as granite-hill"
    )]
    Name(String),
    /// The address is none.
    #[error(
        "the address of the database cannot be read: {0}; write it like \
         postgres://granite@db.example.org/stonewear"
    )]
    Address(String),
    /// The line to another machine would not be encrypted.
    #[error(
        "the database {0} is on another machine and the line would not be encrypted; leave sslmode=disable \
         out, or reach it through an encrypted tunnel that ends on this machine"
    )]
    Unencrypted(String),
    /// Nothing was made there.
    #[error(
        "the database {0} is not prepared for laboratories; its owner does that once: \
         stonewear database prepare"
    )]
    NotPrepared(String),
    /// It was made by a later version of the program.
    #[error(
        "the tables in the database {database} have format {found}; this program knows format {known}: \
         use a later version of the program"
    )]
    Newer {
        /// The database.
        database: String,
        /// The format of its tables.
        found: i32,
        /// The latest that this program knows.
        known: i32,
    },
    /// The role is not held by row-level security, or could change the tables.
    #[error(
        "the role “{role}” {why}, so nothing keeps it from the facts of other laboratories or from changing \
         them; make a role of its own for the laboratory (createuser --no-superuser NAME) and admit it: \
         stonewear database admit LABORATORY --role NAME"
    )]
    TooMighty {
        /// The role.
        role: String,
        /// What it is.
        why: &'static str,
    },
    /// The role has nothing to do there.
    #[error(
        "the role “{role}” works in no laboratory of the database {database}; its owner lets it: \
         stonewear database admit LABORATORY --role {role}"
    )]
    Stranger {
        /// The database.
        database: String,
        /// The role.
        role: String,
    },
    /// The laboratory is not there, or not for this role.
    #[error(
        "there is no laboratory “{laboratory}” in the database {database} that the role “{role}” may work in; \
         the owner of the database admits it: stonewear database admit {laboratory} --role {role}"
    )]
    NotAdmitted {
        /// The laboratory.
        laboratory: String,
        /// The database.
        database: String,
        /// The role.
        role: String,
    },
    /// A commit would not wait for the disk.
    #[error(
        "the database server was told not to wait for its disk (fsync is off), so what it acknowledges can be \
         lost; set fsync = on"
    )]
    NotDurable,
    /// There is no such role.
    #[error(
        "there is no role “{0}” on the database server; make it first: createuser --no-superuser {0}"
    )]
    NoRole(String),
    /// The role may not make the tables.
    #[error(
        "the role may not do this ({0}); preparing a database and admitting laboratories need the role that \
         owns the database and may make roles (CREATEROLE)"
    )]
    NotOwner(String),
    /// A file with certificates cannot be read.
    #[error("the certificates in {0} cannot be read: {1}")]
    Certificates(String, String),
}

impl From<DatabaseError> for StoreError {
    fn from(error: DatabaseError) -> Self {
        Self::Database(Box::new(error))
    }
}

impl From<Error> for StoreError {
    fn from(error: Error) -> Self {
        let words = in_words(&error);
        let Some(code) = error.code() else {
            // No answer came from the server: it is away, or the line is.
            return Self::Unreachable(words);
        };
        let is = |known: &SqlState| code == known;
        let class = &code.code()[..2];
        if is(&SqlState::DISK_FULL) {
            Self::DiskFull
        } else if is(&SqlState::IO_ERROR) {
            Self::Failing(words)
        } else if is(&SqlState::READ_ONLY_SQL_TRANSACTION) || is(&SqlState::INSUFFICIENT_PRIVILEGE)
        {
            Self::ReadOnly
        } else if is(&SqlState::LOCK_NOT_AVAILABLE)
            || is(&SqlState::T_R_DEADLOCK_DETECTED)
            || is(&SqlState::T_R_SERIALIZATION_FAILURE)
        {
            Self::Busy
        } else if is(&SqlState::DATA_CORRUPTED) || is(&SqlState::INDEX_CORRUPTED) {
            Self::Damaged(format!("PostgreSQL says: {words}"))
        } else if class == "08"
            || class == "28"
            || class == "3D"
            || class == "53"
            || is(&SqlState::ADMIN_SHUTDOWN)
            || is(&SqlState::CRASH_SHUTDOWN)
            || is(&SqlState::CANNOT_CONNECT_NOW)
        {
            Self::Unreachable(words)
        } else {
            Self::Other(error.into())
        }
    }
}

/// What went wrong, with what lies behind it.
pub(super) fn in_words(error: &Error) -> String {
    if let Some(said) = error.as_db_error() {
        return said.message().to_owned();
    }
    let mut words = error.to_string();
    let mut behind = std::error::Error::source(error);
    while let Some(cause) = behind {
        let said = cause.to_string();
        if !words.contains(&said) {
            words = format!("{words}: {said}");
        }
        behind = cause.source();
    }
    words
}
