//! Every loss, precision check and control signal, by the rules of the program: exact masses, the method's
//! own rounding, the published line of repeatability, limits from a baseline, four run rules. On all cores.

use crate::Trouble;
use crate::generate::BASELINE;
use num_traits::ToPrimitive;
use rayon::prelude::*;
use std::collections::BTreeMap;
use std::io::Write;
use std::path::Path;
use stonewear_measure::{Decimal, Exact, read};
use stonewear_method::library::built_in_method;
use stonewear_method::model::Conditions;
use stonewear_method::{Method, Weighed, loss};
use stonewear_stats::chart::{Rule, baseline, individuals};

/// What is written of one test.
struct Row<'a> {
    laboratory: &'a str,
    test: &'a str,
    loss: Decimal,
    agree: bool,
    signals: String,
    /// Lot of the reference aggregate and the loss before it is rounded.
    reference: Option<(&'a str, f64)>,
}

/// The method of the tests.
pub(crate) fn method() -> Result<Method, Trouble> {
    Ok(built_in_method("en-1097-1")?)
}

/// Reads the tests, works everything out, and writes it.
pub(crate) fn all(method: &Method, tests: &Path, out: &Path) -> Result<(), Trouble> {
    let text = std::fs::read_to_string(tests)?;
    let (_, text) = text.split_once('\n').ok_or("there is no test")?;
    let parts = parts(text, 4 * rayon::current_num_threads())?;
    let mut worked = parts
        .par_iter()
        .map(|part| rows(method, part).map_err(|error| error.to_string()))
        .collect::<Result<Vec<_>, String>>()?;
    let mut charts = BTreeMap::<(&str, &str), Vec<(Place, f64)>>::new();
    for (part, rows) in worked.iter().enumerate() {
        for (row, one) in rows.iter().enumerate() {
            if let Some((lot, mean)) = one.reference {
                let chart = charts.entry((one.laboratory, lot)).or_default();
                chart.push((Place { part, row }, mean));
            }
        }
    }
    let judged = charts
        .par_iter()
        .map(|(_, points)| judged(points).map_err(|error| error.to_string()))
        .collect::<Result<Vec<_>, String>>()?;
    for (Place { part, row }, signals) in judged.into_iter().flatten() {
        worked[part][row].signals = signals;
    }
    let written = worked
        .par_iter()
        .map(|rows| written(rows).map_err(|error| error.to_string()))
        .collect::<Result<Vec<_>, String>>()?;
    let mut file = std::fs::File::create(out)?;
    file.write_all(b"laboratory,test,loss,agree,signals\n")?;
    for part in written {
        file.write_all(&part)?;
    }
    Ok(())
}

/// Where a row is: in which part of the file, and which of its rows.
#[derive(Clone, Copy)]
struct Place {
    part: usize,
    row: usize,
}

/// The text in about so many parts, each of whole lines.
fn parts(mut text: &str, wanted: usize) -> Result<Vec<&str>, Trouble> {
    if text.contains('"') {
        return Err(
            "a field in quotation marks may hold the end of a line; the tests have none".into()
        );
    }
    let size = text.len() / wanted + 1;
    let mut parts = Vec::new();
    while !text.is_empty() {
        let from = text.floor_char_boundary(size.min(text.len()));
        let end = text[from..].find('\n').map_or(text.len(), |newline| from + newline + 1);
        let (part, rest) = text.split_at(end);
        parts.push(part);
        text = rest;
    }
    Ok(parts)
}

fn rows<'a>(method: &Method, part: &'a str) -> Result<Vec<Row<'a>>, Trouble> {
    let mut reader = csv::ReaderBuilder::new().has_headers(false).from_reader(part.as_bytes());
    let mut record = csv::StringRecord::new();
    let mut rows = Vec::with_capacity(part.len() / 24);
    while reader.read_record(&mut record)? {
        let begins = record.position().map_or(0, csv::Position::byte) as usize;
        // Without quotation marks a field stands in the text as it does in the record, behind its commas.
        let field = |number: usize| {
            let range = record.range(number).ok_or("a field is missing")?;
            let (from, to) = (begins + range.start + number, begins + range.end + number);
            part.get(from..to).ok_or("a field is not where it was read")
        };
        let (laboratory, test, lot) = (field(0)?, field(1)?, field(3)?);
        let (agree, loss, mean) = one(method, field(4)?, field(5)?)?;
        let reference = (field(2)? == "reference").then_some((lot, mean));
        rows.push(Row { laboratory, test, loss, agree, signals: String::new(), reference });
    }
    Ok(rows)
}

/// One test: whether its specimens agree, its loss, and its loss before it is rounded.
fn one(method: &Method, first: &str, second: &str) -> Result<(bool, Decimal, f64), Trouble> {
    let before_g = Decimal::new(500, 0);
    let weighed = |typed| Ok::<_, Trouble>(Weighed { before_g, after_g: read(typed)? });
    let found = loss::loss(method, &[weighed(first)?, weighed(second)?])?;
    let [first, second] = &found.specimens[..] else { return Err("two specimens".into()) };
    let mean = found.exact_percent.as_decimal().ok_or("a loss of many digits")?;
    let (one, other) = (&first.exact_percent, &second.exact_percent);
    let apart = if one > other { one.minus(other) } else { other.minus(one) };
    let limit = method.precision_limit(Conditions::Repeatability, mean);
    let agree = limit.is_none_or(|limit| apart <= Exact::from(limit.difference_percent));
    Ok((agree, found.percent, mean.to_f64().ok_or("a loss that is no number")?))
}

/// The signals of the points of a chart behind its baseline.
fn judged(points: &[(Place, f64)]) -> Result<Vec<(Place, String)>, Trouble> {
    let rules = [Rule::ONE, Rule::TWO, Rule::THREE, Rule::FOUR];
    let values: Vec<f64> = points.iter().map(|(_, value)| *value).collect();
    let Some((first, rest)) = values.split_at_checked(BASELINE) else { return Ok(Vec::new()) };
    if rest.is_empty() {
        return Ok(Vec::new());
    }
    let process = baseline(first, &[], &[])?.process;
    let chart = individuals(rest, process, &rules)?;
    let signals = chart.points.iter().zip(&points[BASELINE..]).map(|(point, (row, _))| {
        let numbers: Vec<String> = point.signals.iter().map(|one| one.rule.to_string()).collect();
        (*row, numbers.join("+"))
    });
    Ok(signals.collect())
}

fn written(rows: &[Row<'_>]) -> Result<Vec<u8>, Trouble> {
    let mut writer = csv::WriterBuilder::new().from_writer(Vec::with_capacity(rows.len() * 32));
    let mut loss = String::new();
    for row in rows {
        use std::fmt::Write;
        loss.clear();
        write!(loss, "{}", row.loss)?;
        let agree = if row.agree { "yes" } else { "no" };
        writer.write_record([row.laboratory, row.test, &loss, agree, &row.signals])?;
    }
    Ok(writer.into_inner().map_err(csv::IntoInnerError::into_error)?)
}
