//! All released results of a project on one paper.

use super::{day, sheet_of, test_report};
use crate::{Cell, Column, Decision, JournalAnchor, Outcome, Sheet, Specimen, Table, TestReport};
use jiff::Timestamp;
use stonewear_lab::Lab;
use stonewear_lab::state::{NextPaper, TestResult};
use stonewear_lab::words::{counted, listed};
use stonewear_measure::read;
use stonewear_picture::ToleranceStrip;

/// The combined report of a project: every released result in a table, then each with what it
/// stands on; amendments, deviations and doubts are marked. `who` issues it, for this `reason`.
pub fn project_sheet(
    lab: &Lab,
    project: &str,
    next: &NextPaper,
    (who, reason): (&str, &str),
    anchor: Option<JournalAnchor>,
    at: Timestamp,
) -> Sheet {
    let results: Vec<&TestResult> =
        next.covers.iter().filter_map(|one| lab.results.get(&one.result)).collect();
    let reports: Vec<TestReport> =
        results.iter().map(|result| test_report(lab, result, None)).collect();
    let clients = each_once(reports.iter().map(|report| report.customer.name.as_str()));
    let methods = each_once(reports.iter().map(|report| report.method.designation.as_str()));
    let mut sheet = sheet_of(lab, format!("Report {}", next.number), project, anchor, at);
    sheet.made_by = who.to_owned();
    sheet = sheet.pairs([
        ("Customer", listed(clients)),
        ("Results", counted(results.len(), "released result")),
        ("Methods", listed(methods)),
        ("Issued", day(lab, Some(at))),
    ]);
    if let Some(replaces) = &next.replaces {
        sheet = sheet.remark("Amendment", format!("Replaces report {replaces}. Reason: {reason}."));
    }
    let amended = reports.iter().filter(|report| !report.amendments.is_empty());
    for report in amended {
        for one in &report.amendments {
            let words = format!(
                "{} replaces {}: {}. Reason: {}.",
                report.number, one.replaces, one.what, one.reason
            );
            sheet = sheet.remark("Amendment", words);
        }
    }
    sheet = sheet.heading("Results at a glance").table(summary(&reports));
    sheet = sheet.text(
        "± is the expanded uncertainty with the coverage factor k that stands with each result. \
         Each result relates only to the items tested.",
    );
    for report in &reports {
        sheet = one_result(sheet, report);
    }
    sheet
}

fn each_once<'a>(words: impl Iterator<Item = &'a str>) -> Vec<String> {
    let mut once: Vec<String> = Vec::new();
    for word in words.filter(|word| !word.is_empty()) {
        if !once.iter().any(|known| known == word) {
            once.push(word.to_owned());
        }
    }
    once
}

fn summary(reports: &[TestReport]) -> Table {
    let columns = [
        Column::text("Report"),
        Column::text("Sample"),
        Column::sentence("Source"),
        Column::sentence("Method"),
        Column::number("Result"),
        Column::number("±"),
        Column::text("Required"),
        Column::sentence("Verdict"),
    ];
    reports.iter().fold(Table::new("", columns), |table, report| {
        let loss = &report.loss;
        let decision = loss.decision.as_ref();
        let expanded = loss.uncertainty.as_ref().map(|one| one.expanded.clone());
        table.row([
            Cell::from(report.number.clone()),
            Cell::from(report.sample.code.clone()),
            Cell::from(report.sample.source.clone()),
            Cell::from(report.method.designation.clone()),
            Cell::from(format!("{} {}", loss.value, loss.unit)),
            Cell::from(expanded.unwrap_or_default()),
            Cell::from(decision.map(|one| one.requirement.clone()).unwrap_or_default()),
            Cell::from(decision.map_or("no requirement", |one| one.outcome.words())),
        ])
    })
}

fn one_result(sheet: Sheet, report: &TestReport) -> Sheet {
    let loss = &report.loss;
    let uncertainty = loss.uncertainty.as_ref().map(|one| {
        format!("± {} {}, k = {}; {}", one.expanded, loss.unit, one.coverage_factor, one.basis)
    });
    let decision = loss.decision.as_ref();
    let mut sheet = sheet
        .heading(format!("{} · {} {} {}", report.number, loss.name, loss.value, loss.unit))
        .pairs([
            ("Sample", format!("{}, {}", report.sample.code, report.sample.material)),
            ("Source", report.sample.source.clone()),
            ("Condition", report.sample.condition.clone()),
            ("Sampling", report.sample.sampling.clone()),
            ("Method", format!("{}, edition {}", report.method.designation, report.method.edition)),
            ("Received", report.dates.received.clone()),
            ("Tested", report.dates.tested.clone()),
            ("Uncertainty", uncertainty.unwrap_or_else(|| "not stated".to_owned())),
            ("Rule", decision.map(|one| one.rule.clone()).unwrap_or_default()),
            (
                "Released",
                report
                    .authorised
                    .as_ref()
                    .map(|who| format!("{}, {}", who.at, who.name))
                    .unwrap_or_default(),
            ),
        ]);
    if let Some((decision, strip)) = decision.and_then(|one| Some((one, strip(report, one)?))) {
        let words = format!("{}: {}", decision.requirement, decision.outcome.words());
        sheet = sheet.picture(strip.svg(), strip.sentence(), words);
    }
    let masses = masses(&report.specimens);
    if !masses.rows.is_empty() {
        sheet = sheet.table(masses);
    }
    for one in &report.deviations {
        sheet = sheet.remark("Deviation", format!("{}. Reason: {}.", one.what, one.reason));
    }
    for one in &report.doubts {
        sheet = sheet.remark("Doubt", format!("{}. {}.", one.what, one.effect));
    }
    sheet
}

/// The value against its limit.
fn strip(report: &TestReport, decision: &Decision) -> Option<ToleranceStrip> {
    if decision.outcome == Outcome::NotDecided {
        return None;
    }
    let upper = read(decision.strip.upper.as_deref()?).ok()?;
    let accepted = decision.strip.acceptance_upper.as_deref().and_then(|text| read(text).ok());
    let expanded = report.loss.uncertainty.as_ref();
    Some(ToleranceStrip {
        label: report.loss.name.clone(),
        unit: report.loss.unit.clone(),
        upper: Some(upper),
        guard: accepted.map(|accepted| upper - accepted),
        value: read(&report.loss.value).ok(),
        expanded_uncertainty: expanded.and_then(|one| read(&one.expanded).ok()),
        ..ToleranceStrip::default()
    })
}

fn masses(specimens: &[Specimen]) -> Table {
    let columns = [
        Column::text("Specimen"),
        Column::text("Grading"),
        Column::sentence("Weighed"),
        Column::number("Mass, g"),
        Column::text("Balance"),
    ];
    specimens.iter().fold(Table::new("", columns), |table, specimen| {
        specimen.weighings.iter().fold(table, |table, weighing| {
            table.row([
                Cell::from(specimen.code.clone()),
                Cell::from(specimen.grading.clone()),
                Cell::from(weighing.what.clone()),
                Cell::from(weighing.mass_g.clone()),
                Cell::from(weighing.balance.clone()),
            ])
        })
    })
}
