//! The losses of many samples from one CSV file: `stonewear loss METHOD --file FILE`.

use super::loss::plain;
use crate::answer::{Answer, Failure};
use crate::statistics::table::columns;
use serde_json::json;
use std::collections::BTreeMap;
use std::path::Path;
use stonewear_measure::{Decimal, read};
use stonewear_method::loss::{departures, loss};
use stonewear_method::{Method, Weighed};
use stonewear_stats::table::Table;

/// The names in the order of the file, and the rows of each.
type Samples = (Vec<String>, BTreeMap<String, Rows>);

/// Where a sample is in the file, and its specimens.
struct Rows {
    line: usize,
    specimens: Vec<Weighed>,
}

pub(super) fn run(method: &Method, file: &Path, even_so: Option<&str>) -> Result<Answer, Failure> {
    let shown = file.display();
    let bytes = std::fs::read(file)
        .map_err(|error| Failure::Surroundings(format!("{shown} cannot be read: {error}")))?;
    let wrong =
        |line: usize, what: String| Failure::WrongInput(format!("{shown}, line {line}: {what}"));
    let (order, samples) = samples(&bytes).map_err(|(line, what)| match line {
        Some(line) => wrong(line, what),
        None => Failure::WrongInput(format!("{shown}: {what}")),
    })?;
    let mut table = Vec::new();
    let mut answers = Vec::new();
    for name in &order {
        let Some(rows) = samples.get(name) else { continue };
        let worked =
            loss(method, &rows.specimens).map_err(|error| wrong(rows.line, error.to_string()))?;
        let departures = departures(method, &rows.specimens);
        if let (Some(first), None) = (departures.first(), even_so) {
            let hint = "with --even-so REASON the losses are worked out all the same";
            return Err(wrong(rows.line, format!("{first} ({hint})")));
        }
        table.push(vec![
            name.clone(),
            rows.specimens.len().to_string(),
            worked.percent.to_string(),
            worked.exact_percent.to_decimals(6),
        ]);
        answers.push(json!({
            "sample": name,
            "line": rows.line,
            "loss_percent": worked.percent.to_string(),
            "unrounded": plain(&worked.exact_percent),
            "departures": departures,
        }));
    }
    let text = columns(&["sample", "specimens", "loss, %", "before rounding, %"], &table);
    Ok(Answer::new(
        text,
        json!({
            "method": method.id,
            "edition": method.edition,
            "samples": answers,
            "even_so": even_so,
        }),
    ))
}

/// The samples in the order in which the file names them.
fn samples(bytes: &[u8]) -> Result<Samples, (Option<usize>, String)> {
    let table = Table::read(bytes).map_err(|error| (None, error.to_string()))?;
    let column = |name: &str| table.texts(name).map_err(|error| (None, error.to_string()));
    let (before, after) = (column("before_g")?, column("after_g")?);
    let names = table.texts("sample").ok();
    let mut order = Vec::new();
    let mut samples: BTreeMap<String, Rows> = BTreeMap::new();
    for (index, (before, after)) in before.iter().zip(&after).enumerate() {
        let line = table.line(index + 1).unwrap_or_default();
        let mass = |name: &str, typed: &str| -> Result<Decimal, (Option<usize>, String)> {
            read(typed).map_err(|error| (Some(line), format!("{name}: {error}")))
        };
        let weighed =
            Weighed { before_g: mass("before_g", before)?, after_g: mass("after_g", after)? };
        let name = names
            .as_ref()
            .and_then(|names| names.get(index).cloned())
            .unwrap_or_else(|| (index + 1).to_string());
        let rows = samples.entry(name.clone()).or_insert_with(|| {
            order.push(name);
            Rows { line, specimens: Vec::new() }
        });
        rows.specimens.push(weighed);
    }
    Ok((order, samples))
}
