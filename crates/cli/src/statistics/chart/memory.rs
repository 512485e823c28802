//! Charts with a memory: EWMA and CUSUM.

use super::super::document::Document;
use super::super::picture;
use super::super::table::{columns, lines, short};
use super::Charted;
use crate::answer::Answer;
use serde_json::{Value, json};
use stonewear_stats::StatsError;
use stonewear_stats::chart::{self as stats, CusumDesign, Established, EwmaDesign, EwmaLimits};

pub(super) fn ewma(
    values: &[f64],
    process: Established,
    lambda: f64,
    width: f64,
    asymptotic: bool,
) -> Result<Charted, StatsError> {
    let limits = if asymptotic { EwmaLimits::Asymptotic } else { EwmaLimits::Exact };
    let chart = stats::ewma(values, process, EwmaDesign { lambda, width, limits })?;
    let points: Vec<Value> = chart
        .points
        .iter()
        .map(|p| {
            let signals: Vec<&str> = p.signal.then_some("outside the limits").into_iter().collect();
            json!({
                "index": p.index, "value": p.value, "statistic": p.average,
                "lower": p.limits.lower, "upper": p.limits.upper, "signals": signals,
            })
        })
        .collect();
    let json = Document::new()
        .put("centre", chart.limits.centre)
        .put("lower", chart.limits.lower)
        .put("upper", chart.limits.upper)
        .put("sigma", process.sigma)
        .put("lambda", lambda)
        .put("width", width)
        .put("points", points);
    let rows: Vec<Vec<String>> = chart
        .points
        .iter()
        .map(|p| {
            let note = if p.signal { "signal" } else { "" };
            let ends = format!("{} to {}", short(p.limits.lower), short(p.limits.upper));
            vec![p.index.to_string(), short(p.value), short(p.average), ends, note.to_owned()]
        })
        .collect();
    let mut text = lines(&[
        ("centre", short(chart.limits.centre)),
        ("final lower limit", short(chart.limits.lower)),
        ("final upper limit", short(chart.limits.upper)),
        ("standard deviation of single values", short(process.sigma)),
    ]);
    text.push('\n');
    text.push_str(&columns(&["point", "value", "average", "limits", ""], &rows));
    let marks = chart
        .points
        .iter()
        .map(|p| (p.index.to_string(), p.average, p.signal.then(|| "outside".to_owned())));
    let limits = (chart.limits.lower, chart.limits.upper);
    let picture = picture::series("Moving average", marks, chart.limits.centre, limits);
    let is_no = chart.points.iter().any(|p| p.signal);
    Ok(Charted { answer: Answer { text, json: json.value(), is_no }, picture })
}

pub(super) fn cusum(
    values: &[f64],
    (target, k, h): (f64, f64, f64),
) -> Result<Charted, StatsError> {
    let chart = stats::cusum(values, CusumDesign { target, allowance: k, decision: h })?;
    let points: Vec<Value> = chart
        .points
        .iter()
        .map(|p| {
            let mut signals = Vec::new();
            if p.high > h {
                signals.push("high");
            }
            if p.low > h {
                signals.push("low");
            }
            json!({
                "index": p.index, "value": p.value, "statistic": p.high.max(p.low),
                "high": p.high, "low": p.low, "signals": signals,
            })
        })
        .collect();
    let none = "no point signals";
    let whole = |document: Document, name: &str, value: Option<usize>| match value {
        Some(index) => document.put(name, index),
        None => document.missing(name, none),
    };
    let mut json = Document::new()
        .put("centre", target)
        .put("lower", -h)
        .put("upper", h)
        .put("k", k)
        .put("h", h)
        .put("points", points);
    json = whole(json, "first_signal", chart.first_signal);
    json = whole(json, "change_began", chart.change_began);
    let rows: Vec<Vec<String>> = chart
        .points
        .iter()
        .map(|p| {
            let note = if p.signal { "signal" } else { "" };
            let cells = [short(p.value), short(p.high), short(p.low), note.to_owned()];
            std::iter::once(p.index.to_string()).chain(cells).collect()
        })
        .collect();
    let mut text = lines(&[
        ("target", short(target)),
        ("allowance k", short(k)),
        ("decision interval h", short(h)),
    ]);
    if let (Some(first), Some(began)) = (chart.first_signal, chart.change_began) {
        text.push_str(&format!(
            "first signal at point {first}; the change began about point {began}\n"
        ));
    }
    text.push('\n');
    text.push_str(&columns(&["point", "value", "high sum", "low sum", ""], &rows));
    // Both sums in one picture: the low one is drawn downward, and the larger of the two is shown.
    let marks = chart.points.iter().map(|p| {
        let sum = if p.low > p.high { -p.low } else { p.high };
        (p.index.to_string(), sum, p.signal.then(|| "beyond h".to_owned()))
    });
    let picture = picture::series("Cumulative sums", marks, 0.0, (-h, h));
    let is_no = chart.first_signal.is_some();
    Ok(Charted { answer: Answer { text, json: json.value(), is_no }, picture })
}
