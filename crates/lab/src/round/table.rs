//! Files that come in during a round: results of participants, and of the homogeneity test.
//!
//! Every bad row is named with its line; a file with a bad row is not taken in at all.

use super::columns::{Columns, number};
use crate::state::Round;
use std::collections::BTreeMap;
use stonewear_measure::Decimal;

/// A row of a file of results.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct ResultRow {
    pub(crate) line: usize,
    pub(crate) code: String,
    pub(crate) material: String,
    pub(crate) replicate: u32,
    pub(crate) value: Decimal,
}

/// A row of a file of the homogeneity test.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct BagRow {
    pub(crate) material: String,
    pub(crate) bag: String,
    pub(crate) value: Decimal,
}

const CODE: [&str; 4] = ["code", "participant", "lab", "laboratory"];
const MATERIAL: [&str; 3] = ["material", "sample", "level"];
const REPLICATE: [&str; 3] = ["replicate", "test", "portion"];
const VALUE: [&str; 3] = ["value", "result", "loss"];
const BAG: [&str; 3] = ["bag", "unit", "split"];

/// Reads `code,material,replicate,value`. Rows with an empty value are results that were not given.
///
/// # Errors
/// Everything that is wrong, each with its line.
pub(crate) fn read_results(round: &Round, text: &str) -> Result<Vec<ResultRow>, Vec<String>> {
    let one = |words: String| vec![words];
    let table = Columns::read(text).map_err(one)?;
    let codes = table.needed(&CODE).map_err(one)?;
    let materials = table.needed(&MATERIAL).map_err(one)?;
    let replicates = table.texts(&REPLICATE).map_err(one)?;
    let values = table.needed(&VALUE).map_err(one)?;
    let mut faults = Vec::new();
    let mut rows: Vec<ResultRow> = Vec::new();
    let mut seen = BTreeMap::new();
    for row in 0..table.len() {
        if values[row].trim().is_empty() {
            continue;
        }
        let line = table.line(row);
        let mut fault = |what: String| faults.push(format!("line {line}: {what}"));
        let code = codes[row].trim().to_uppercase();
        let known = round.participants.contains_key(code.as_str());
        if !known {
            fault(format!("nobody takes part under the code “{}”", codes[row].trim()));
        }
        let material = round.material(&materials[row]).map(|known| known.name.clone());
        if material.is_none() {
            let names = names(round);
            fault(format!("there is no material “{}”; known: {names}", materials[row].trim()));
        }
        let replicate =
            replicates.as_ref().map_or(Some(1), |all| all[row].trim().parse::<u32>().ok());
        let most = round.plan.value.replicates;
        let replicate = replicate.filter(|number| (1..=most).contains(number));
        if replicate.is_none() {
            let typed = replicates.as_ref().map(|all| all[row].trim()).unwrap_or_default();
            fault(format!("“{typed}” is no replicate; they are numbered from 1 to {most}"));
        }
        let value = match value_of(round, &values[row]) {
            Ok(value) => Some(value),
            Err(words) => {
                fault(words);
                None
            }
        };
        let (true, Some(material), Some(replicate), Some(value)) =
            (known, material, replicate, value)
        else {
            continue;
        };
        if let Some(first) = seen.insert((code.clone(), material.clone(), replicate), line) {
            fault(format!(
                "{code}, {material}, replicate {replicate} stands already on line {first}"
            ));
            continue;
        }
        rows.push(ResultRow { line, code, material, replicate, value });
    }
    if faults.is_empty() { Ok(rows) } else { Err(faults) }
}

/// Reads `material,bag,value`: every row of a bag is one result of it.
///
/// # Errors
/// Everything that is wrong, each with its line.
pub(crate) fn read_bags(round: &Round, text: &str) -> Result<Vec<BagRow>, Vec<String>> {
    let one = |words: String| vec![words];
    let table = Columns::read(text).map_err(one)?;
    let materials = table.needed(&MATERIAL).map_err(one)?;
    let bags = table.needed(&BAG).map_err(one)?;
    let values = table.needed(&VALUE).map_err(one)?;
    let mut faults = Vec::new();
    let mut rows = Vec::new();
    for row in 0..table.len() {
        let line = table.line(row);
        let mut fault = |what: String| faults.push(format!("line {line}: {what}"));
        let material = round.material(&materials[row]).map(|known| known.name.clone());
        if material.is_none() {
            let names = names(round);
            fault(format!("there is no material “{}”; known: {names}", materials[row].trim()));
        }
        let bag = bags[row].trim().to_owned();
        if bag.is_empty() {
            fault("the bag is missing; write its number".to_owned());
        }
        match (value_of(round, &values[row]), material) {
            (Err(words), _) => fault(words),
            (Ok(value), Some(material)) => rows.push(BagRow { material, bag, value }),
            (Ok(_), None) => {}
        }
    }
    if faults.is_empty() { Ok(rows) } else { Err(faults) }
}

fn names(round: &Round) -> String {
    crate::words::listed(round.materials().iter().map(|material| material.name.as_str()))
}

/// A result: a number, and a loss lies from 0 to 100 %.
fn value_of(round: &Round, cell: &str) -> Result<Decimal, String> {
    let value = number(cell)?;
    let is_loss = round.plan.value.quantity == super::LOSS;
    if is_loss && (value < Decimal::ZERO || value > Decimal::ONE_HUNDRED) {
        return Err(format!("a loss of {value} % cannot be; it lies from 0 to 100 %"));
    }
    Ok(value)
}
