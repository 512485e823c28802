//! What was taken over from spreadsheets of the time before the laboratory was kept here. It is
//! never mixed with what was observed here: these facts are of their own kind, and each row names
//! the file and its number in it.

use crate::code::{ImportCode, ItemCode};
use jiff::civil::Date;
use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;
use stonewear_measure::Decimal;
use thiserror::Error;

/// What the rows of a file are.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum ImportKind {
    /// Pieces of equipment: each becomes an item that is still to be proved.
    Equipment,
    /// Past losses of reference aggregate.
    References,
    /// Past tests.
    Tests,
    /// Past sieve analyses, one row a sieve.
    SieveAnalyses,
}

impl ImportKind {
    /// Every kind, in the order in which they are offered.
    pub const ALL: [Self; 4] =
        [Self::Equipment, Self::References, Self::Tests, Self::SieveAnalyses];

    /// As requests and commands write it.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Equipment => "equipment",
            Self::References => "references",
            Self::Tests => "tests",
            Self::SieveAnalyses => "sieve-analyses",
        }
    }

    /// In words: `past reference results`.
    pub fn in_words(self) -> &'static str {
        match self {
            Self::Equipment => "equipment",
            Self::References => "past reference results",
            Self::Tests => "past tests",
            Self::SieveAnalyses => "past sieve analyses",
        }
    }
}

impl fmt::Display for ImportKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.as_str())
    }
}

/// A text that names no kind of rows.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("“{0}” is nothing that can be imported; write {list}", list = ImportKind::ALL.map(ImportKind::as_str).join(", "))]
pub struct UnknownImportKind(String);

impl FromStr for ImportKind {
    type Err = UnknownImportKind;
    fn from_str(text: &str) -> Result<Self, UnknownImportKind> {
        let named = |kind: &Self| kind.as_str() == text;
        Self::ALL.into_iter().find(named).ok_or_else(|| UnknownImportKind(text.to_owned()))
    }
}

/// A file was taken over; what its rows became follows in the facts of the same request. Its bytes
/// are kept beside the journal, under their hash.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct FileImported {
    /// The import: `H26-001`.
    pub import: ImportCode,
    /// What its rows are.
    pub what: ImportKind,
    /// Name of the file.
    pub name: String,
    /// Its media type.
    pub media_type: String,
    /// The SHA-256 of its bytes.
    pub sha256: String,
    /// How many bytes it has.
    pub bytes: u64,
    /// The sheet of a workbook.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub sheet: String,
    /// Which column was taken as what.
    pub columns: Vec<TakenColumn>,
    /// How many rows were read.
    pub rows: u64,
    /// How many of them were here already, from an earlier import.
    #[serde(default)]
    pub known: u64,
    /// Rows that were left out because something is wrong with them.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub left_out: Vec<LeftOutRow>,
    /// The items that its rows became.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub items: Vec<ImportedItem>,
}

/// A column that was taken as something.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct TakenColumn {
    /// As what.
    pub field: String,
    /// How the file calls it; empty where the same was said of every row.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub heading: String,
}

/// A row that was left out.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct LeftOutRow {
    /// Its number in the file.
    pub row: u64,
    /// What is wrong with it.
    pub why: String,
}

/// An item that a row became.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ImportedItem {
    /// Number of the row in the file.
    pub row: u64,
    /// The item.
    pub item: ItemCode,
}

/// Past tests of an import.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PastTestsImported {
    /// The import.
    pub import: ImportCode,
    /// The tests, in the order of the file.
    pub tests: Vec<PastTest>,
}

/// A test that was done before the laboratory was kept here, as the file says.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct PastTest {
    /// Number of the row in the file.
    pub row: u64,
    /// The day of the test.
    pub on: Date,
    /// What the file calls the sample.
    pub sample: String,
    /// Where the material comes from.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub source: String,
    /// What it is.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub material: String,
    /// What the file calls the method.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub method: String,
    /// What the file calls the grading.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub grading: String,
    /// Mass before the run, g.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub before_g: Option<Decimal>,
    /// Mass after the run, g.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub after_g: Option<Decimal>,
    /// The loss as it is written, %.
    pub loss_percent: Decimal,
    /// Who tested.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub operator: String,
    /// Anything else.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub note: String,
}

/// Past sieve analyses of an import.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PastSievingsImported {
    /// The import.
    pub import: ImportCode,
    /// The analyses, in the order of the file.
    pub analyses: Vec<PastSieving>,
}

/// A sieve analysis that was done before the laboratory was kept here.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PastSieving {
    /// Number of its first row in the file.
    pub row: u64,
    /// The day.
    pub on: Date,
    /// What the file calls the sample.
    pub sample: String,
    /// What each sieve kept or let pass, coarsest first; the pan, if it was weighed, is last and
    /// has no opening.
    pub sieves: Vec<PastSieve>,
}

/// One sieve of a past analysis.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct PastSieve {
    /// Its opening, mm; absent for the pan.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub opening_mm: Option<Decimal>,
    /// What it kept, g.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub retained_g: Option<Decimal>,
    /// What passed it, %.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub passing_percent: Option<Decimal>,
}
