//! Sieve analyses with a column for each sieve, one row an analysis, as laboratories keep them: turned
//! into one row a sieve, which is what is read.
//!
//! A table is taken so only where at least three headings in a row name sieves, from coarse to fine
//! or from fine to coarse, each once, no other number stands beside them, and no row above is a heading:
//! no other list has such a head.

use super::book::{Cell, MOST_CELLS, ReadError, Row, Sheet};
use super::suggest::{fields, is_heading, simple};
use rust_decimal::Decimal;
use stonewear_lab::fact::ImportKind;
use stonewear_sieving::Sieve;

/// Fewer sieves are no analysis.
const FEWEST_SIEVES: usize = 3;
/// The head is looked for in so many rows.
const LOOKED_AT: usize = 30;
/// What a head calls the pan below the finest sieve.
const PAN: [&str; 6] = ["pan", "fond", "fondo", "boden", "siebboden", "bandeja"];
/// Words beside the opening in a head, which say nothing about which sieve it is.
const BESIDE: [&str; 12] = [
    "sieve",
    "sieb",
    "tamis",
    "tamiz",
    "passing",
    "retained",
    "durchgang",
    "rückstand",
    "passant",
    "refus",
    "pasa",
    "retenido",
];

/// A column of a sieve.
struct Column {
    place: usize,
    /// As the row below is to say it; `None` is the pan.
    opening: Option<Decimal>,
}

/// The sheet with one row a sieve, where it has a column a sieve; nothing where it has not.
///
/// # Errors
/// When it would become too large.
pub(super) fn lengthened(sheet: &Sheet) -> Result<Option<Sheet>, ReadError> {
    let looked_at = sheet.rows.iter().take(LOOKED_AT).enumerate();
    let found = looked_at.map(|(place, row)| (place, row, sieves_of(row)));
    // The first heading of any kind decides.
    let mut heads = found.filter(|(_, row, sieves)| sieves.is_some() || is_heading(row));
    let Some((head_at, head, Some(sieves))) = heads.next() else { return Ok(None) };
    let others: Vec<usize> = (0..head.cells.len())
        .filter(|place| sieves.iter().all(|sieve| sieve.place != *place))
        .collect();
    let below = sheet.rows.get(head_at + 1..).unwrap_or_default();
    let cells = (others.len() + 2).saturating_mul(sieves.len()).saturating_mul(below.len());
    if cells > MOST_CELLS {
        return Err(ReadError::TooManyCells);
    }
    let value = what_values_are(sheet, head_at, below, &sieves);
    let cell = |row: &Row, place: usize| row.cells.get(place).cloned().unwrap_or(Cell::Empty);
    let text = |words: &str| Cell::Text(words.to_owned());
    let mut rows: Vec<Row> = sheet.rows.get(..head_at).unwrap_or_default().to_vec();
    let kept = others.iter().map(|place| cell(head, *place));
    let cells = kept.chain([text("Sieve"), text(value)]).collect();
    rows.push(Row { number: head.number, cells });
    for row in below {
        for sieve in &sieves {
            let read = cell(row, sieve.place);
            // A sieve that was not in the stack of this analysis.
            if read.is_empty() {
                continue;
            }
            let name = sieve.opening.map_or_else(|| "pan".to_owned(), |mm| mm.to_string());
            let kept = others.iter().map(|place| cell(row, *place));
            let cells = kept.chain([Cell::Text(name), read]).collect();
            rows.push(Row { number: row.number, cells });
        }
    }
    Ok(Some(Sheet { name: sheet.name.clone(), rows }))
}

/// The columns of a head that name sieves, the coarsest first; nothing where it is no such head.
fn sieves_of(row: &Row) -> Option<Vec<Column>> {
    let named = row.cells.iter().enumerate().filter_map(|(place, cell)| {
        let text = cell.as_text();
        let opening = if is_pan(&text) { None } else { Some(opening_of(&text)?) };
        Some(Column { place, opening })
    });
    let mut columns: Vec<Column> = named.collect();
    let is_number =
        |cell: &Cell| cell.as_text().trim().replace(',', ".").parse::<Decimal>().is_ok();
    let is_sieve = |place: usize| columns.iter().any(|column| column.place == place);
    if row.cells.iter().enumerate().any(|(place, cell)| is_number(cell) && !is_sieve(place)) {
        return None;
    }
    let openings: Vec<Decimal> = columns.iter().filter_map(|column| column.opening).collect();
    let falls = openings.windows(2).all(|pair| pair[0] > pair[1]);
    let rises = openings.windows(2).all(|pair| pair[0] < pair[1]);
    if openings.len() < FEWEST_SIEVES || !(falls || rises) {
        return None;
    }
    columns.sort_by_key(|column| std::cmp::Reverse(column.opening));
    Some(columns)
}

fn is_pan(head: &str) -> bool {
    let words = simple(head);
    words.split(' ').any(|word| PAN.contains(&word))
}

/// The opening of the sieve that a head names, in mm.
fn opening_of(head: &str) -> Option<Decimal> {
    let lower = head.trim().to_lowercase().replace(['%', '[', ']', '(', ')', ':'], " ");
    let words: Vec<&str> =
        lower.split_whitespace().filter(|word| !BESIDE.contains(word) && *word != "g").collect();
    let bare = words.join(" ");
    // A decimal comma before three digits would be asked about; here no thousand millimetres are meant.
    bare.replace(',', ".").parse::<Sieve>().ok().map(Sieve::opening_mm)
}

/// What the head of the values is: by its own words and those above it, else by the values, which fall
/// from at most a hundred where they are what passes.
fn what_values_are(
    sheet: &Sheet,
    head_at: usize,
    below: &[Row],
    sieves: &[Column],
) -> &'static str {
    const PASSING: &str = "Passing, %";
    const RETAINED: &str = "Mass retained, g";
    // It is no field: whoever imports it is told that the sieves have no values.
    const SHARE_RETAINED: &str = "Share of the mass kept back";
    let head = sheet.rows.get(head_at).map(|row| row.cells.as_slice()).unwrap_or_default();
    let of_sieves = sieves.iter().filter_map(|sieve| head.get(sieve.place));
    let above = sheet.rows.iter().take(head_at).flat_map(|row| row.cells.iter());
    let said: Vec<String> =
        of_sieves.chain(above).map(|cell| cell.as_text().to_lowercase()).collect();
    let says = |field: &str| {
        let words = fields(ImportKind::SieveAnalyses).iter().find(|one| one.field == field);
        words.is_some_and(|field| {
            field.headings().iter().any(|word| said.iter().any(|text| text.contains(word.as_str())))
        })
    };
    let in_percent = said.iter().any(|text| text.contains('%') || text.contains("percent"));
    match (says("passing_percent"), says("retained_g")) {
        (true, false) => PASSING,
        (false, true) if in_percent => SHARE_RETAINED,
        (false, true) => RETAINED,
        _ if mostly(below, |row| falls_from_a_hundred(row, sieves)) => PASSING,
        _ => RETAINED,
    }
}

/// Whether it holds for most rows: a slip in one does not change what all are.
fn mostly(rows: &[Row], holds: impl Fn(&Row) -> bool) -> bool {
    rows.iter().filter(|row| holds(row)).count() * 2 > rows.len()
}

fn falls_from_a_hundred(row: &Row, sieves: &[Column]) -> bool {
    let values: Vec<Decimal> = sieves
        .iter()
        .filter(|sieve| sieve.opening.is_some())
        .filter_map(|sieve| row.cells.get(sieve.place))
        .filter_map(|cell| cell.as_text().trim().replace(',', ".").parse().ok())
        .collect();
    values.iter().all(|value| *value <= Decimal::ONE_HUNDRED)
        && values.windows(2).all(|pair| pair[0] >= pair[1])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::taken::book::sheet_of as sheet;

    #[test]
    fn what_would_become_too_large_is_refused() {
        let mut row = vec!["x"; 250];
        (row[0], row[1], row[2]) = ("16", "8", "4");
        let mut rows = vec![row.as_slice()];
        let values = vec!["1"; 250];
        rows.extend(std::iter::repeat_n(values.as_slice(), 5_000));
        assert_eq!(lengthened(&sheet(&rows)), Err(ReadError::TooManyCells));
    }

    fn texts(sheet: &Sheet) -> Vec<String> {
        let cells = |row: &Row| row.cells.iter().map(Cell::as_text).collect::<Vec<_>>().join("|");
        sheet.rows.iter().map(|row| format!("{}: {}", row.number, cells(row))).collect()
    }

    #[test]
    fn a_column_a_sieve_becomes_a_row_a_sieve_coarsest_first() {
        let wide = sheet(&[
            &["Analyses of an invented quarry"],
            &["Date", "Sample", "0,063", "4 mm", "16", "Note"],
            &["2025-03-14", "25-118", "1,2", "31", "100", "wet"],
            &["2025-03-15", "25-119", "0,8", "", "97", ""],
        ]);
        assert_eq!(
            texts(&lengthened(&wide).unwrap().unwrap()),
            [
                "1: Analyses of an invented quarry",
                "2: Date|Sample|Note|Sieve|Passing, %",
                "3: 2025-03-14|25-118|wet|16|100",
                "3: 2025-03-14|25-118|wet|4|31",
                "3: 2025-03-14|25-118|wet|0.063|1,2",
                "4: 2025-03-15|25-119||16|97",
                "4: 2025-03-15|25-119||0.063|0,8",
            ]
        );
    }

    #[test]
    fn what_the_values_are_is_said_by_words_or_by_how_they_fall() {
        for (rows, value) in [
            (
                &[&["Date", "16", "8", "4", "Pan"][..], &["x", "120", "300", "80", "4"]][..],
                "Mass retained, g",
            ),
            (&[&["Date", "16", "8", "4"], &["x", "100", "60", "20"]], "Passing, %"),
            (
                &[&["Date", "Retained 16", "Retained 8", "Retained 4"], &["x", "90", "60", "20"]],
                "Mass retained, g",
            ),
            (
                &[
                    &["Date", "% retained 16", "% retained 8", "% retained 4"],
                    &["x", "9", "6", "2"],
                ],
                "Share of the mass kept back",
            ),
            (
                &[&["Siebdurchgang, %"], &["Datum", "16", "8", "4"], &["x", "90", "95", "20"]],
                "Passing, %",
            ),
            (&[&["Date", "No. 4", "No. 8", "No. 16"], &["x", "100", "60", "20"]], "Passing, %"),
        ] {
            let long = lengthened(&sheet(rows)).unwrap().unwrap_or_else(|| panic!("{rows:?}"));
            let head = long.rows.iter().find(|row| row.cells.len() > 1).unwrap();
            assert_eq!(head.cells.last().unwrap().as_text(), value, "{rows:?}");
        }
    }

    #[test]
    fn no_other_table_is_taken_for_one() {
        for rows in [
            &[&["Date", "Sample", "Sieve", "Passing"][..], &["1", "2", "16", "100"]][..],
            // Values below a heading are no heading.
            &[&["Date", "Loss", "Lot"], &["16", "8", "RA-2"]],
            // Two sieves, a sieve twice, no order.
            &[&["Date", "16", "8"]],
            &[&["Date", "16", "8", "8"]],
            &[&["Date", "16", "4", "8"]],
            // A number that is no sieve.
            &[&["16", "8", "4", "17"]],
            // Below a heading such a row is values.
            &[&["Date", "Loss", "Lot", "Machine"], &["16", "8", "4", ""]],
            &[],
        ] {
            assert_eq!(lengthened(&sheet(rows)), Ok(None), "{rows:?}");
        }
    }
}
