//! Scores for programs: JSON and CSV.

use super::trend::{Series, SeriesPoint, series};
use crate::state::Lab;
use serde_json::{Value, json};
use stonewear_measure::Decimal;
use stonewear_stats::table::row;

/// Every score, series by series, with its matter.
pub fn scores_document(lab: &Lab) -> Value {
    let all: Vec<Value> = series(lab).iter().map(of_series).collect();
    json!({ "series": all, "open": lab.open_scores().map(super::Score::code).collect::<Vec<_>>() })
}

fn of_series(series: &Series<'_>) -> Value {
    let figure = |value: f64| Decimal::try_from(value).ok().and_then(|value| value.round_sf(6));
    json!({
        "method": series.method,
        "quantity": series.quantity,
        "sentence": series.sentence(),
        "mean": series.mean.and_then(figure),
        "interval": series.interval.map(|(low, high)| [figure(low), figure(high)]),
        "change_in_a_year": series.slope.map(|(slope, low, high)| [figure(slope), figure(low), figure(high)]),
        "scores": series.points.iter().map(|point| {
            let told = &point.score.told.value;
            let scores: serde_json::Map<String, Value> = point.scored.all.iter()
                .map(|(kind, value)| (kind.symbol().to_owned(), json!(figure(*value))))
                .collect();
            json!({
                "told": told,
                "scores": scores,
                "decides": point.scored.kind,
                "verdict": point.scored.verdict,
                "running_mean": point.running_mean.and_then(figure),
                "actions": point.score.actions,
                "closed": point.score.closed,
                "open": point.score.is_open(),
            })
        }).collect::<Vec<_>>(),
    })
}

const HEAD: [&str; 13] = [
    "code",
    "provider",
    "round",
    "date",
    "material",
    "method",
    "quantity",
    "value",
    "assigned_value",
    "score",
    "score_value",
    "verdict",
    "open",
];

/// Every score as CSV, oldest first within its series.
pub fn scores_csv(lab: &Lab) -> String {
    let all = series(lab);
    let lines = all.iter().flat_map(|series| series.points.iter().map(line));
    row(HEAD) + &lines.map(row).collect::<String>()
}

fn line(SeriesPoint { score, scored, .. }: &SeriesPoint<'_>) -> [String; 13] {
    let told = &score.told.value;
    [
        told.score.to_string(),
        told.provider.clone(),
        told.round.clone(),
        told.on.to_string(),
        told.material.clone(),
        told.method.clone(),
        told.quantity.clone(),
        told.value.to_string(),
        told.assigned.to_string(),
        scored.kind.symbol().to_owned(),
        format!("{:.2}", scored.value),
        scored.verdict.in_words().to_owned(),
        if score.is_open() { "yes" } else { "no" }.to_owned(),
    ]
}
