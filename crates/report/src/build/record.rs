//! The record of a check: every step, what was seen or read, by whom, against its limits.

use super::{capital, day, sheet_of};
use crate::{Cell, CellStrip, Column, JournalAnchor, Sheet, Table};
use jiff::Timestamp;
use stonewear_lab::Lab;
use stonewear_lab::fact::Seen;
use stonewear_lab::state::{Check, Noted, Observation};
use stonewear_lab::words::counted;
use stonewear_measure::balance::shown;
use stonewear_procedure::{Expect, Step};

/// The record of one check on paper.
pub fn check_record(
    lab: &Lab,
    check: &Check,
    anchor: Option<JournalAnchor>,
    at: Timestamp,
) -> Sheet {
    let kind = format!("Check {}", check.code);
    let sheet = sheet_of(lab, kind, capital(&check.procedure.title), anchor, at);
    recorded(lab, check, verdict(lab, check, sheet))
}

/// The verdict of a check as a remark.
fn verdict(lab: &Lab, check: &Check, sheet: Sheet) -> Sheet {
    let words = match &check.ended {
        None => "Not ended yet.".to_owned(),
        Some(end) => {
            let verdict = if end.value.passed { "Passed" } else { "Not passed" };
            let why = match end.value.reason.as_str() {
                "" => String::new(),
                reason => format!(": {reason}"),
            };
            format!("{verdict}{why}. {}, {}.", person(lab, end.by.as_str()), day(lab, Some(end.at)))
        }
    };
    sheet.remark("Verdict", words)
}

/// What was checked, every step, corrections and files.
pub(super) fn recorded(lab: &Lab, check: &Check, sheet: Sheet) -> Sheet {
    let item = lab.items.get(&check.item);
    let until = lab.proves_until(check).map(|until| day(lab, Some(until)));
    let named = item.map(|item| format!("{} {}, {}", item.kind.in_words(), item.code, item.name));
    let maker = item.map(|item| item.maker_and_serial.clone());
    let mut sheet = sheet
        .pairs([
            ("Item", named.map(|named| capital(&named)).unwrap_or_default()),
            ("Maker and number", maker.unwrap_or_default()),
            ("Procedure", check.procedure.id.clone()),
            (
                "Begun",
                format!(
                    "{}, {}",
                    day(lab, Some(check.started.at)),
                    person(lab, check.started.by.as_str())
                ),
            ),
            ("Proves until", until.unwrap_or_default()),
            ("Observations", counted(check.observations.len(), "observation")),
        ])
        .table(steps(lab, check));
    let mut corrected = Vec::new();
    for seen in &check.observations {
        if let Some(correction) = &seen.value.corrected {
            corrected.push(format!(
                "{}: {} became {}; {} ({}, {})",
                seen.value.step,
                words_of(&seen.value.seen),
                words_of(&correction.value.seen),
                correction.value.reason,
                person(lab, correction.by.as_str()),
                day(lab, Some(correction.at))
            ));
        }
    }
    for words in corrected {
        sheet = sheet.remark("Correction", words);
    }
    let files = lab.attachments_of(check.code.as_str());
    if !files.is_empty() {
        let columns =
            [Column::text("Step"), Column::sentence("File"), Column::text("SHA-256 begins")];
        let table = files.iter().fold(Table::new("Photos and files", columns), |table, file| {
            let begins: String = file.value.sha256.chars().take(16).collect();
            table.row([
                Cell::from(file.value.step.clone().unwrap_or_default()),
                Cell::from(file.value.name.clone()),
                Cell::from(begins),
            ])
        });
        sheet = sheet.table(table);
    }
    sheet
}

/// Every observation in the order of the journal; steps that were not reached come last.
fn steps(lab: &Lab, check: &Check) -> Table {
    let columns = [
        Column::number("No."),
        Column::sentence("Step"),
        Column::sentence("Read"),
        Column::text("Limits"),
        Column::text("Against them"),
        Column::text("Holds"),
        Column::text("By, on"),
    ];
    let mut table = Table::new("Every observation, in order", columns);
    let number = |step: &str| check.procedure.steps.iter().position(|known| known.id == step);
    for seen in &check.observations {
        let step = check.procedure.step(&seen.value.step);
        let number = number(&seen.value.step).map(|at| (at + 1).to_string());
        table = table.row(observed(lab, number.unwrap_or_default(), step, seen));
    }
    for (at, step) in check.procedure.steps.iter().enumerate() {
        if check.last_observation(&step.id).is_none() {
            table = table.row([
                Cell::from((at + 1).to_string()),
                Cell::from(step.title.clone()),
                Cell::from("not reached"),
                Cell::from(limits(step)),
                Cell::Blank,
                Cell::Blank,
                Cell::Blank,
            ]);
        }
    }
    table
}

fn observed(
    lab: &Lab,
    number: String,
    step: Option<&Step>,
    seen: &Noted<Observation>,
) -> [Cell; 7] {
    let one = &seen.value;
    let title = step.map_or(one.step.as_str(), |step| step.title.as_str());
    let note = if one.note.is_empty() { String::new() } else { format!(" ({})", one.note) };
    let with = one.instrument.as_ref().map(|item| format!(", with {item}")).unwrap_or_default();
    let unit = match step.map(|step| &step.expect) {
        Some(Expect::Number { unit, .. }) => unit.as_str(),
        _ => "",
    };
    let uncertainty = one.uncertainty.map(|spread| format!(" ± {spread}")).unwrap_or_default();
    let read = match one.known() {
        Seen::AsExpected(true) => "yes".to_owned(),
        Seen::AsExpected(false) => "no".to_owned(),
        Seen::Number(value) => {
            let is_difference = matches!(
                step.map(|step| &step.expect),
                Some(Expect::Number { difference: Some(_), .. })
            );
            let of =
                if is_difference { format!(" ({})", one.known_as_read()) } else { String::new() };
            format!("{}{uncertainty} {unit}{of}", shown(*value)).trim().to_owned()
        }
    };
    [
        Cell::from(number),
        Cell::from(format!("{title}{note}")),
        Cell::from(format!("{read}{with}")),
        Cell::from(step.map(limits).unwrap_or_default()),
        strip(step, one),
        Cell::from(if one.holds() { "yes" } else { "NO" }),
        Cell::from(format!("{}, {}", seen.by, day(lab, Some(seen.at)))),
    ]
}

/// The limits of a step in words.
pub(super) fn limits(step: &Step) -> String {
    match &step.expect {
        Expect::Number { limits, unit, .. } if limits.lower.is_some() || limits.upper.is_some() => {
            format!("{limits} {unit}").trim().to_owned()
        }
        _ => String::new(),
    }
}

fn strip(step: Option<&Step>, one: &Observation) -> Cell {
    let (Some(Expect::Number { limits, .. }), Seen::Number(value)) =
        (step.map(|step| &step.expect), one.known())
    else {
        return Cell::Blank;
    };
    if limits.lower.is_none() && limits.upper.is_none() {
        return Cell::Blank;
    }
    Cell::Strip(CellStrip {
        value: shown(*value).to_string(),
        lower: limits.lower.map(|limit| limit.to_string()),
        upper: limits.upper.map(|limit| limit.to_string()),
        expanded: one.uncertainty.map(|spread| spread.to_string()),
    })
}

fn words_of(seen: &Seen) -> String {
    match seen {
        Seen::AsExpected(true) => "yes".to_owned(),
        Seen::AsExpected(false) => "no".to_owned(),
        Seen::Number(value) => shown(*value).to_string(),
    }
}

/// The name of a person.
pub(super) fn person(lab: &Lab, code: &str) -> String {
    lab.people.get(code).map_or_else(|| code.to_owned(), |person| person.name.clone())
}
