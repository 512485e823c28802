//! The table of a provider: columns found by name, every bad row named with its line.

use crate::fact::proficiency::Told;
use crate::round::Columns;
use jiff::civil::Date;
use std::collections::BTreeMap;
use stonewear_measure::Decimal;

/// A row of the table, still without a code; `result` as it is written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct ScoreRow {
    pub(crate) line: usize,
    pub(crate) told: Told,
    /// What stands in the column of own results; may be empty.
    pub(crate) result: String,
    /// Whether a value is written, or only the result that it is.
    pub(crate) has_value: bool,
}

const ROUND: [&str; 3] = ["round", "scheme_round", "round_no"];
const DATE: [&str; 3] = ["date", "closed", "day"];
const MATERIAL: [&str; 3] = ["material", "sample", "item"];
const METHOD: [&str; 3] = ["method", "test_method", "test"];
const QUANTITY: [&str; 3] = ["quantity", "property", "parameter"];
const VALUE: [&str; 5] = ["value", "lab_value", "reported_value", "your_result", "reported"];
const RESULT: [&str; 3] = ["result_code", "own_result", "record"];
const ASSIGNED: [&str; 5] = ["assigned_value", "assigned", "x_pt", "xpt", "reference_value"];
const SIGMA: [&str; 6] = [
    "standard_deviation",
    "sigma_pt",
    "sigma",
    "spread",
    "sd",
    "standard_deviation_for_assessment",
];
const U: [&str; 4] = ["standard_uncertainty", "uncertainty", "u_x", "u_value"];
const EXPANDED: [&str; 3] = ["expanded_uncertainty", "expanded_u_x", "expanded"];
const U_ASSIGNED: [&str; 4] =
    ["assigned_standard_uncertainty", "assigned_uncertainty", "u_pt", "u_assigned"];
const EXPANDED_ASSIGNED: [&str; 2] = ["assigned_expanded_uncertainty", "expanded_u_pt"];

/// Reads the table. `provider` and `method` stand for every row; a column of methods goes before.
///
/// # Errors
/// Everything that is wrong, each with its line.
pub(crate) fn read_scores(
    text: &str,
    provider: &str,
    method: &str,
    today: Date,
) -> Result<Vec<ScoreRow>, Vec<String>> {
    let one = |words: String| vec![words];
    let table = Columns::read(text).map_err(one)?;
    let needed = |names: &[&str]| table.needed(names).map_err(one);
    let maybe = |names: &[&str]| table.texts(names).map_err(one);
    let (rounds, dates, materials) = (needed(&ROUND)?, needed(&DATE)?, needed(&MATERIAL)?);
    let assigned = needed(&ASSIGNED)?;
    let (values, results) = (maybe(&VALUE)?, maybe(&RESULT)?);
    if values.is_none() && results.is_none() {
        let what = "there is no column “value”, and none “result_code” that names a result here";
        return Err(one(what.to_owned()));
    }
    let (methods, quantities) = (maybe(&METHOD)?, maybe(&QUANTITY)?);
    let spreads = [
        maybe(&SIGMA)?,
        maybe(&U)?,
        maybe(&EXPANDED)?,
        maybe(&U_ASSIGNED)?,
        maybe(&EXPANDED_ASSIGNED)?,
    ];
    let mut faults = Vec::new();
    let mut rows = Vec::new();
    let mut seen = BTreeMap::new();
    for row in 0..table.len() {
        let line = table.line(row);
        let before = faults.len();
        let mut fault = |what: String| faults.push(format!("line {line}: {what}"));
        let text = |column: &Option<Vec<String>>| {
            column.as_ref().map(|cells| cells[row].trim().to_owned()).unwrap_or_default()
        };
        for (what, cell) in [("round", &rounds[row]), ("material", &materials[row])] {
            if cell.trim().is_empty() {
                fault(format!("the {what} is missing"));
            }
        }
        let on = day(&dates[row], today).unwrap_or_else(|words| {
            fault(words);
            today
        });
        let number = |fault: &mut dyn FnMut(String), what: &str, cell: &str| {
            crate::round::number(cell).map_err(|words| fault(format!("{what}: {words}"))).ok()
        };
        let (typed, result) = (text(&values), text(&results));
        let value = match (typed.is_empty(), result.is_empty()) {
            (true, false) => Some(Decimal::ZERO),
            _ => number(&mut fault, "value", &typed),
        };
        let assigned = number(&mut fault, "assigned value", &assigned[row]);
        let names = [
            "standard deviation",
            "uncertainty",
            "expanded uncertainty",
            "uncertainty of the assigned value",
            "expanded uncertainty of the assigned value",
        ];
        let mut found = [None; 5];
        for ((place, name), column) in found.iter_mut().zip(names).zip(&spreads) {
            let cell = text(column);
            if cell.is_empty() {
                continue;
            }
            *place = number(&mut fault, name, &cell);
            if let Some(spread) = place.filter(|spread| *spread <= Decimal::ZERO) {
                fault(format!("{name}: {spread} cannot be; it must be more than 0"));
            }
        }
        let or = |cell: String, other: &str| if cell.is_empty() { other.to_owned() } else { cell };
        let method = or(text(&methods), method.trim());
        if method.is_empty() {
            fault(
                "the method is missing; name it in a column “method”, or for the whole table"
                    .to_owned(),
            );
        }
        let quantity = or(text(&quantities), crate::round::LOSS);
        let key = (
            rounds[row].trim().to_lowercase(),
            materials[row].trim().to_lowercase(),
            method.clone(),
            quantity.clone(),
        );
        if let Some(first) = seen.insert(key, line) {
            fault(format!("round, material, method and quantity stand already on line {first}"));
        }
        let [sigma_pt, uncertainty, expanded, assigned_uncertainty, assigned_expanded] = found;
        let told = Told {
            provider: provider.to_owned(),
            round: rounds[row].trim().to_owned(),
            on,
            material: materials[row].trim().to_owned(),
            method,
            quantity,
            value: value.unwrap_or_default(),
            assigned: assigned.unwrap_or_default(),
            sigma_pt,
            uncertainty,
            expanded,
            assigned_uncertainty,
            assigned_expanded,
            ..Told::default()
        };
        if sigma_pt.is_none() && uncertainty.is_none() && expanded.is_none() {
            let what = "nothing to score by: give the standard deviation for assessment, or the uncertainty of the value";
            fault(what.to_owned());
        }
        if faults.len() == before {
            rows.push(ScoreRow { line, told, result, has_value: !typed.is_empty() });
        }
    }
    if faults.is_empty() { Ok(rows) } else { Err(faults) }
}

fn day(cell: &str, today: Date) -> Result<Date, String> {
    let cell = cell.trim();
    match cell.parse::<Date>() {
        Ok(day) if day <= today => Ok(day),
        Ok(day) => Err(format!("{day} has not come yet; today is {today}")),
        Err(_) => Err(format!("“{cell}” is not a day; write it like {today}")),
    }
}
