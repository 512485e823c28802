//! The paper about this laboratory's scores in the rounds of others.

use super::pictures::score_chart;
use super::round::begun;
use crate::{Cell, Column, Sheet, Table};
use jiff::Timestamp;
use stonewear_lab::Lab;
use stonewear_lab::proficiency::{Series, series};
use stonewear_lab::state::Score;

/// Scores over the years, series by series, and what was done about those that were not
/// satisfactory.
pub fn proficiency_sheet(lab: &Lab, made: Timestamp) -> Sheet {
    let sheet = begun(lab, "Proficiency".to_owned(), "Scores over the years".to_owned(), made);
    let all = series(lab);
    if all.is_empty() {
        return sheet.text("No table of a provider was taken in.");
    }
    let sheet = sheet.text(
        "A score up to 2 is satisfactory, between 2 and 3 questionable, from 3 on unsatisfactory, whatever its sign; E_n is satisfactory below 1 (ISO 13528, from memory, unconfirmed).",
    );
    all.iter().fold(sheet, |sheet, series| one(lab, sheet, series))
}

fn one(lab: &Lab, sheet: Sheet, series: &Series<'_>) -> Sheet {
    let columns = [
        Column::text("Code"),
        Column::text("Round"),
        Column::text("Day"),
        Column::text("Material"),
        Column::number("Value"),
        Column::number("Assigned"),
        Column::text("Score"),
        Column::number(""),
        Column::text("Verdict"),
        Column::number("Running mean"),
    ];
    let table = series.points.iter().fold(Table::new("Scores", columns), |table, point| {
        let told = &point.score.told.value;
        table.row([
            Cell::from(told.score.to_string()),
            format!("{}, {}", told.provider, told.round).into(),
            told.on.to_string().into(),
            told.material.clone().into(),
            told.value.to_string().into(),
            told.assigned.to_string().into(),
            point.scored.kind.symbol().into(),
            format!("{:.2}", point.scored.value).into(),
            point.scored.verdict.in_words().into(),
            point.running_mean.map_or_else(String::new, |mean| format!("{mean:.2}")).into(),
        ])
    });
    let chart = score_chart(series);
    let sheet = sheet
        .heading(format!("{}, {}", series.method, series.quantity))
        .text(series.sentence())
        .picture(chart.svg(), chart.sentence(), "Score of each round; limits at 2 and 3.")
        .table(table);
    let with_matter = series
        .points
        .iter()
        .filter(|point| point.score.is_open() || !point.score.actions.is_empty());
    with_matter.fold(sheet, |sheet, point| matter(lab, sheet, point.score))
}

fn matter(lab: &Lab, sheet: Sheet, score: &Score) -> Sheet {
    let mut words = Vec::new();
    for action in &score.actions {
        let day = lab.local(action.at).date();
        words.push(format!(
            "Cause: {}. Done: {} ({}, {day}).",
            action.value.cause, action.value.action, action.by
        ));
    }
    match &score.closed {
        Some(closed) => {
            let day = lab.local(closed.at).date();
            words.push(format!("Closed: {} ({}, {day}).", closed.value, closed.by));
        }
        None => words.push(format!("Open: {}.", score.wants())),
    }
    sheet.remark(score.code().to_string(), words.join(" "))
}
