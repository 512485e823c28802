//! The invented past of the laboratory: tests from before it was kept here, taken over from an
//! invented spreadsheet. Two of its rows cannot be right; they are mended and imported by themselves.

use crate::story::{DemoError, Story};
use jiff::ToSpan;
use sha2::{Digest, Sha256};
use stonewear_lab::request::{ImportColumn, ImportFile, ImportRow};

/// The week in which somebody finds the time for the old list.
pub(crate) const WEEK: i64 = 61;
/// What the two files are called.
const NAMES: [&str; 2] = ["tests before 2025.csv", "tests before 2025, mended.csv"];
/// Headings of the list, and what its columns are.
const COLUMNS: [(&str, &str); 6] = [
    ("Date", "on"),
    ("Sample", "sample"),
    ("Quarry", "source"),
    ("Method", "method"),
    ("Loss, %", "loss_percent"),
    ("Tech", "operator"),
];
/// Invented tests: day, sample, quarry, loss, who.
const TESTS: [(&str, &str, &str, &str, &str); 12] = [
    ("15.01.2024", "24-003", "Karsholm Quarry", "12.9", "IK"),
    ("22.01.2024", "24-007", "Oxgang Gravel", "12.4", "IK"),
    ("12.02.2024", "24-011", "Dunfell Sandstone Works", "26.1", "RB"),
    ("26.02.2024", "24-015", "Hollowmere Quarry, face 1", "9.6", "RB"),
    ("18.03.2024", "24-022", "Karsholm Quarry", "13.3", "IK"),
    ("08.04.2024", "24-028", "Oxgang Gravel", "12.9", "RB"),
    ("31.04.2024", "24-034", "Dunfell Sandstone Works", "25.7", "RB"),
    ("03.06.2024", "24-041", "Hollowmere Quarry, face 1", "10.1", "IK"),
    ("24.06.2024", "24-047", "Karsholm Quarry", "13.1", "IK"),
    ("15.07.2024", "24-052", "Oxgang Gravel", "l2.6", "RB"),
    ("09.09.2024", "24-066", "Dunfell Sandstone Works", "26.5", "IK"),
    ("14.10.2024", "24-073", "Hollowmere Quarry, face 1", "9.9", "RB"),
];
/// What the two rows should have said: the day, and the loss.
const MENDED: [(usize, &str, &str); 2] = [(6, "30.04.2024", "25.7"), (9, "15.07.2024", "12.6")];
/// What the list calls the method.
const METHOD: &str = "D6928";

/// The lines of a list: its number in the file, and its cells.
fn lines(which: usize) -> Vec<[&'static str; 6]> {
    let line =
        |(on, sample, source, loss, who): (_, _, _, _, _)| [on, sample, source, METHOD, loss, who];
    match which {
        0 => TESTS.into_iter().map(line).collect(),
        _ => MENDED
            .into_iter()
            .map(|(place, on, loss)| {
                let (_, sample, source, _, who) = TESTS[place];
                line((on, sample, source, loss, who))
            })
            .collect(),
    }
}

/// The invented files that facts of the scenario name: to be kept beside the journal.
pub fn files() -> Vec<(&'static str, Vec<u8>)> {
    let text = |which: usize| {
        let head = COLUMNS.map(|(heading, _)| format!("\"{heading}\"")).join(";");
        let rows = lines(which).into_iter().map(|cells| cells.join(";"));
        std::iter::once(head).chain(rows).map(|line| line + "\r\n").collect::<String>()
    };
    vec![(NAMES[0], text(0).into_bytes()), (NAMES[1], text(1).into_bytes())]
}

fn request(which: usize) -> ImportFile {
    let (name, bytes) = files().swap_remove(which);
    let digest = Sha256::digest(&bytes);
    let column = |(heading, field): (&str, &str)| ImportColumn {
        field: field.to_owned(),
        heading: heading.to_owned(),
    };
    let rows = (2..).zip(lines(which)).map(|(row, cells)| ImportRow {
        row,
        cells: cells.iter().zip(COLUMNS).map(|(cell, (_, field))| plain(field, cell)).collect(),
    });
    ImportFile {
        what: "tests".to_owned(),
        name: name.to_owned(),
        media_type: "text/csv".to_owned(),
        sha256: digest.iter().map(|byte| format!("{byte:02x}")).collect(),
        bytes: bytes.len().to_string(),
        columns: COLUMNS.map(column).into(),
        rows: rows.collect(),
        leave_out_bad: "yes".to_owned(),
        ..ImportFile::default()
    }
}

/// A cell as it is handed on: days in ISO 8601, where they are days of the calendar.
fn plain(field: &str, cell: &str) -> String {
    let parts: Vec<&str> = cell.split('.').collect();
    match parts.as_slice() {
        [day, month, year] if field == "on" => {
            let iso = format!("{year}-{month}-{day}");
            if iso.parse::<jiff::civil::Date>().is_ok() { iso } else { cell.to_owned() }
        }
        _ => cell.to_owned(),
    }
}

impl Story<'_> {
    /// The old list, and a day later its two mended rows.
    pub(crate) fn old_list(&mut self, manager: &str) -> Result<(), DemoError> {
        self.later(1.hour())?;
        self.ask(manager, request(0))?;
        self.later(25.hours())?;
        self.ask(manager, request(1)).map(drop)
    }
}
