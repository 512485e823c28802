//! The commissioning dossier of an apparatus: the whole proof of a machine on one paper.

use super::record::{person, recorded};
use super::{capital, control_sheet, day, sheet_of, study_report_sheet};
use crate::{Block, Cell, Column, JournalAnchor, Sheet, Table};
use jiff::Timestamp;
use stonewear_lab::Lab;
use stonewear_lab::control::ControlChart;
use stonewear_lab::fact::Standing;
use stonewear_lab::state::{Check, Item, Study};

/// Everything that proves an apparatus: how it is built, every check, the reference runs with
/// their chart, studies of it, and who accepted it.
pub fn dossier_sheet(
    lab: &Lab,
    item: &Item,
    anchor: Option<JournalAnchor>,
    at: Timestamp,
) -> Sheet {
    let kind = format!("Dossier {}", item.code);
    let title = format!("{} {}: what proves it", capital(item.kind.in_words()), item.code);
    let mut sheet = sheet_of(lab, kind, title, anchor.clone(), at);
    sheet.lead = format!("{}, {}.", item.name, item.maker_and_serial);
    sheet = sheet.block(Block::Contents).heading("The apparatus").pairs(built(lab, item));
    sheet = sheet.heading("Who accepted it, and why").table(standings(lab, item));
    let checks: Vec<&Check> = lab.checks_of(&item.code).collect();
    sheet = sheet.heading("Checks at a glance").table(at_a_glance(lab, &checks));
    let charts: Vec<ControlChart> =
        lab.control_charts().into_iter().filter(|chart| chart.apparatus == item.code).collect();
    let studies: Vec<&Study> = lab.studies.values().filter(|study| is_about(study, item)).collect();
    if charts.is_empty() {
        sheet = sheet
            .heading("Reference aggregate")
            .text("No reference aggregate was run in it yet: there is no chart.");
    }
    for chart in &charts {
        let part = control_sheet(lab, chart, None, at);
        sheet = sheet.heading(format!("Reference aggregate {}", chart.lot)).text(part.lead.clone());
        sheet = appended(sheet, part);
    }
    for study in studies {
        let part = study_report_sheet(lab, study, None, at);
        sheet = sheet.heading(format!("{}: {}", part.kind, part.title));
        sheet = appended(sheet, part);
    }
    for check in checks.iter().filter(|check| check.ended.is_some()) {
        let title = format!("{} · {}", check.code, capital(&check.procedure.title));
        sheet = recorded(lab, check, sheet.heading(title));
    }
    sheet
}

/// The blocks of another sheet below this one; its headings stand one level deeper.
fn appended(mut sheet: Sheet, part: Sheet) -> Sheet {
    for block in part.blocks {
        let below_heading = matches!(sheet.blocks.last(), Some(Block::SubHeading { .. }));
        sheet.blocks.push(match block {
            Block::Heading { text } => Block::SubHeading { text },
            // The heading says already what the caption would say again, and nobody writes here.
            Block::Table(table) => Block::Table(Table {
                caption: if below_heading { String::new() } else { table.caption },
                rows: table
                    .rows
                    .into_iter()
                    .map(|row| row.into_iter().map(read_only).collect())
                    .collect(),
                columns: table.columns,
            }),
            other => other,
        });
    }
    sheet
}

/// A cell to be read, not written.
fn read_only(cell: Cell) -> Cell {
    if cell == Cell::ToFill { Cell::Blank } else { cell }
}

/// Whether a study is about this apparatus, or one of its levels is it.
fn is_about(study: &Study, item: &Item) -> bool {
    let plan = &study.plan.value;
    plan.item.as_ref() == Some(&item.code)
        || plan.factors.iter().any(|factor| {
            factor.name == "machine" && factor.levels.iter().any(|one| one == item.code.as_str())
        })
}

fn built(lab: &Lab, item: &Item) -> Vec<(String, String)> {
    let mut pairs = vec![
        ("Code".to_owned(), item.code.to_string()),
        ("Name".to_owned(), item.name.clone()),
        ("Maker and number".to_owned(), item.maker_and_serial.clone()),
        (
            "Registered".to_owned(),
            format!(
                "{}, {}",
                day(lab, Some(item.registered.at)),
                person(lab, item.registered.by.as_str())
            ),
        ),
        ("Stands".to_owned(), item.standing().in_words().to_owned()),
    ];
    if let Some(apparatus) = &item.apparatus {
        let tiers =
            apparatus.tiers.iter().map(|tier| format!("{} ({})", tier.name, tier.positions));
        pairs.push(("Tiers (positions)".to_owned(), stonewear_lab::words::listed(tiers)));
        pairs.push((
            "Counter".to_owned(),
            if apparatus.has_counter() { "counts revolutions" } else { "none" }.to_owned(),
        ));
    }
    pairs
}

fn standings(lab: &Lab, item: &Item) -> Table {
    let columns =
        [Column::text("Day"), Column::text("Stands"), Column::text("By"), Column::sentence("Why")];
    let table = Table::new("", columns).row([
        Cell::from(day(lab, Some(item.registered.at))),
        Cell::from(Standing::BeingProved.in_words()),
        Cell::from(person(lab, item.registered.by.as_str())),
        Cell::from("registered"),
    ]);
    item.standings.iter().fold(table, |table, change| {
        table.row([
            Cell::from(day(lab, Some(change.at))),
            Cell::from(change.value.standing.in_words()),
            Cell::from(person(lab, change.by.as_str())),
            Cell::from(change.value.reason.clone()),
        ])
    })
}

fn at_a_glance(lab: &Lab, checks: &[&Check]) -> Table {
    let columns = [
        Column::text("Check"),
        Column::sentence("Procedure"),
        Column::text("Ended"),
        Column::text("By"),
        Column::text("Verdict"),
        Column::text("Proves until"),
    ];
    checks.iter().fold(Table::new("", columns), |table, check| {
        let end = check.ended.as_ref();
        let verdict =
            end.map_or("not ended", |end| if end.value.passed { "passed" } else { "NOT PASSED" });
        table.row([
            Cell::from(check.code.to_string()),
            Cell::from(check.procedure.title.clone()),
            Cell::from(day(lab, end.map(|end| end.at))),
            Cell::from(end.map(|end| end.by.to_string()).unwrap_or_default()),
            Cell::from(verdict),
            Cell::from(day(lab, lab.proves_until(check))),
        ])
    })
}
