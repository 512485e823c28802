//! Reading rows cell by cell: everything that is wrong is noted with its row and column.

use crate::fact::LeftOutRow;
use crate::refusal::Problem;
use crate::request::{ImportFile, ImportRow};
use jiff::civil::Date;
use std::collections::{BTreeMap, BTreeSet};
use stonewear_measure::Decimal;

/// Beyond these a cell holds something else than what it was taken as.
const LONGEST_CELL: usize = 200;
/// So much of what is wrong is kept with a row that was left out.
const LONGEST_WHY: usize = 400;

/// Reads the rows of a request.
pub(super) struct Reader<'r> {
    request: &'r ImportFile,
    places: BTreeMap<&'r str, usize>,
    pub(super) today: Date,
    pub(super) problems: Vec<Problem>,
    bad: BTreeSet<u64>,
    hopeless: bool,
}

impl<'r> Reader<'r> {
    pub(super) fn new(request: &'r ImportFile, today: Date) -> Self {
        let columns = request.columns.iter().enumerate();
        let places = columns.map(|(place, column)| (column.field.as_str(), place)).collect();
        let (problems, bad) = (Vec::new(), BTreeSet::new());
        Self { request, places, today, problems, bad, hopeless: false }
    }

    pub(super) fn rows(&self) -> &'r [ImportRow] {
        &self.request.rows
    }

    /// Notes that a column is missing without which nothing can be read.
    pub(super) fn needs(&mut self, field: &str, what: &str) {
        if !self.places.contains_key(field) {
            self.hopeless = true;
            self.problems.push(Problem {
                field: format!("columns.{field}"),
                rule: "import-column",
                message: format!("no column says {what}"),
                hint: "choose the column, or say the same for every row".to_owned(),
                excusable: false,
            });
        }
    }

    pub(super) fn is_hopeless(&self) -> bool {
        self.hopeless
    }

    /// The cell of a row; empty where there is no such column.
    pub(super) fn cell(&self, row: &'r ImportRow, field: &str) -> &'r str {
        self.cell_of(row, field)
    }

    /// The cell of any row, for comparing rows.
    pub(super) fn cell_of<'a>(&self, row: &'a ImportRow, field: &str) -> &'a str {
        let place = self.places.get(field).copied();
        place.and_then(|place| row.cells.get(place)).map_or("", |cell| cell.trim())
    }

    /// Notes what is wrong with a cell.
    pub(super) fn wrong(
        &mut self,
        row: &ImportRow,
        field: &str,
        message: impl AsRef<str>,
        hint: impl Into<String>,
    ) {
        let column = self.places.get(field).and_then(|place| self.request.columns.get(*place));
        let heading = column.map(|column| column.heading.as_str()).unwrap_or_default();
        let column = match heading {
            "" => String::new(),
            heading => format!(", column “{}”", shortened(heading)),
        };
        let number = row.row;
        self.bad.insert(number);
        self.problems.push(Problem {
            field: format!("{number}.{field}"),
            rule: "import-row",
            message: format!("row {number}{column}: {}", message.as_ref()),
            hint: hint.into(),
            excusable: false,
        });
    }

    pub(super) fn is_bad(&self, row: &ImportRow) -> bool {
        self.bad.contains(&row.row)
    }

    pub(super) fn bad_rows(&self) -> usize {
        self.bad.len()
    }

    /// A text that may be empty.
    pub(super) fn text(&mut self, row: &'r ImportRow, field: &str) -> String {
        let cell = self.cell(row, field);
        if cell.chars().count() > LONGEST_CELL || cell.chars().any(char::is_control) {
            let hint = format!("write at most {LONGEST_CELL} characters on one line");
            self.wrong(row, field, "the text is too long, or has line breaks", hint);
        }
        cell.to_owned()
    }

    /// A text that must be there.
    pub(super) fn needed(&mut self, row: &'r ImportRow, field: &str, example: &str) -> String {
        if self.cell(row, field).is_empty() {
            self.wrong(row, field, "the cell is empty", format!("write it, like {example}"));
        }
        self.text(row, field)
    }

    /// A day that has come.
    pub(super) fn day(&mut self, row: &'r ImportRow, field: &str) -> Option<Date> {
        let (cell, today) = (self.cell(row, field), self.today);
        if cell.is_empty() {
            self.wrong(row, field, "the day is missing", format!("write it like {today}"));
            return None;
        }
        match cell.parse::<Date>() {
            Ok(day) if day > today => {
                let hint = format!("today is {today}");
                self.wrong(row, field, format!("{day} has not come yet"), hint);
                None
            }
            Ok(day) => Some(day),
            Err(_) => {
                let message = format!("“{}” is not a day", shortened(cell));
                self.wrong(row, field, message, format!("write it like {today}"));
                None
            }
        }
    }

    /// A number within limits; `None` where the cell is empty or wrong.
    pub(super) fn number(
        &mut self,
        row: &'r ImportRow,
        field: &str,
        unit: &str,
        (least, most): (Decimal, Decimal),
    ) -> Option<Decimal> {
        let cell = self.cell(row, field);
        if cell.is_empty() {
            return None;
        }
        match stonewear_measure::read(cell) {
            Ok(value) if value < least || value > most => {
                let hint = format!("it lies from {least} to {most} {unit}");
                self.wrong(row, field, format!("{value} {unit} cannot be"), hint.trim_end());
                None
            }
            Ok(value) => Some(value),
            Err(error) => {
                self.wrong(row, field, error.to_string(), "write a number like 14.8");
                None
            }
        }
    }

    /// A number that must be there.
    pub(super) fn needed_number(
        &mut self,
        row: &'r ImportRow,
        field: &str,
        unit: &str,
        limits: (Decimal, Decimal),
    ) -> Option<Decimal> {
        if self.cell(row, field).is_empty() {
            self.wrong(row, field, "the cell is empty", "write a number like 14.8");
            return None;
        }
        self.number(row, field, unit, limits)
    }

    /// What is wrong with each bad row.
    pub(super) fn why(self) -> Vec<LeftOutRow> {
        let mut reasons: BTreeMap<u64, String> = BTreeMap::new();
        for problem in self.problems {
            let number = problem.field.split('.').next().and_then(|row| row.parse().ok());
            let Some(row) = number else { continue };
            let words = problem.message.strip_prefix(&format!("row {row}")).unwrap_or_default();
            let words = words.trim_start_matches([':', ',', ' ']);
            let why = reasons.entry(row).or_default();
            *why = match why.as_str() {
                "" => words.to_owned(),
                before => format!("{before}; {words}"),
            };
        }
        let cut = |why: String| why.chars().take(LONGEST_WHY).collect();
        reasons.into_iter().map(|(row, why)| LeftOutRow { row, why: cut(why) }).collect()
    }
}

/// Keeps a message readable.
fn shortened(text: &str) -> String {
    const SHOWN: usize = 40;
    match text.chars().count() > SHOWN {
        true => text.chars().take(SHOWN).chain(['…']).collect(),
        false => text.to_owned(),
    }
}
