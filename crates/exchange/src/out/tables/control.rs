//! What stands on the control charts.

use super::{Column, Kind, Value, column, day};
use stonewear_lab::Lab;
use stonewear_lab::control::Role;

pub(super) const POINTS: [Column; 11] = [
    column("lot", "Lot", "", Kind::Text, "The lot of reference aggregate."),
    column("apparatus", "Apparatus", "", Kind::Text, "The machine that ran it."),
    column("result", "Result", "", Kind::Text, "The result, or the row of an import."),
    column("tested_on", "Tested on", "", Kind::Day, "The day of the result."),
    column("loss_percent", "Loss", "%", Kind::Number, "The loss as the chart takes it."),
    column("operator", "Operator", "", Kind::Text, "Who ran it."),
    column(
        "imported",
        "Imported",
        "",
        Kind::YesNo,
        "Yes where it was taken over from the laboratory's past and not observed here.",
    ),
    column(
        "role",
        "Role",
        "",
        Kind::Text,
        "baseline, excluded, not-judged or judged: what it is on the chart.",
    ),
    column("centre_percent", "Centre", "%", Kind::Number, "The centre of the chart now."),
    column("sigma_percent", "s", "%", Kind::Number, "The standard deviation of the chart now."),
    column("signal", "Signal", "", Kind::Text, "The rules that it completes, in words."),
];

pub(super) fn points(lab: &Lab) -> Vec<Vec<Value>> {
    let mut rows = Vec::new();
    for chart in lab.control_charts() {
        for point in &chart.points {
            let role = match &point.role {
                Role::Baseline => "baseline",
                Role::Excluded { .. } => "excluded",
                Role::NotJudged => "not-judged",
                Role::Judged => "judged",
            };
            rows.push(vec![
                chart.lot.as_str().into(),
                chart.apparatus.as_str().into(),
                point.name.as_str().into(),
                day(lab, point.at),
                point.loss_percent.into(),
                point.operator.as_str().into(),
                point.imported.into(),
                role.into(),
                chart.lines.map(|lines| lines.centre).into(),
                chart.lines.map(|lines| lines.sigma).into(),
                point.signal_words().into(),
            ]);
        }
    }
    rows
}
