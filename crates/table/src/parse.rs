//! From bytes to cells. Quoting as in RFC 4180; cells are trimmed unless quoted.

use std::collections::HashSet;

use super::dialect::{self, DecimalSign, Dialect};
use super::error::TableError;
use super::{Row, Table};

pub(super) fn read(bytes: &[u8]) -> Result<Table, TableError> {
    let text = std::str::from_utf8(bytes).map_err(|fault| {
        let before = &bytes[..fault.valid_up_to()];
        TableError::NotText { line: 1 + before.iter().filter(|b| **b == b'\n').count() }
    })?;
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let first = text.lines().find(|line| !passed_over(line)).ok_or(TableError::Empty)?;
    let separator = dialect::separator(first);
    let mut rows = split(text, separator)?;
    if rows.is_empty() {
        return Err(TableError::Empty);
    }
    let header = rows.remove(0);
    check_header(&header, &rows)?;
    let columns = || header.cells.join(", ");
    if rows.is_empty() {
        return Err(TableError::NoRows { columns: columns() });
    }
    let expected = header.cells.len();
    if let Some(row) = rows.iter().find(|row| row.cells.len() != expected) {
        let found = row.cells.len();
        return Err(TableError::Ragged { line: row.line, found, expected, columns: columns() });
    }
    let decimal = decimal_sign(&rows)?;
    Ok(Table { dialect: Dialect { separator, decimal }, header: header.cells, rows })
}

fn passed_over(line: &str) -> bool {
    let line = line.trim();
    line.is_empty() || line.starts_with('#')
}

/// Splits text into rows of cells.
fn split(text: &str, separator: char) -> Result<Vec<Row>, TableError> {
    let mut rows = Vec::new();
    let mut lines = text.lines().enumerate();
    while let Some((index, line)) = lines.next() {
        if passed_over(line) {
            continue;
        }
        let start = index + 1;
        // A quoted cell may run over several lines; take them in until its quote closes.
        let mut whole = line.to_string();
        while whole.matches('"').count() % 2 == 1 {
            let Some((_, more)) = lines.next() else {
                return Err(TableError::OpenQuote { line: start });
            };
            whole.push('\n');
            whole.push_str(more);
        }
        rows.push(Row { line: start, cells: cells(&whole, separator, start)? });
    }
    Ok(rows)
}

fn cells(row: &str, separator: char, line: usize) -> Result<Vec<String>, TableError> {
    if !row.contains('"') {
        return Ok(row.split(separator).map(|cell| cell.trim().to_string()).collect());
    }
    let mut cells = Vec::new();
    let mut rest = row;
    loop {
        let start = rest.trim_start_matches(|c: char| c.is_whitespace() && c != separator);
        let Some(quoted) = start.strip_prefix('"') else {
            let (cell, after) =
                rest.split_once(separator).map_or((rest, None), |(c, r)| (c, Some(r)));
            cells.push(cell.trim().to_string());
            match after {
                Some(after) => rest = after,
                None => return Ok(cells),
            }
            continue;
        };
        let (cell, after) = unquote(quoted).ok_or(TableError::OpenQuote { line })?;
        cells.push(cell);
        let after = after.trim_start_matches(|c: char| c.is_whitespace() && c != separator);
        if after.is_empty() {
            return Ok(cells);
        }
        rest = after.strip_prefix(separator).ok_or(TableError::AfterQuote { line })?;
    }
}

/// The content up to the closing quote, and what follows it.
fn unquote(text: &str) -> Option<(String, &str)> {
    let mut cell = String::new();
    let mut rest = text;
    loop {
        let (before, after) = rest.split_once('"')?;
        cell.push_str(before);
        match after.strip_prefix('"') {
            Some(more) => {
                cell.push('"');
                rest = more;
            }
            None => return Some((cell, after)),
        }
    }
}

fn check_header(header: &Row, rows: &[Row]) -> Result<(), TableError> {
    let line = header.line;
    let number = |cell: &String| cell.replacen(',', ".", 1).parse::<f64>().is_ok();
    if header.cells.iter().all(number)
        && rows.first().is_none_or(|row| row.cells.iter().all(number))
    {
        return Err(TableError::NoHeader { line });
    }
    let mut seen = HashSet::new();
    for (index, name) in header.cells.iter().enumerate() {
        if name.is_empty() {
            return Err(TableError::NoName { line, column: index + 1 });
        }
        if !seen.insert(name) {
            return Err(TableError::SameName { line, name: name.clone() });
        }
    }
    Ok(())
}

/// Decimal commas are taken as such when some cell can only be read with one and none has a decimal
/// point. (In a file separated by commas such a cell has to be quoted to be there at all.)
fn decimal_sign(rows: &[Row]) -> Result<DecimalSign, TableError> {
    let mut comma: Option<(usize, &String)> = None;
    let mut point = false;
    for row in rows {
        for cell in &row.cells {
            if comma.is_none() && dialect::has_decimal_comma(cell) {
                comma = Some((row.line, cell));
            }
            point = point || dialect::has_decimal_point(cell);
        }
    }
    match comma {
        Some((line, cell)) if point => Err(TableError::MixedDecimals { line, cell: cell.clone() }),
        Some(_) => Ok(DecimalSign::Comma),
        None => Ok(DecimalSign::Point),
    }
}
