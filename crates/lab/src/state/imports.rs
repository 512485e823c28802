//! What was taken over from files of the past, and where it came from.

use super::{Lab, Noted};
use crate::code::ImportCode;
use crate::fact::{FileImported, PastSieving, PastTest};
use serde::Serialize;

/// A file that was taken over, with what its rows became.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct FileImport {
    /// The file, and how it was read.
    pub file: Noted<FileImported>,
    /// Past tests.
    pub tests: Vec<PastTest>,
    /// Past sieve analyses.
    pub sievings: Vec<PastSieving>,
    /// Imports of reference results that it became: `M26-001`.
    pub references: Vec<String>,
    /// How many reference results these are.
    pub reference_results: usize,
}

impl FileImport {
    /// Its code.
    pub fn code(&self) -> &ImportCode {
        &self.file.value.import
    }

    /// How many things its rows became.
    pub fn made(&self) -> usize {
        self.file.value.items.len()
            + self.tests.len()
            + self.sievings.len()
            + self.reference_results
    }
}

impl Lab {
    /// The import and the row that an item came from, if it was not registered by hand.
    pub fn origin_of_item(&self, item: &str) -> Option<(&FileImport, u64)> {
        self.file_imports.values().find_map(|import| {
            let made = import.file.value.items.iter().find(|made| made.item.as_str() == item)?;
            Some((import, made.row))
        })
    }

    /// Imports of the very same file, oldest first.
    pub fn imports_of_file<'a>(&'a self, sha256: &'a str) -> impl Iterator<Item = &'a FileImport> {
        self.file_imports.values().filter(move |import| import.file.value.sha256 == sha256)
    }
}
