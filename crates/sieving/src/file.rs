//! An analysis from anybody's CSV: columns `sieve_mm` and `retained_g`, last row `pan`.
//!
//! What can be read in one way only is read, and everything that was not as it should be is said;
//! what can be read in two ways is refused with line and reason.

use crate::analysis::Retained;
use crate::sieve::Sieve;
use stonewear_measure::{Decimal, ReadingError};
use stonewear_table::{DecimalSign, Table, TableError};
use thiserror::Error;

/// Names that the column of sieves may have.
const SIEVE_COLUMN: [&str; 2] = ["sieve_mm", "sieve"];
/// Names that the column of masses may have.
const MASS_COLUMN: [&str; 2] = ["retained_g", "retained"];

/// Why a file is not an analysis.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum FileError {
    /// It is no table with the two columns.
    #[error(transparent)]
    Table(#[from] TableError),
    /// The columns are there, but not what separates them.
    #[error(
        "line 1: the header {header:?} is one cell; put a comma, a semicolon or a tab between sieve_mm and retained_g"
    )]
    Separator {
        /// The header as it stands.
        header: String,
    },
    /// A row that would be passed over as a remark.
    #[error(
        "line {line}: a line that begins with # is a remark and would be passed over; write No. {number} for the sieve"
    )]
    LooksLikeARemark {
        /// Line, counted from 1.
        line: usize,
        /// The number of the sieve.
        number: String,
    },
    /// A cell cannot be used.
    #[error("line {line}, column {column}: {what}")]
    Cell {
        /// Line, counted from 1.
        line: usize,
        /// Name of the column.
        column: String,
        /// What is wrong and what would be right.
        what: String,
    },
    /// A sieve, or the pan, stands twice.
    #[error("line {line}: {what} stands already on line {first}; add both up, or put one right")]
    Repeated {
        /// Line of the second.
        line: usize,
        /// Line of the first.
        first: usize,
        /// What stands twice.
        what: String,
    },
    /// There is no pan.
    #[error(
        "there is no row “pan”; what passed the finest sieve belongs to the analysis (write pan with 0 if nothing did)"
    )]
    NoPan,
    /// There is nothing but the pan.
    #[error("there is no sieve; an analysis needs at least one besides the pan")]
    NoSieve,
}

/// What was read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Read {
    /// What the sieves kept, coarsest first.
    pub retained: Vec<Retained>,
    /// What the pan held, g.
    pub pan_g: Decimal,
    /// What was not as it should be and was read all the same, in words.
    pub remarks: Vec<String>,
}

/// Reads a file.
///
/// # Errors
/// Line, column and reason, when it cannot be read or can be read in two ways.
pub fn read(bytes: &[u8]) -> Result<Read, FileError> {
    let table = Table::read(bytes)?;
    refuse_numbered_remarks(bytes)?;
    if let [header] = table.names()
        && SIEVE_COLUMN.iter().any(|name| header.to_lowercase().contains(name))
    {
        return Err(FileError::Separator { header: header.clone() });
    }
    let (sieve_column, mass_column) = (column(&table, &SIEVE_COLUMN), column(&table, &MASS_COLUMN));
    let sieves = table.texts(&sieve_column)?;
    let masses = table.texts(&mass_column)?;
    let comma = uses_decimal_comma(&table, &[&sieves, &masses]);
    let mut remarks = Vec::new();
    if comma {
        remarks.push("numbers were read with a decimal comma".to_owned());
    }
    let mut pan: Option<(usize, Decimal)> = None;
    let mut rows: Vec<(usize, Retained)> = Vec::new();
    for (row, (sieve_text, mass_text)) in (1..).zip(sieves.iter().zip(&masses)) {
        let line = table.line(row).unwrap_or_default();
        let cell =
            |column: &str, what: String| FileError::Cell { line, column: column.to_owned(), what };
        let retained_g = stonewear_measure::read(&pointed(mass_text, comma))
            .map_err(|error| cell(&mass_column, in_a_cell(mass_text, &error)))?;
        if retained_g < Decimal::ZERO {
            let what = format!("{retained_g} g cannot be kept on a sieve; a mass is 0 or more");
            return Err(cell(&mass_column, what));
        }
        if sieve_text.trim().eq_ignore_ascii_case("pan") {
            if let Some((first, _)) = pan {
                return Err(FileError::Repeated { line, first, what: "the pan".to_owned() });
            }
            pan = Some((line, retained_g));
            continue;
        }
        let sieve: Sieve = pointed(sieve_text, comma)
            .parse()
            .map_err(|error: crate::SieveError| cell(&sieve_column, error.to_string()))?;
        if let Some((first, _)) = rows.iter().find(|(_, other)| other.sieve == sieve) {
            let what = format!("the sieve {sieve}");
            return Err(FileError::Repeated { line, first: *first, what });
        }
        rows.push((line, Retained { sieve, retained_g }));
    }
    let (pan_line, pan_g) = pan.ok_or(FileError::NoPan)?;
    if rows.is_empty() {
        return Err(FileError::NoSieve);
    }
    if rows.iter().any(|(line, _)| *line > pan_line) {
        remarks.push(format!("the pan stands on line {pan_line}, before the last row"));
    }
    let is_sorted = rows.array_windows().all(|[(_, one), (_, next)]| one.sieve > next.sieve);
    if !is_sorted {
        remarks.push("the sieves were not in order; they were sorted, coarsest first".to_owned());
        rows.sort_by_key(|(_, row)| std::cmp::Reverse(row.sieve));
    }
    Ok(Read { retained: rows.into_iter().map(|(_, row)| row).collect(), pan_g, remarks })
}

/// `#200,3` is a sieve to whoever writes it and a remark to the table: it must not be lost.
fn refuse_numbered_remarks(bytes: &[u8]) -> Result<(), FileError> {
    let text = String::from_utf8_lossy(bytes);
    for (line, row) in (1..).zip(text.lines()) {
        let Some(rest) = row.trim_start_matches('\u{feff}').trim().strip_prefix('#') else {
            continue;
        };
        let number = rest.split([',', ';', '\t']).next().unwrap_or_default().trim();
        if format!("#{number}").parse::<Sieve>().is_ok() {
            return Err(FileError::LooksLikeARemark { line, number: number.to_owned() });
        }
    }
    Ok(())
}

/// The column that goes by one of these names, whatever the case; else the first name, for the
/// message that it is missing.
fn column(table: &Table, names: &[&str]) -> String {
    let found = names.iter().find_map(|name| {
        table.names().iter().find(|column| column.trim().eq_ignore_ascii_case(name))
    });
    found.cloned().unwrap_or_else(|| names.first().copied().unwrap_or_default().to_owned())
}

/// Whether commas are decimal commas: some cell can be read in no other way. `1,500` alone does
/// not tell; beside `19,0` it is one and a half.
fn uses_decimal_comma(table: &Table, columns: &[&[String]]) -> bool {
    let tells = |cell: &String| cell.contains(',') && stonewear_measure::read(cell).is_ok();
    table.dialect().decimal == DecimalSign::Comma
        && columns.iter().any(|cells| cells.iter().any(tells))
}

/// A cell with a decimal point where the file uses a comma.
fn pointed(cell: &str, comma: bool) -> String {
    if comma { cell.replacen(',', ".", 1) } else { cell.to_owned() }
}

fn in_a_cell(cell: &str, error: &ReadingError) -> String {
    match error {
        ReadingError::Missing => "the mass is missing; write 0 if nothing was kept".to_owned(),
        _ if cell.to_lowercase().trim_end().ends_with('g') => {
            format!("“{}” carries a unit; write the number of grams alone", cell.trim())
        }
        other => other.to_string(),
    }
}
