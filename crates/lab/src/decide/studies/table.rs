//! Reading the tables of studies: runs that were carried out elsewhere, and values of planned runs.

use super::{Layout, MOST_LEVELS, is_yes, recognise};
use crate::decide::form::Form;
use crate::fact::{ImportedValue, PlannedRun, Question, StudyFactor, StudyPlanned};
use crate::request::PlanStudy;
use crate::study::LOSS;
use crate::words::listed;
use std::collections::BTreeSet;
use stonewear_measure::Decimal;
use stonewear_stats::table::Table;

/// More rows than this are not one study.
const MOST_ROWS: usize = 2_000;
/// Beyond this a cell holds something else than a level.
const LONGEST_LEVEL: usize = 60;

/// A table that can be read, or what is wrong with it.
fn read(form: &mut Form, text: &str, hint: &str) -> Option<Table> {
    let table = match Table::read(text.as_bytes()) {
        Ok(table) => table,
        Err(error) => {
            form.wrong("table", "input-table", error.to_string(), hint);
            return None;
        }
    };
    if table.is_empty() || table.len() > MOST_ROWS {
        let message = format!("the table has {}", crate::words::counted(table.len(), "row"));
        form.wrong("table", "input-table", message, format!("give 1 to {MOST_ROWS} rows"));
        return None;
    }
    Some(table)
}

/// The cells of a column, with the line of each.
fn column(form: &mut Form, table: &Table, name: &str) -> Option<Vec<(usize, String)>> {
    match table.texts(name) {
        Ok(cells) => {
            let line = |row: usize| table.line(row + 1).unwrap_or_default();
            Some(cells.into_iter().enumerate().map(|(row, cell)| (line(row), cell)).collect())
        }
        Err(error) => {
            let hint = format!("its columns are: {}", listed(table.names().iter()));
            form.wrong("table", "input-table", error.to_string(), hint);
            None
        }
    }
}

/// A value of a run, which a loss between 0 and 100 % is.
fn value(form: &mut Form, line: usize, typed: &str, unit: &str) -> Option<Decimal> {
    let value = match stonewear_measure::read(typed) {
        Ok(value) => value,
        Err(error) => {
            form.wrong(
                "table",
                "input-row",
                format!("line {line}: {error}"),
                "write a number like 14.8",
            );
            return None;
        }
    };
    if unit == LOSS && !(Decimal::ZERO..=Decimal::ONE_HUNDRED).contains(&value) {
        let message = format!("line {line}: a loss of {value} % cannot be");
        form.wrong("table", "input-row", message, "it lies from 0 to 100 %");
        return None;
    }
    Some(value)
}

/// The column of values: the one that is named, `loss`, or the last.
fn value_column(request: &PlanStudy, table: &Table) -> String {
    let named = request.value_column.trim();
    let loss = table.names().iter().find(|name| name.as_str() == "loss");
    match (named, loss.or(table.names().last())) {
        ("", Some(name)) => name.clone(),
        _ => named.to_owned(),
    }
}

/// The layout of runs that were carried out elsewhere, with their values.
pub(super) fn layout(
    form: &mut Form,
    request: &PlanStudy,
    question: Question,
    unit: &str,
) -> Option<Layout> {
    let table = read(form, &request.table, "give a column a factor, and one of values")?;
    let values_in = value_column(request, &table);
    let named: Vec<String> = request
        .factors
        .iter()
        .map(|one| one.name.trim().to_owned())
        .filter(|name| !name.is_empty())
        .collect();
    let names = match (question, named.is_empty()) {
        (Question::Reference, true) => Vec::new(),
        (_, true) => {
            let factor = |name: &&String| **name != values_in && name.as_str() != "run";
            table.names().iter().filter(factor).cloned().collect()
        }
        (_, false) => named,
    };
    let numbers: Vec<Option<Decimal>> = column(form, &table, &values_in)?
        .iter()
        .map(|(line, cell)| value(form, *line, cell, unit))
        .collect();
    let mut columns = Vec::new();
    for name in &names {
        columns.push(column(form, &table, name)?);
    }
    for (line, cell) in columns.iter().flatten() {
        if cell.trim().is_empty()
            || cell.chars().count() > LONGEST_LEVEL
            || cell.chars().any(char::is_control)
        {
            let hint = format!("write 1 to {LONGEST_LEVEL} characters");
            form.wrong("table", "input-row", format!("line {line}: “{cell}” is no level"), hint);
        }
    }
    if form.is_hopeless() {
        return None;
    }
    let factors: Vec<StudyFactor> = names
        .iter()
        .zip(&columns)
        .map(|(name, cells)| StudyFactor { name: name.clone(), levels: in_order(cells) })
        .collect();
    if let Some(factor) = factors.iter().find(|factor| factor.levels.len() > MOST_LEVELS) {
        let message = format!("{} has {} levels", factor.name, factor.levels.len());
        form.wrong("table", "study-factors", message, format!("a factor has 2 to {MOST_LEVELS}"));
        return None;
    }
    let rows: Vec<Vec<String>> = (0..table.len())
        .map(|row| columns.iter().filter_map(|cells| Some(cells.get(row)?.1.clone())).collect())
        .collect();
    let nested = is_yes(form, "nested", &request.nested);
    let (design, why) = match recognise(question, &factors, nested, &rows) {
        Ok(recognised) => recognised,
        Err((message, hint)) => {
            form.wrong("factors", "study-factors", message, hint);
            return None;
        }
    };
    let mut runs: Vec<PlannedRun> = Vec::new();
    for (run, levels) in (1..).zip(rows) {
        let before = runs.iter().filter(|other| other.levels == levels).count();
        let repetition = u32::try_from(before + 1).unwrap_or(u32::MAX);
        runs.push(PlannedRun { run, levels, repetition });
    }
    let values =
        (1..).zip(numbers).filter_map(|(run, value)| Some(ImportedValue { run, value: value? }));
    Some(Layout { values: values.collect(), factors, design, why: vec![why], runs, seed: None })
}

/// The levels of a column, in the order in which they come.
fn in_order(cells: &[(usize, String)]) -> Vec<String> {
    let mut seen = BTreeSet::new();
    cells.iter().filter(|(_, cell)| seen.insert(cell)).map(|(_, cell)| cell.clone()).collect()
}

/// Values by run of a plan.
pub(super) fn values_of_runs(
    form: &mut Form,
    text: &str,
    plan: &StudyPlanned,
) -> Vec<ImportedValue> {
    let Some(table) = read(form, text, "give a table with the columns run and loss") else {
        return Vec::new();
    };
    let values_in = if table.names().iter().any(|name| name == "loss") { "loss" } else { "value" };
    let (Some(numbers), Some(cells)) =
        (column(form, &table, "run"), column(form, &table, values_in))
    else {
        return Vec::new();
    };
    let mut values: Vec<ImportedValue> = Vec::new();
    for ((line, number), (_, cell)) in numbers.iter().zip(&cells) {
        // A run that has no value yet leaves its cell empty.
        if cell.trim().is_empty() {
            continue;
        }
        let run = number.trim().parse::<u32>().ok();
        let Some(run) = run.filter(|run| plan.runs.iter().any(|planned| planned.run == *run))
        else {
            let message = format!("line {line}: {} has no run “{number}”", plan.study);
            let hint = format!("it has the runs 1 to {}", plan.runs.len());
            form.wrong("table", "input-row", message, hint);
            continue;
        };
        if values.iter().any(|other| other.run == run) {
            let message = format!("line {line}: run {run} comes twice");
            form.wrong("table", "input-row", message, "give each run one value");
        }
        if let Some(value) = value(form, *line, cell, &plan.unit) {
            values.push(ImportedValue { run, value });
        }
    }
    if values.is_empty() && !form.is_hopeless() {
        form.wrong("table", "input-table", "the table holds no value", "give at least one");
    }
    values
}
