//! Workbooks (.xlsx), read cell by cell: what a sheet says of its own size is not believed.

use super::book::{Budget, Cell, LARGEST_UNPACKED, MOST_SHEETS, ReadError, Row, Sheet};
use super::numbers::of_double;
use calamine::{DataRef, ExcelDateTime, Reader, Xlsx};
use jiff::civil::Date;
use std::io::{Cursor, Read};
use zip::ZipArchive;

/// Reads every sheet.
pub(super) fn read(bytes: &[u8]) -> Result<Vec<Sheet>, ReadError> {
    judge_size(bytes)?;
    let no_table = |error: &dyn std::fmt::Display| ReadError::NotATable(error.to_string());
    let mut book: Xlsx<_> =
        calamine::open_workbook_from_rs(Cursor::new(bytes)).map_err(|error| no_table(&error))?;
    let names = book.sheet_names();
    if names.len() > MOST_SHEETS {
        return Err(ReadError::TooManySheets);
    }
    let mut budget = Budget::default();
    let mut sheets = Vec::new();
    for name in names {
        // Sheets that hold a chart alone have no cells.
        let Ok(mut cells) = book.worksheet_cells_reader(&name) else { continue };
        let mut rows: Vec<Row> = Vec::new();
        while let Some(cell) = cells.next_cell().map_err(|error| no_table(&error))? {
            let (row, column) = cell.get_position();
            let number = u64::from(row) + 1;
            let place = usize::try_from(column).unwrap_or(usize::MAX);
            let value = value_of(cell.get_value());
            let letters = match &value {
                Cell::Text(text) => text.chars().count(),
                _ => 1,
            };
            if value.is_empty() {
                continue;
            }
            budget.take(number, place.saturating_add(1), letters)?;
            if rows.last().is_none_or(|last| last.number != number) {
                rows.push(Row { number, cells: Vec::new() });
            }
            if let Some(last) = rows.last_mut() {
                if last.cells.len() <= place {
                    last.cells.resize(place + 1, Cell::Empty);
                }
                last.cells[place] = value;
            }
        }
        sheets.push(Sheet { name, rows });
    }
    Ok(sheets)
}

/// Unpacks everything once into nothing, and stops where it becomes too much: a file of some
/// kilobytes can unpack to any size, whatever it says of itself.
fn judge_size(bytes: &[u8]) -> Result<(), ReadError> {
    let broken = |error: &dyn std::fmt::Display| ReadError::NotATable(error.to_string());
    let mut archive = ZipArchive::new(Cursor::new(bytes)).map_err(|error| broken(&error))?;
    let mut left = LARGEST_UNPACKED;
    for place in 0..archive.len() {
        let file = archive.by_index(place).map_err(|error| broken(&error))?;
        let mut within = file.take(left + 1);
        let unpacked = std::io::copy(&mut within, &mut std::io::sink());
        let unpacked = unpacked.map_err(|error| broken(&error))?;
        left = left.checked_sub(unpacked).ok_or(ReadError::Bomb)?;
    }
    Ok(())
}

fn value_of(value: &DataRef<'_>) -> Cell {
    match value {
        DataRef::Empty => Cell::Empty,
        DataRef::Int(number) => Cell::Number(number.to_string()),
        DataRef::Float(number) => Cell::Number(of_double(*number)),
        DataRef::String(text) => Cell::Text(text.trim().to_owned()),
        DataRef::SharedString(text) => Cell::Text(text.trim().to_owned()),
        DataRef::Bool(yes) => Cell::Text(if *yes { "yes" } else { "no" }.to_owned()),
        DataRef::DateTime(time) => {
            day_of(time).map_or(Cell::Number(of_double(time.as_f64())), Cell::Day)
        }
        DataRef::DateTimeIso(text) | DataRef::DurationIso(text) => Cell::Text(text.clone()),
        // A formula that failed: its row will be named.
        DataRef::Error(error) => Cell::Text(error.to_string()),
    }
}

fn day_of(time: &ExcelDateTime) -> Option<Date> {
    if !time.is_datetime() {
        return None;
    }
    let (year, month, day, ..) = time.to_ymd_hms_milli();
    let (month, day) = (i8::try_from(month).ok()?, i8::try_from(day).ok()?);
    Date::new(i16::try_from(year).ok()?, month, day).ok()
}
