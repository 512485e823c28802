//! What comes in: anybody's table, CSV or workbook, as rows that the laboratory can judge.
//!
//! [`read`] turns bytes into sheets of cells, within limits; a column for each sieve becomes a row for
//! each. [`suggest`] finds the heading row, says
//! which column is what, and whether day and month have to be asked for. [`request`] puts days and
//! numbers into one form and hands the rows on; whether they are right, the laboratory says.
//! [`bad_rows`] hands back what is to be mended.

mod book;
mod days;
mod mend;
mod numbers;
mod plan;
mod suggest;
mod text;
mod wide;
mod workbook;

pub use book::{Book, Cell, ReadError, Row, Sheet};
pub use days::DayOrder;
pub use mend::{bad_rows, row_of};
pub use plan::{Plan, PlanError, Source, SourceFile, request};
pub use suggest::{Field, Layout, Order, fields, guess_what, suggest};

/// The media type of a workbook.
pub const XLSX: &str = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet";

/// Reads a file by its content: a workbook, or else text. What its name claims is not believed.
///
/// # Errors
/// When it is neither, or larger than it may be; in words that say what would be right.
pub fn read(bytes: &[u8]) -> Result<Book, ReadError> {
    if bytes.len() > book::LARGEST_FILE {
        return Err(ReadError::TooLarge { bytes: bytes.len() });
    }
    let mut book = if bytes.starts_with(b"PK\x03\x04") {
        Book { media_type: XLSX, sheets: workbook::read(bytes)? }
    } else if bytes.starts_with(&[0xD0, 0xCF, 0x11, 0xE0]) {
        return Err(ReadError::OldWorkbook);
    } else {
        Book { media_type: "text/csv", sheets: vec![text::read(bytes)?] }
    };
    for sheet in &mut book.sheets {
        if let Some(long) = wide::lengthened(sheet)? {
            *sheet = long;
        }
    }
    match book.sheets.iter().all(|sheet| sheet.rows.is_empty()) {
        true => Err(ReadError::Empty),
        false => Ok(book),
    }
}
