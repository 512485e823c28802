//! The bad rows, handed back as a table to be mended and imported again.

use super::book::{Book, Cell};
use super::plan::Plan;
use super::suggest::suggest;
use std::collections::BTreeMap;
use stonewear_lab::Problem;

/// The row that a problem of an import is about.
pub fn row_of(problem: &Problem) -> Option<u64> {
    problem.field.split('.').next().and_then(|row| row.parse().ok())
}

/// The bad rows as CSV: the columns as the file has them, with the reason in front. It can be
/// mended in any spreadsheet and imported as it is: the columns `row` and `reason` are passed over.
pub fn bad_rows(book: &Book, plan: &Plan, problems: &[Problem]) -> String {
    let mut reasons: BTreeMap<u64, Vec<String>> = BTreeMap::new();
    for problem in problems {
        if let Some(row) = row_of(problem) {
            let hint = if problem.hint.is_empty() {
                String::new()
            } else {
                format!(" ({})", problem.hint)
            };
            reasons.entry(row).or_default().push(format!("{}{hint}", problem.message));
        }
    }
    let Some(sheet) = book.sheet(&plan.sheet) else { return String::new() };
    let layout = suggest(sheet, plan.what);
    let width = layout.headings.len();
    let head = ["row in the file".to_owned(), "reason".to_owned()];
    let mut text = stonewear_table::row(head.into_iter().chain(layout.headings.iter().cloned()));
    for row in layout.rows(sheet) {
        let Some(reason) = reasons.get(&row.number) else { continue };
        let cells = (0..width.max(row.cells.len()))
            .map(|place| row.cells.get(place).map(Cell::as_text).unwrap_or_default());
        let front = [row.number.to_string(), reason.join("; ")];
        text += &stonewear_table::row(front.into_iter().chain(cells));
    }
    text
}
