//! SQLite's troubles in the words of a user.

use crate::store::StoreError;
use rusqlite::{Error, ErrorCode};

impl From<Error> for StoreError {
    fn from(error: Error) -> Self {
        match error.sqlite_error_code() {
            Some(ErrorCode::DiskFull) => Self::DiskFull,
            Some(ErrorCode::SystemIoFailure) => Self::Failing(error.to_string()),
            Some(ErrorCode::ReadOnly) => Self::ReadOnly,
            Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked) => Self::Busy,
            Some(ErrorCode::DatabaseCorrupt | ErrorCode::NotADatabase) => {
                Self::Damaged(format!("SQLite says: {error}"))
            }
            _ => match error {
                // A value of another type or size than the tables allow, or a row that must be.
                Error::InvalidColumnType(..)
                | Error::FromSqlConversionFailure(..)
                | Error::IntegralValueOutOfRange(..) => Self::Damaged(error.to_string()),
                other => Self::Other(other.into()),
            },
        }
    }
}
