//! `stonewear network`: all laboratories of a database that the role may see.

use crate::answer::{Answer, Failure};
use crate::arguments::Shared;
use stonewear_runtime::{Comparison, LaboratoryStanding, Network, NetworkReport};

/// Say how each laboratory of a database stands, and how they compare on the reference aggregates that they
/// have in common. A laboratory's own role sees itself; a role with stonewear_network sees all. Exit status 1
/// when a journal is damaged.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Example:\n\
\x20 stonewear network --database postgres://head_office@db.example.org/stonewear\n\
\x20 stonewear network --database postgres://granite@db.example.org/stonewear --laboratory granite-hill --json")]
pub(crate) struct NetworkOf {
    #[command(flatten)]
    shared: Shared,
}

pub(crate) fn run(network: &NetworkOf) -> Result<Answer, Failure> {
    let (address, laboratory) = (network.shared.address()?, network.shared.laboratory()?);
    let report = Network::open(&address, laboratory.as_ref())
        .and_then(|mut network| network.look())
        .map_err(Failure::surroundings)?;
    let json = serde_json::to_value(&report).map_err(Failure::surroundings)?;
    let is_no = report.laboratories.iter().any(|one| one.damage.is_some());
    Ok(Answer { text: in_words(&report), json, is_no })
}

fn in_words(report: &NetworkReport) -> String {
    if report.laboratories.is_empty() {
        return "this role sees no laboratory; its own it sees with --laboratory, all with stonewear_network"
            .to_owned();
    }
    let mut text = String::new();
    for one in &report.laboratories {
        text.push_str(&standing(one));
    }
    if report.comparisons.is_empty() {
        text.push_str("no reference aggregate in common\n");
    }
    for one in &report.comparisons {
        text.push_str(&comparison(one));
    }
    text
}

fn standing(one: &LaboratoryStanding) -> String {
    let name = if one.name.is_empty() { "nobody has founded it" } else { &one.name };
    let mut text = format!("{}: {name}; {} facts", one.laboratory, one.facts);
    if let Some(at) = one.last_fact_at {
        text.push_str(&format!(", the last at {at:.0}"));
    }
    text.push('\n');
    if let Some(damage) = &one.damage {
        text.push_str(&format!("  DAMAGED: {damage}\n"));
    }
    for ready in &one.readiness {
        let state = if ready.ready { "ready" } else { "not ready" };
        text.push_str(&format!("  {} by {}: {state}\n", ready.apparatus, ready.method));
    }
    for chart in &one.control {
        let state = chart.state.in_words();
        text.push_str(&format!("  {} on {}: {state}\n", chart.lot, chart.apparatus));
    }
    if !one.in_doubt.is_empty() {
        text.push_str(&format!("  in doubt: {}\n", one.in_doubt.join(", ")));
    }
    text
}

fn comparison(one: &Comparison) -> String {
    let figure = |value: Option<f64>| value.map_or("-".to_owned(), |value| format!("{value:.2}"));
    let mut text = format!(
        "{} by {}, {}: mean {:.2} %, within {} %, between {} %\n",
        one.reference,
        one.method,
        one.grading,
        one.mean_percent,
        figure(one.within_percent),
        figure(one.between_percent)
    );
    for laboratory in &one.laboratories {
        let apart = match (laboratory.mean_apart, laboratory.scatter_apart) {
            (true, true) => "; its mean and its scatter stand apart",
            (true, false) => "; its mean stands apart",
            (false, true) => "; its scatter stands apart",
            (false, false) => "",
        };
        text.push_str(&format!(
            "  {}: {} results, mean {:.2} %, s {} %, h {}, k {}{apart}\n",
            laboratory.laboratory,
            laboratory.results,
            laboratory.mean_percent,
            figure(laboratory.standard_deviation_percent),
            figure(laboratory.h),
            figure(laboratory.k)
        ));
    }
    text
}
