//! The tables as a workbook: real numbers, days and times; a frozen header; units in the headings.

use super::subject::{Column, Kind, Subject, Value};
use jiff::Timestamp;
use rust_xlsxwriter::{
    DocProperties, ExcelDateTime, Format, FormatAlign, Workbook, Worksheet, XlsxError,
};
use std::collections::BTreeMap;
use stonewear_lab::Lab;
use stonewear_report::JournalAnchor;
use thiserror::Error;

/// The longest text that a cell of the format holds, in characters (ECMA-376 leaves it to programs;
/// common practice is 32 767).
const LONGEST_TEXT: usize = 32_767;
/// Columns are as wide as their longest cell, in characters, within these.
const WIDTHS: (usize, usize) = (8, 48);

/// A workbook could not be made.
#[derive(Debug, Error)]
#[error("the workbook could not be made: {0}")]
pub struct WorkbookError(#[from] XlsxError);

/// One sheet a table, and before them what the workbook is and what its columns mean.
///
/// The same facts give the same bytes: the file says when the journal was last added to (`as_of`),
/// not when it was made.
///
/// # Errors
/// When a table has more rows than a sheet can hold (1 048 576).
pub fn workbook(
    lab: &Lab,
    anchor: Option<&JournalAnchor>,
    as_of: Timestamp,
    subjects: &[Subject],
) -> Result<Vec<u8>, WorkbookError> {
    let mut workbook = dated(lab, as_of)?;
    let mut writer = Writer::new(lab);
    writer.about(workbook.add_worksheet(), anchor, as_of, subjects)?;
    for subject in subjects {
        writer.table(workbook.add_worksheet(), subject)?;
    }
    writer.columns(workbook.add_worksheet(), subjects)?;
    Ok(workbook.save_to_buffer()?)
}

/// An empty workbook that says whose it is, and as of when.
pub(super) fn dated(lab: &Lab, as_of: Timestamp) -> Result<Workbook, XlsxError> {
    let mut workbook = Workbook::new();
    let name = lab.identity.as_ref().map_or("", |identity| identity.name.as_str());
    let as_of = excel_time(&jiff::tz::TimeZone::UTC, as_of)?;
    let properties = DocProperties::new().set_company(name).set_creation_datetime(&as_of);
    workbook.set_properties(&properties);
    Ok(workbook)
}

fn excel_time(zone: &jiff::tz::TimeZone, at: Timestamp) -> Result<ExcelDateTime, XlsxError> {
    let local = at.to_zoned_datetime(zone.clone());
    let (year, month, day) = (local.year(), local.month(), local.day());
    ExcelDateTime::from_ymd(positive(year), positive8(month), positive8(day))?.and_hms(
        u16::try_from(local.hour()).unwrap_or_default(),
        positive8(local.minute()),
        f64::from(local.second()),
    )
}

/// Years of the calendar are positive in any laboratory.
fn positive(year: i16) -> u16 {
    u16::try_from(year).unwrap_or(1900)
}

fn positive8(number: i8) -> u8 {
    u8::try_from(number).unwrap_or_default()
}

/// That everything in the laboratory is invented, where it is.
pub(super) fn invented(lab: &Lab) -> Option<&'static str> {
    let invented = lab.identity.as_ref().is_some_and(|identity| identity.invented);
    invented.then_some("Demo laboratory. Its people, quarries, samples and results are invented.")
}

/// Writes sheets; keeps the format of each number of decimals.
struct Writer<'a> {
    lab: &'a Lab,
    head: Format,
    text: Format,
    day: Format,
    moment: Format,
    decimals: BTreeMap<u32, Format>,
}

impl<'a> Writer<'a> {
    fn new(lab: &'a Lab) -> Self {
        Self {
            lab,
            head: Format::new().set_bold().set_text_wrap().set_align(FormatAlign::Top),
            text: Format::new().set_num_format("@"),
            day: Format::new().set_num_format("yyyy-mm-dd"),
            moment: Format::new().set_num_format("yyyy-mm-dd hh:mm:ss"),
            decimals: BTreeMap::new(),
        }
    }

    fn number(&mut self, decimals: u32) -> &Format {
        self.decimals.entry(decimals).or_insert_with(|| {
            let zeros = "0".repeat(usize::try_from(decimals).unwrap_or_default());
            let point = if decimals == 0 { "" } else { "." };
            Format::new().set_num_format(format!("0{point}{zeros}"))
        })
    }

    fn about(
        &mut self,
        sheet: &mut Worksheet,
        anchor: Option<&JournalAnchor>,
        as_of: Timestamp,
        subjects: &[Subject],
    ) -> Result<(), XlsxError> {
        sheet.set_name("about")?;
        sheet.set_column_width(0, 24)?.set_column_width(1, 72)?;
        let identity = self.lab.identity.as_ref();
        let zone = identity.map_or("UTC", |identity| identity.time_zone.as_str());
        let mut lines = vec![
            ("Laboratory", identity.map(|identity| identity.name.clone()).unwrap_or_default()),
            ("As of", self.lab.local(as_of).strftime("%Y-%m-%d %H:%M:%S").to_string()),
            ("Times are by", zone.to_owned()),
        ];
        if let Some(words) = invented(self.lab) {
            lines.insert(0, ("Invented", words.to_owned()));
        }
        if let Some(anchor) = anchor {
            lines.push(("Facts in the journal", anchor.position.to_string()));
            lines.push(("Hash of the last", anchor.head.clone()));
        }
        let mut row = 0;
        for (name, words) in lines {
            sheet.write_with_format(row, 0, name, &self.head)?;
            sheet.write_with_format(row, 1, words, &self.text)?;
            row += 1;
        }
        row += 1;
        for subject in subjects {
            let words = format!("{} rows; each is {}", subject.rows.len(), subject.what.one_row());
            sheet.write_with_format(row, 0, subject.what.name(), &self.head)?;
            sheet.write(row, 1, words)?;
            row += 1;
        }
        sheet.write_with_format(row, 0, "columns", &self.head)?;
        sheet.write(row, 1, "what each column of each table means, with its unit")?;
        Ok(())
    }

    fn table(&mut self, sheet: &mut Worksheet, subject: &Subject) -> Result<(), XlsxError> {
        sheet.set_name(subject.what.name())?;
        let mut widths = Vec::with_capacity(subject.columns.len());
        for (place, column) in (0_u16..).zip(subject.columns) {
            sheet.write_with_format(0, place, column.heading_with_unit(), &self.head)?;
            widths.push(longest_word(column));
        }
        for (row, cells) in (1_u32..).zip(&subject.rows) {
            for (place, cell) in (0_u16..).zip(cells) {
                let shown = self.cell(sheet, row, place, cell)?;
                let width = &mut widths[usize::from(place)];
                *width = shown.max(*width);
            }
        }
        for (place, width) in (0_u16..).zip(widths) {
            let width = width.clamp(WIDTHS.0, WIDTHS.1) + 2;
            sheet.set_column_width(place, f64::from(u32::try_from(width).unwrap_or(48)))?;
        }
        sheet.set_freeze_panes(1, 1)?;
        let last = u32::try_from(subject.rows.len()).unwrap_or(u32::MAX);
        let columns = u16::try_from(subject.columns.len()).unwrap_or(1);
        sheet.autofilter(0, 0, last, columns.saturating_sub(1))?;
        Ok(())
    }

    /// Writes a cell as what it is; how many characters it shows.
    fn cell(
        &mut self,
        sheet: &mut Worksheet,
        row: u32,
        place: u16,
        cell: &Value,
    ) -> Result<usize, XlsxError> {
        match cell {
            Value::Empty => Ok(0),
            Value::Text(text) => {
                let text: String = text.chars().take(LONGEST_TEXT).collect();
                // As text, so that a name that looks like a number or a formula stays a name.
                sheet.write_string_with_format(row, place, &text, &self.text)?;
                Ok(text.chars().count())
            }
            Value::Number(number) => {
                let shown = number.to_string();
                // The nearest double: a spreadsheet has no other numbers. Its format keeps the decimals.
                let double: f64 = shown.parse().unwrap_or_default();
                sheet.write_number_with_format(row, place, double, self.number(number.scale()))?;
                Ok(shown.len())
            }
            Value::Whole(number) => {
                let double = f64::from(u32::try_from(*number).unwrap_or(u32::MAX));
                sheet.write_number_with_format(row, place, double, self.number(0))?;
                Ok(4)
            }
            Value::Day(day) => {
                let date = ExcelDateTime::from_ymd(
                    positive(day.year()),
                    positive8(day.month()),
                    positive8(day.day()),
                )?;
                sheet.write_datetime_with_format(row, place, &date, &self.day)?;
                Ok(10)
            }
            Value::Moment(at) => {
                let zone = self.lab.local(*at).time_zone().clone();
                let time = excel_time(&zone, *at)?;
                sheet.write_datetime_with_format(row, place, &time, &self.moment)?;
                Ok(19)
            }
            Value::YesNo(_) => {
                sheet.write_string(row, place, cell.as_text())?;
                Ok(3)
            }
        }
    }

    fn columns(&mut self, sheet: &mut Worksheet, subjects: &[Subject]) -> Result<(), XlsxError> {
        sheet.set_name("columns")?;
        for (place, (name, width)) in
            (0_u16..).zip([("Table", 14.0), ("Column", 32.0), ("Unit", 8.0), ("Meaning", 72.0)])
        {
            sheet.write_with_format(0, place, name, &self.head)?;
            sheet.set_column_width(place, width)?;
        }
        let described =
            subjects.iter().flat_map(|one| one.columns.iter().map(move |column| (one, column)));
        for (row, (subject, column)) in (1_u32..).zip(described) {
            let zone = match column.kind {
                Kind::Moment => " Here by the laboratory's clock.",
                _ => "",
            };
            let meaning = format!("{}{zone}", column.meaning);
            let cells = [subject.what.name(), column.heading, column.unit, meaning.as_str()];
            for (place, cell) in (0_u16..).zip(cells) {
                sheet.write_string(row, place, cell)?;
            }
        }
        sheet.set_freeze_panes(1, 0)?;
        Ok(())
    }
}

fn longest_word(column: &Column) -> usize {
    let heading = column.heading_with_unit();
    heading.split(' ').map(|word| word.chars().count()).max().unwrap_or_default()
}
