//! How a file is to be read, and the request that follows from it.

use super::book::{Book, Cell, Row, Sheet};
use super::days::{DayOrder, iso};
use super::numbers::{has_decimal_comma, plain};
use super::suggest::{Field, Layout, Order, fields, kind_of, suggest};
use std::collections::BTreeMap;
use stonewear_lab::fact::ImportKind;
use stonewear_lab::request::{ImportColumn, ImportFile, ImportRow};
use thiserror::Error;

/// The file as a whole.
#[derive(Debug, Clone, Copy)]
pub struct SourceFile<'a> {
    /// What it is called.
    pub name: &'a str,
    /// The SHA-256 of its bytes.
    pub sha256: &'a str,
    /// How many bytes it has.
    pub bytes: usize,
}

/// Where the value of a field comes from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Source {
    /// A column, by its place from 0.
    Column(usize),
    /// The same for every row.
    Same(String),
    /// Nowhere: it is left out although a column might fit.
    Nowhere,
}

/// How a file is to be read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Plan {
    /// What its rows are.
    pub what: ImportKind,
    /// The sheet of a workbook; empty for the first that holds something.
    pub sheet: String,
    /// What somebody chose; the rest is as suggested.
    pub chosen: BTreeMap<String, Source>,
    /// The order of day and month, where somebody said it.
    pub order: Option<DayOrder>,
    /// Whether bad rows are left out.
    pub leave_out_bad: bool,
}

impl Plan {
    /// As suggested.
    pub fn new(what: ImportKind) -> Self {
        let (sheet, chosen) = (String::new(), BTreeMap::new());
        Self { what, sheet, chosen, order: None, leave_out_bad: false }
    }

    /// Where the value of a field comes from, all said and suggested.
    pub fn source(&self, layout: &Layout, field: &str) -> Source {
        let suggested =
            || layout.columns.get(field).map_or(Source::Nowhere, |n| Source::Column(*n));
        self.chosen.get(field).cloned().unwrap_or_else(suggested)
    }
}

/// Why a plan cannot be followed.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum PlanError {
    /// There is no such sheet.
    #[error("there is no sheet “{typed}”; the sheets are {known}")]
    NoSheet {
        /// What was named.
        typed: String,
        /// What there is.
        known: String,
    },
    /// Days can be read in two ways.
    #[error(
        "the days in column “{heading}” can be read in two ways, like {example}: say whether the day or the month comes first"
    )]
    WhichOrder {
        /// The column.
        heading: String,
        /// One of its cells.
        example: String,
    },
}

/// The request to take the rows over, with days and numbers in one form. What cannot be read is
/// handed on as it is written: the laboratory names it with its row.
///
/// # Errors
/// When the sheet is not there, or the order of day and month has to be said.
pub fn request(file: &SourceFile<'_>, book: &Book, plan: &Plan) -> Result<ImportFile, PlanError> {
    let sheet = book.sheet(&plan.sheet).ok_or_else(|| PlanError::NoSheet {
        typed: plan.sheet.clone(),
        known: book.sheets.iter().map(|sheet| sheet.name.as_str()).collect::<Vec<_>>().join(", "),
    })?;
    let layout = suggest(sheet, plan.what);
    let rows = layout.rows(sheet);
    let mut columns = Vec::new();
    let mut readers = Vec::new();
    for field in fields(plan.what) {
        let source = plan.source(&layout, &field.field);
        let heading = match &source {
            Source::Nowhere => continue,
            Source::Same(text) if text.trim().is_empty() => continue,
            Source::Same(_) => String::new(),
            Source::Column(place) => heading(&layout, *place),
        };
        let reader = Reader::new(field, source, sheet, &layout, plan.order)?;
        columns.push(ImportColumn { field: field.field.clone(), heading });
        readers.push(reader);
    }
    let read = |row: &Row| ImportRow {
        row: row.number,
        cells: readers.iter().map(|reader| reader.cell(row)).collect(),
    };
    // A row that has nothing in any column that is read is a remark below the table.
    let is_there = |row: &&Row| readers.iter().any(|reader| reader.has(row));
    Ok(ImportFile {
        what: plan.what.to_string(),
        name: file.name.to_owned(),
        media_type: book.media_type.to_owned(),
        sha256: file.sha256.to_owned(),
        bytes: file.bytes.to_string(),
        sheet: sheet.name.clone(),
        columns,
        rows: rows.iter().filter(is_there).map(read).collect(),
        leave_out_bad: if plan.leave_out_bad { "yes".to_owned() } else { String::new() },
    })
}

/// The heading of a column, or its letter where it has none.
fn heading(layout: &Layout, place: usize) -> String {
    match layout.headings.get(place).map(String::as_str) {
        None | Some("") => format!("column {}", place + 1),
        Some(heading) => heading.to_owned(),
    }
}

/// Reads the cells of one field.
struct Reader<'f> {
    field: &'f Field,
    source: Source,
    order: Option<DayOrder>,
    decimal_comma: bool,
}

impl<'f> Reader<'f> {
    fn new(
        field: &'f Field,
        source: Source,
        sheet: &Sheet,
        layout: &Layout,
        said: Option<DayOrder>,
    ) -> Result<Self, PlanError> {
        let (mut order, mut decimal_comma) = (said, false);
        if let Source::Column(place) = source {
            let texts = || {
                layout.rows(sheet).iter().filter_map(move |row| match row.cells.get(place) {
                    Some(Cell::Text(text)) => Some(text.as_str()),
                    _ => None,
                })
            };
            if field.day {
                match layout.order(sheet, place) {
                    // What the file shows cannot be said otherwise.
                    Order::Shown(shown) => order = Some(shown),
                    Order::Ask if said.is_none() => {
                        let is_open = |text: &&str| {
                            matches!(super::days::said(text), super::days::Said::Open(..))
                        };
                        let example = texts().find(is_open).unwrap_or_default().to_owned();
                        let heading = heading(layout, place);
                        return Err(PlanError::WhichOrder { heading, example });
                    }
                    Order::Ask | Order::NotNeeded => {}
                }
            }
            decimal_comma = field.number && has_decimal_comma(texts());
        }
        Ok(Self { field, source, order, decimal_comma })
    }

    fn has(&self, row: &Row) -> bool {
        match self.source {
            Source::Column(place) => row.cells.get(place).is_some_and(|cell| !cell.is_empty()),
            _ => false,
        }
    }

    fn cell(&self, row: &Row) -> String {
        let text = match &self.source {
            Source::Column(place) => row.cells.get(*place).map(Cell::as_text).unwrap_or_default(),
            Source::Same(text) => text.trim().to_owned(),
            Source::Nowhere => String::new(),
        };
        if self.field.day {
            iso(&text, self.order)
        } else if self.field.number {
            plain(&text, self.decimal_comma)
        } else if self.field.field == "kind" {
            kind_of(&text)
        } else {
            text
        }
    }
}
