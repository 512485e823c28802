//! What can be wrong with a table.

use thiserror::Error;

/// A fault in a table: where, what, and what would be right.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum TableError {
    /// The bytes are not text.
    #[error("line {line}: these bytes are not UTF-8; save the file as UTF-8")]
    NotText {
        /// Line, counted from 1.
        line: usize,
    },
    /// Nothing but white space.
    #[error(
        "the file is empty; it needs a header row with the names of the columns, and rows of values"
    )]
    Empty,
    /// A header and nothing else.
    #[error("there is a header ({columns}) and no row of values below it")]
    NoRows {
        /// The names found.
        columns: String,
    },
    /// The first row looks like values.
    #[error(
        "line {line}: the first row holds numbers only; the file needs a header row with the names of \
         the columns"
    )]
    NoHeader {
        /// Line, counted from 1.
        line: usize,
    },
    /// A name stands twice in the header.
    #[error("line {line}: two columns are called {name:?}; every column needs a name of its own")]
    SameName {
        /// Line of the header.
        line: usize,
        /// The name.
        name: String,
    },
    /// A column has no name.
    #[error("line {line}: column {column} has no name")]
    NoName {
        /// Line of the header.
        line: usize,
        /// Which column, counted from 1.
        column: usize,
    },
    /// A row of another length.
    #[error("line {line}: {found} cells where the header has {expected} ({columns})")]
    Ragged {
        /// Line, counted from 1.
        line: usize,
        /// Cells found.
        found: usize,
        /// Cells expected.
        expected: usize,
        /// Names of the columns.
        columns: String,
    },
    /// A quote that is never closed.
    #[error("line {line}: a quote is opened here and never closed")]
    OpenQuote {
        /// Line on which it opens.
        line: usize,
    },
    /// Text directly behind a closing quote.
    #[error(
        "line {line}: text follows a closing quote; a quote inside a quoted cell is written twice"
    )]
    AfterQuote {
        /// Line, counted from 1.
        line: usize,
    },
    /// There is no such column.
    #[error("there is no column {name:?}; the columns are {columns}")]
    NoColumn {
        /// The name asked for.
        name: String,
        /// The names there are.
        columns: String,
    },
    /// Several columns could be meant.
    #[error("which column is meant? The columns are {columns}; name one")]
    WhichColumn {
        /// The names there are.
        columns: String,
    },
    /// A cell that cannot be used.
    #[error("line {line}, column {column}: {what}")]
    Cell {
        /// Line, counted from 1.
        line: usize,
        /// Name of the column.
        column: String,
        /// What is wrong and what would be right.
        what: String,
    },
    /// Decimal comma and decimal point in one file.
    #[error(
        "line {line}: {cell:?} has a decimal comma and other cells have a decimal point; use one of them \
         throughout"
    )]
    MixedDecimals {
        /// Line, counted from 1.
        line: usize,
        /// The cell.
        cell: String,
    },
}
