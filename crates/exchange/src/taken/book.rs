//! Sheets of cells, and how large they may be.

use jiff::civil::Date;
use thiserror::Error;

/// The largest file that is taken, as with attached files: 20 MB.
pub(super) const LARGEST_FILE: usize = 20_000_000;
/// A workbook may unpack to so many bytes: a few hundred thousand rows, and no more memory than a
/// small machine has.
pub(super) const LARGEST_UNPACKED: u64 = 150_000_000;
/// Sheets of one workbook.
pub(super) const MOST_SHEETS: usize = 50;
/// Cells of one file that are not empty.
pub(super) const MOST_CELLS: usize = 3_000_000;
/// Columns.
pub(super) const MOST_COLUMNS: usize = 256;
/// Characters of a cell.
pub(super) const LONGEST_CELL: usize = 10_000;

/// A file that was read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Book {
    /// Its media type, by its content.
    pub media_type: &'static str,
    /// Its sheets; text is one without a name.
    pub sheets: Vec<Sheet>,
}

impl Book {
    /// The sheet with this name; where none is named, the first that holds something.
    pub fn sheet(&self, name: &str) -> Option<&Sheet> {
        match name.trim() {
            "" => self.sheets.iter().find(|sheet| !sheet.rows.is_empty()),
            name => self.sheets.iter().find(|sheet| sheet.name == name),
        }
    }
}

/// One sheet.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Sheet {
    /// Its name.
    pub name: String,
    /// The rows that are not blank.
    pub rows: Vec<Row>,
}

/// One row.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Row {
    /// Its number in the file, from 1; in text its line.
    pub number: u64,
    /// Its cells, from the first column on.
    pub cells: Vec<Cell>,
}

/// One cell.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Cell {
    /// Nothing.
    Empty,
    /// Text as it is written.
    Text(String),
    /// A number of a workbook, in decimal digits.
    Number(String),
    /// A day of a workbook.
    Day(Date),
}

impl Cell {
    /// As text; a day as ISO 8601 writes it.
    pub fn as_text(&self) -> String {
        match self {
            Self::Empty => String::new(),
            Self::Text(text) | Self::Number(text) => text.clone(),
            Self::Day(day) => day.to_string(),
        }
    }

    pub(super) fn is_empty(&self) -> bool {
        match self {
            Self::Empty => true,
            Self::Text(text) => text.trim().is_empty(),
            Self::Number(_) | Self::Day(_) => false,
        }
    }
}

/// A sheet of texts, for tests.
#[cfg(test)]
pub(super) fn sheet_of(rows: &[&[&str]]) -> Sheet {
    let row = |(number, cells): (u64, &&[&str])| Row {
        number,
        cells: cells.iter().map(|cell| Cell::Text((*cell).to_owned())).collect(),
    };
    Sheet { name: String::new(), rows: (1..).zip(rows).map(row).collect() }
}

/// Counts what is read, and stops where it becomes too much.
#[derive(Debug, Default)]
pub(super) struct Budget {
    cells: usize,
}

impl Budget {
    /// One more cell, at a row and a column counted from 1.
    pub(super) fn take(
        &mut self,
        row: u64,
        column: usize,
        letters: usize,
    ) -> Result<(), ReadError> {
        if column > MOST_COLUMNS {
            return Err(ReadError::TooWide { row });
        }
        // Bytes are counted first: they are at hand, and at least as many as characters.
        if letters > LONGEST_CELL {
            return Err(ReadError::GiantCell { row, column, letters });
        }
        self.cells += 1;
        if self.cells > MOST_CELLS { Err(ReadError::TooManyCells) } else { Ok(()) }
    }
}

/// Why a file cannot be read.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum ReadError {
    /// The file is larger than it may be.
    #[error(
        "the file has {bytes} bytes; at most {LARGEST_FILE} (20 MB) are read: import it in parts"
    )]
    TooLarge {
        /// How many bytes it has.
        bytes: usize,
    },
    /// A workbook that would unpack to too much.
    #[error(
        "the workbook unpacks to more than {LARGEST_UNPACKED} bytes (150 MB), which no list of a laboratory needs: save only the sheet that is wanted, as CSV"
    )]
    Bomb,
    /// A workbook with too many sheets.
    #[error(
        "the workbook has more than {MOST_SHEETS} sheets: save the one that is wanted by itself"
    )]
    TooManySheets,
    /// More cells than are read.
    #[error("the file holds more than {MOST_CELLS} cells: import it in parts")]
    TooManyCells,
    /// A row that is too wide.
    #[error("row {row} has more than {MOST_COLUMNS} columns: delete those that are not needed")]
    TooWide {
        /// The row.
        row: u64,
    },
    /// A cell that holds too much.
    #[error(
        "row {row}, column {column}: the cell holds {letters} characters, at most {LONGEST_CELL} are read; is it a whole document?"
    )]
    GiantCell {
        /// The row.
        row: u64,
        /// The column, from 1.
        column: usize,
        /// How many.
        letters: usize,
    },
    /// A workbook of the old binary kind.
    #[error("this is a workbook of the old kind (.xls): save it as .xlsx or as CSV")]
    OldWorkbook,
    /// Something else than a table.
    #[error("this is no table: {0}; import a CSV file or a workbook (.xlsx)")]
    NotATable(String),
    /// Nothing is in it.
    #[error("the file holds no row")]
    Empty,
}
