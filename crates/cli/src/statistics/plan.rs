//! `stonewear plan`: what an acceptance plan lets pass.

use super::document::{Document, defined};
use super::picture;
use super::table::{brief, columns, lines, short};
use crate::answer::{Answer, Failure};
use serde_json::{Value, json};
use std::path::PathBuf;
use stonewear_picture::{Curve, Mark, Plot};
use stonewear_stats::StatsError;
use stonewear_stats::acceptance::{Plan, plan_for};

/// Operating characteristic and risks of a plan by variables with one limit, or the smallest plan that
/// holds two risks.
///
/// With --n and --percent: accept a lot when the n results estimate at least that per cent within the
/// limit. Without them the plan is looked for.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
\x20 stonewear plan --n 5 --percent 85
\x20 stonewear plan --acceptable 95 --rejectable 70")]
pub(crate) struct PlanOf {
    /// Number of results a lot.
    #[arg(long, requires = "percent")]
    n: Option<usize>,
    /// Per cent within the limit that the results have to show.
    #[arg(long, requires = "n")]
    percent: Option<f64>,
    /// Per cent within the limit of a lot that should be accepted.
    #[arg(long, default_value_t = 95.0)]
    acceptable: f64,
    /// Per cent within the limit of a lot that should be rejected.
    #[arg(long, default_value_t = 70.0)]
    rejectable: f64,
    /// Probability of rejecting the former, where the plan is looked for.
    #[arg(long, default_value_t = 0.05)]
    producer_risk: f64,
    /// Probability of accepting the latter, where the plan is looked for.
    #[arg(long, default_value_t = 0.10)]
    consumer_risk: f64,
    /// Draw the operating-characteristic curve into this file.
    #[arg(long, value_name = "FILE")]
    svg: Option<PathBuf>,
}

/// True per cent within the limit at which the curve is given.
const CURVE: [f64; 13] =
    [50.0, 55.0, 60.0, 65.0, 70.0, 75.0, 80.0, 85.0, 90.0, 95.0, 97.5, 99.0, 99.9];

pub(crate) fn plan(command: &PlanOf) -> Result<Answer, Failure> {
    let found = || -> Result<Plan, StatsError> {
        match (command.n, command.percent) {
            (Some(n), Some(percent)) => Plan::for_percent(n, percent),
            _ => plan_for(
                (command.acceptable, command.producer_risk),
                (command.rejectable, command.consumer_risk),
            ),
        }
    };
    let plan = found();
    if let (Ok(plan), Some(_)) = (&plan, &command.svg) {
        let drawn = drawn(plan, command).map_err(Failure::wrong_input)?;
        picture::write(|| drawn.svg(), command.svg.as_deref())?;
    }
    let answer = || -> Result<Answer, StatsError> {
        let plan = plan?;
        let producer = plan.producer_risk(command.acceptable)?;
        let consumer = plan.consumer_risk(command.rejectable)?;
        let curve = CURVE
            .iter()
            .map(|&percent| Ok((percent, plan.acceptance_probability(percent)?)))
            .collect::<Result<Vec<(f64, f64)>, StatsError>>()?;
        let points: Vec<Value> = curve
            .iter()
            .map(|(percent, p)| json!({ "percent_within": percent, "accepted": p }))
            .collect();
        let json = Document::new()
            .put("n", plan.n)
            .put("k", plan.k)
            .put("producer_risk", producer)
            .put("consumer_risk", consumer)
            .put("operating_characteristic", points)
            .value();
        let mut text = lines(&[
            ("results a lot", plan.n.to_string()),
            ("accept from quality index", short(plan.k)),
            (
                "producer's risk",
                format!("{} at {} % within", short(producer), short(command.acceptable)),
            ),
            (
                "consumer's risk",
                format!("{} at {} % within", short(consumer), short(command.rejectable)),
            ),
        ]);
        let rows: Vec<Vec<String>> =
            curve.iter().map(|(percent, p)| vec![short(*percent), format!("{p:.4}")]).collect();
        text.push('\n');
        text.push_str(&columns(&["truly within, %", "accepted with probability"], &rows));
        Ok(Answer::new(text, json))
    };
    defined(answer(), &["n", "k", "producer_risk", "consumer_risk"])
}

/// The operating-characteristic curve with both risks.
fn drawn(plan: &Plan, command: &PlanOf) -> Result<Plot, StatsError> {
    let low = (command.rejectable - 20.0).clamp(1.0, 50.0);
    let points = picture::steps(low, 99.9, 150)
        .map(|percent| Ok((percent, plan.acceptance_probability(percent)?)))
        .collect::<Result<Vec<(f64, f64)>, StatsError>>()?;
    let mark = |percent: f64, what: &str, risk: f64| -> Result<Mark, StatsError> {
        Ok(Mark {
            name: format!("{what} {} at {} %", brief(risk), short(percent)),
            x: percent,
            y: plan.acceptance_probability(percent)?,
            within: None,
        })
    };
    let producer = plan.producer_risk(command.acceptable)?;
    let consumer = plan.consumer_risk(command.rejectable)?;
    Ok(Plot {
        title: format!(
            "Operating characteristic: {} results, from index {}",
            plan.n,
            short(plan.k)
        ),
        description: format!(
            "probability of acceptance over the true per cent within; producer's risk {} at {} %, \
             consumer's risk {} at {} %",
            short(producer),
            short(command.acceptable),
            short(consumer),
            short(command.rejectable)
        ),
        x_label: "truly within the limit, %".to_owned(),
        y_label: "accepted with probability".to_owned(),
        curves: vec![Curve { name: "operating characteristic".to_owned(), points }],
        marks: vec![
            mark(command.rejectable, "consumer's risk", consumer)?,
            mark(command.acceptable, "producer's risk", producer)?,
        ],
        ..Plot::default()
    })
}
