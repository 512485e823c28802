//! Tidy CSV: one row an observation, one column a variable; and the data dictionary beside it.

use super::subject::{Subject, What};
use super::tables::columns;
use stonewear_table::row;

/// The table with a header row of names; lines end in CR LF, days and instants are ISO 8601.
pub fn csv(subject: &Subject) -> String {
    let head = row(subject.columns.iter().map(|column| column.name));
    let rows = subject.rows.iter().map(|cells| row(cells.iter().map(super::Value::as_text)));
    std::iter::once(head).chain(rows).collect()
}

/// What every column of every table means, with its unit: a CSV itself.
pub fn dictionary() -> String {
    let mut text = row(["table", "one_row_is", "column", "heading", "unit", "holds", "meaning"]);
    for what in What::ALL {
        for column in columns(what) {
            let holds = column.kind.in_words();
            let cells = [
                what.name(),
                what.one_row(),
                column.name,
                column.heading,
                column.unit,
                holds,
                column.meaning,
            ];
            text += &row(cells);
        }
    }
    text
}
