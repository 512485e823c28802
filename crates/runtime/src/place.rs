//! Where a laboratory is kept: in a folder by itself, or in a database that it shares with others.

use std::fmt;
use std::path::{Path, PathBuf};
use stonewear_journal::postgres::{DatabaseAddress, LaboratoryName};

/// A laboratory in a database.
#[derive(Debug, Clone)]
pub struct SharedDatabase {
    /// Where the database is, and who asks it.
    pub address: DatabaseAddress,
    /// What the laboratory is called there.
    pub laboratory: LaboratoryName,
}

/// Where a laboratory is kept.
///
/// There is always a folder. It holds the journal, unless that is in a database; and what belongs to this
/// machine: who is let in, the key that signs, method files, where the journal ended when an entry was last
/// acknowledged here.
#[derive(Debug, Clone)]
pub struct Place {
    folder: PathBuf,
    database: Option<SharedDatabase>,
}

impl Place {
    /// A laboratory in a database, with a folder of this machine for what is not shared.
    pub fn in_database(folder: impl Into<PathBuf>, database: SharedDatabase) -> Self {
        Self { folder: folder.into(), database: Some(database) }
    }

    /// The folder.
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// The database that the journal is in; none where it is a file in the folder.
    pub fn database(&self) -> Option<&SharedDatabase> {
        self.database.as_ref()
    }
}

impl<P: AsRef<Path> + ?Sized> From<&P> for Place {
    fn from(folder: &P) -> Self {
        Self { folder: folder.as_ref().to_owned(), database: None }
    }
}

impl From<&Place> for Place {
    fn from(place: &Place) -> Self {
        place.clone()
    }
}

impl fmt::Display for SharedDatabase {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} in the database {}", self.laboratory, self.address)
    }
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match &self.database {
            Some(database) => database.fmt(f),
            None => self.folder.display().fmt(f),
        }
    }
}
