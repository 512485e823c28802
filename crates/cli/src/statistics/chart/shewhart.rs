//! Charts without a memory: individuals and subgroups.

use super::super::document::Document;
use super::super::picture;
use super::super::table::{columns, lines, short};
use super::Charted;
use crate::answer::Answer;
use serde_json::{Value, json};
use stonewear_picture::SeriesChart;
use stonewear_stats::StatsError;
use stonewear_stats::chart::{
    self as stats, Baseline, Established, Limits, Point, Rule, Side, SubgroupChart,
};
use stonewear_stats::run_length::shewhart;

pub(super) fn individuals(
    values: &[f64],
    process: Established,
    phase_1: Option<&Baseline>,
    rules: &[Rule],
) -> Result<Charted, StatsError> {
    let chart = stats::individuals(values, process, rules)?;
    let ranges: Vec<Value> = chart
        .ranges
        .iter()
        .map(|r| json!({ "index": r.index, "value": r.value, "beyond": r.beyond }))
        .collect();
    let mut json = with_limits(Document::new(), &chart.limits)
        .put("sigma", process.sigma)
        .figure("moving_range_mean", &chart.moving_range_mean())
        .put("moving_range_upper", chart.range_limits.upper)
        .put("moving_ranges", ranges)
        .put("phase", if phase_1.is_some() { 1 } else { 2 })
        .put("points", points(&chart.points));
    json = with_false_alarms(json, rules);
    let mut text = head(&chart.limits, process.sigma, rules);
    if let Some(phase_1) = phase_1 {
        let excluded: Vec<Value> = phase_1
            .excluded
            .iter()
            .map(|e| json!({ "index": e.index, "reason": e.reason }))
            .collect();
        json = json
            .put("used", phase_1.used)
            .put("excluded", excluded)
            .put("overall_standard_deviation", phase_1.overall_standard_deviation);
        for e in &phase_1.excluded {
            text.push_str(&format!("point {} left out of the limits: {}\n", e.index, e.reason));
        }
    }
    text.push('\n');
    text.push_str(&listed(&chart.points));
    let is_no = signals(&chart.points) || chart.ranges.iter().any(|r| r.beyond);
    let answer = Answer { text, json: json.value(), is_no };
    Ok(Charted { answer, picture: drawn("Individuals", &chart.points, &chart.limits) })
}

pub(super) fn mean_range(groups: &[Vec<f64>], rules: &[Rule]) -> Result<Charted, StatsError> {
    Ok(subgroups(&stats::mean_range(groups, rules)?, "range", rules))
}

pub(super) fn mean_sd(groups: &[Vec<f64>], rules: &[Rule]) -> Result<Charted, StatsError> {
    Ok(subgroups(&stats::mean_sd(groups, rules)?, "standard deviation", rules))
}

fn subgroups(chart: &SubgroupChart, what: &str, rules: &[Rule]) -> Charted {
    let limits = &chart.spread_limits;
    let spreads: Vec<Value> = chart
        .spreads
        .iter()
        .map(|s| json!({ "index": s.index, "value": s.value, "beyond": s.beyond }))
        .collect();
    let json = with_limits(Document::new(), &chart.limits)
        .put("sigma", chart.sigma)
        .put("subgroup_size", chart.subgroup_size)
        .put("spread", what)
        .put("spread_centre", limits.centre)
        .put("spread_lower", limits.lower)
        .put("spread_upper", limits.upper)
        .put("spreads", spreads)
        .put("points", points(&chart.points));
    let mut text = head(&chart.limits, chart.sigma, rules);
    text.push_str(&format!(
        "{what}: centre {}, limits {} to {}\n\n",
        short(limits.centre),
        short(limits.lower),
        short(limits.upper)
    ));
    text.push_str(&listed(&chart.points));
    for s in chart.spreads.iter().filter(|s| s.beyond) {
        text.push_str(&format!(
            "subgroup {}: {what} {} is outside its limits\n",
            s.index,
            short(s.value)
        ));
    }
    let is_no = signals(&chart.points) || chart.spreads.iter().any(|s| s.beyond);
    let answer = Answer { text, json: with_false_alarms(json, rules).value(), is_no };
    Charted { answer, picture: drawn("Means of subgroups", &chart.points, &chart.limits) }
}

fn drawn(title: &str, points: &[Point], limits: &Limits) -> SeriesChart {
    let marks = points.iter().map(|p| {
        let rules: Vec<String> = p.signals.iter().map(|s| format!("rule {}", s.rule)).collect();
        (p.index.to_string(), p.value, (!rules.is_empty()).then(|| rules.join(", ")))
    });
    picture::series(title, marks, limits.centre, (limits.lower, limits.upper))
}

fn with_limits(document: Document, limits: &Limits) -> Document {
    document.put("centre", limits.centre).put("lower", limits.lower).put("upper", limits.upper)
}

/// What the selected rules cost: points between two false alarms.
fn with_false_alarms(document: Document, rules: &[Rule]) -> Document {
    match shewhart(rules, 0.0) {
        Ok(length) => document.put("false_alarm_every", length),
        Err(why) => document.missing("false_alarm_every", why),
    }
}

fn head(limits: &Limits, sigma: f64, rules: &[Rule]) -> String {
    let mut text = lines(&[
        ("centre", short(limits.centre)),
        ("lower limit", short(limits.lower)),
        ("upper limit", short(limits.upper)),
        ("standard deviation", short(sigma)),
    ]);
    if let Ok(length) = shewhart(rules, 0.0) {
        text.push_str(&format!("with these rules one false alarm in {} points\n", length.round()));
    }
    text
}

fn points(points: &[Point]) -> Vec<Value> {
    points
        .iter()
        .map(|p| {
            let signals: Vec<Value> = p
                .signals
                .iter()
                .map(|s| json!({ "rule": s.rule, "side": side(s.side) }))
                .collect();
            json!({ "index": p.index, "value": p.value, "statistic": p.statistic, "signals": signals })
        })
        .collect()
}

fn side(side: Side) -> &'static str {
    match side {
        Side::Above => "above",
        Side::Below => "below",
    }
}

fn signals(points: &[Point]) -> bool {
    points.iter().any(|p| !p.signals.is_empty())
}

fn listed(points: &[Point]) -> String {
    let rows: Vec<Vec<String>> = points
        .iter()
        .map(|p| {
            let signals: Vec<String> =
                p.signals.iter().map(|s| format!("rule {} {}", s.rule, side(s.side))).collect();
            vec![p.index.to_string(), short(p.value), short(p.statistic), signals.join(", ")]
        })
        .collect();
    columns(&["point", "value", "sigmas from centre", "signals"], &rows)
}
