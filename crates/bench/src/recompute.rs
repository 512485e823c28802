//! Every loss, precision check and control signal, by the rules of the program: exact masses, the method's
//! own rounding, the published line of repeatability, limits from a baseline, four run rules.

use crate::Trouble;
use crate::generate::BASELINE;
use std::collections::BTreeMap;
use std::path::Path;
use stonewear_measure::{Decimal, read};
use stonewear_method::library::built_in_method;
use stonewear_method::model::Conditions;
use stonewear_method::{Method, Weighed, loss};
use stonewear_stats::chart::{Rule, baseline, individuals};

/// What is written of one test.
struct Row {
    laboratory: String,
    test: String,
    loss: Decimal,
    agree: bool,
    signals: String,
}

/// Reads the tests, works everything out, and writes it.
pub(crate) fn all(tests: &Path, out: &Path) -> Result<(), Trouble> {
    let method = built_in_method("en-1097-1")?;
    let mut reader = csv::Reader::from_path(tests)?;
    let (mut rows, mut charts) =
        (Vec::new(), BTreeMap::<(String, String), Vec<(usize, f64)>>::new());
    let mut record = csv::StringRecord::new();
    while reader.read_record(&mut record)? {
        let (row, mean) = one(&method, &record)?;
        if &record[2] == "reference" {
            let chart = (record[0].to_owned(), record[3].to_owned());
            charts.entry(chart).or_default().push((rows.len(), mean));
        }
        rows.push(row);
    }
    for points in charts.into_values() {
        judge(&points, &mut rows)?;
    }
    let mut writer = csv::Writer::from_path(out)?;
    writer.write_record(["laboratory", "test", "loss", "agree", "signals"])?;
    for row in rows {
        let agree = if row.agree { "yes" } else { "no" };
        let loss = row.loss.to_string();
        writer.write_record([&row.laboratory, &row.test, &loss, agree, &row.signals])?;
    }
    writer.flush()?;
    Ok(())
}

/// One test, and its loss before it is rounded.
fn one(method: &Method, record: &csv::StringRecord) -> Result<(Row, f64), Trouble> {
    let before_g = Decimal::new(500, 0);
    let weighed = |typed| Ok::<_, Trouble>(Weighed { before_g, after_g: read(typed)? });
    let found = loss::loss(method, &[weighed(&record[4])?, weighed(&record[5])?])?;
    let [first, second] = &found.specimens[..] else { return Err("two specimens".into()) };
    let mean = found.exact_percent.as_decimal().ok_or("a loss of many digits")?;
    let one = first.exact_percent.as_decimal().ok_or("a loss of many digits")?;
    let other = second.exact_percent.as_decimal().ok_or("a loss of many digits")?;
    let limit = method.precision_limit(Conditions::Repeatability, mean);
    let agree = limit.is_none_or(|limit| (one - other).abs() <= limit.difference_percent);
    let row = Row {
        laboratory: record[0].to_owned(),
        test: record[1].to_owned(),
        loss: found.percent,
        agree,
        signals: String::new(),
    };
    Ok((row, mean.to_string().parse()?))
}

/// Judges the points of a chart behind its baseline.
fn judge(points: &[(usize, f64)], rows: &mut [Row]) -> Result<(), Trouble> {
    let rules = [Rule::ONE, Rule::TWO, Rule::THREE, Rule::FOUR];
    let values: Vec<f64> = points.iter().map(|(_, value)| *value).collect();
    let Some((first, rest)) = values.split_at_checked(BASELINE) else { return Ok(()) };
    if rest.is_empty() {
        return Ok(());
    }
    let process = baseline(first, &[], &[])?.process;
    for (point, (row, _)) in
        individuals(rest, process, &rules)?.points.iter().zip(&points[BASELINE..])
    {
        let numbers: Vec<String> = point.signals.iter().map(|one| one.rule.to_string()).collect();
        rows[*row].signals = numbers.join("+");
    }
    Ok(())
}
