//! All laboratories of the database: how each stands, and how they compare on what they have in common.

use super::{Page, View, parts};
use crate::look::{self, Table, Tone};
use maud::{Markup, html};
use stonewear_lab::control::State;
use stonewear_runtime::{Compared, Comparison, LaboratoryStanding, NetworkReport};

/// The page; `None` where the laboratory is in no database.
pub(crate) fn network(view: &View<'_>, report: Option<Result<&NetworkReport, &String>>) -> Page {
    let body = match report {
        None => html! {
            p { "This laboratory is kept in a folder of its own. A network shows the laboratories that share a database." }
            p.quiet { "How that is set up: docs/many-laboratories.md." }
        },
        Some(Err(error)) => {
            html! { p role="alert" { (look::mark(Tone::Bad, "cannot be read")) " " (error) } }
        }
        Some(Ok(report)) => shown(view, report),
    };
    Page::new("Network", body)
        .lead("The laboratories that share a database: how each stands, and how they compare.")
        .below("Journal", "/journal")
}

fn shown(view: &View<'_>, report: &NetworkReport) -> Markup {
    let table = Table::new("Laboratories")
        .column("Laboratory")
        .column("Ready")
        .column("Control")
        .figures("Results in doubt")
        .figures("Facts")
        .column("Last recorded");
    let table = report.laboratories.iter().fold(table, |table, one| table.row(cells(view, one)));
    html! {
        @if report.laboratories.len() < 2 {
            p {
                "The role of this server sees this laboratory alone. A role that "
                code { "stonewear_network" } " was granted to sees all."
            }
        }
        (table)
        (parts::section("Reference aggregates in common", html! {
            @if report.comparisons.is_empty() {
                p { "No two of these laboratories have results of the same reference aggregate, by the same method and grading." }
            } @else {
                p.quiet { "All losses on record that nobody doubts, by ISO 5725-2 and ASTM E691. This is no round: nobody saw to it that the portions were alike. |h| or k beyond its critical value comes by chance once in two hundred." }
                @for one in &report.comparisons { (comparison(one)) }
            }
        }))
    }
}

fn cells(view: &View<'_>, one: &LaboratoryStanding) -> [Markup; 6] {
    let ready = one.readiness.iter().filter(|one| one.ready).count();
    let all = one.readiness.len();
    let worst = |state: State| one.control.iter().filter(|chart| chart.state == state).count();
    let (out, charts) = (worst(State::OutOfControl), one.control.len());
    [
        html! {
            b { (if one.name.is_empty() { "not founded yet" } else { &one.name }) }
            " " code { (one.laboratory) }
            @if one.invented { " " (look::mark(Tone::Plain, "invented")) }
            @if let Some(damage) = &one.damage { " " (look::mark(Tone::Bad, "damaged")) " " (damage) }
        },
        match (ready, all) {
            (_, 0) => look::mark(Tone::Plain, "no apparatus"),
            _ if ready == all => look::mark(Tone::Good, format!("ready: {ready} of {all}")),
            _ => look::mark(Tone::Edge, format!("ready: {ready} of {all}")),
        },
        match (out, charts) {
            (_, 0) => look::mark(Tone::Plain, "no chart"),
            (0, _) => look::mark(Tone::Good, format!("out of control: 0 of {charts}")),
            _ => look::mark(Tone::Bad, format!("out of control: {out} of {charts}")),
        },
        html! { (one.in_doubt.len()) },
        html! { (one.facts) },
        match one.last_fact_at {
            Some(at) => parts::moment(view, at),
            None => html! { "never" },
        },
    ]
}

fn comparison(one: &Comparison) -> Markup {
    let table = Table::new(format!("{}: {}, {}", one.reference, one.method, one.grading))
        .column("Laboratory")
        .figures("Results")
        .figures("Mean, %")
        .figures("Standard deviation, %")
        .figures("h")
        .figures("k")
        .column("Verdict");
    let table = one.laboratories.iter().fold(table, |table, one| table.row(compared(one)));
    html! {
        (look::facts(&[
            ("Mean of all losses", html! { (percent(Some(one.mean_percent))) }),
            ("Standard deviation within a laboratory", html! { (percent(one.within_percent)) }),
            ("Standard deviation between laboratories", html! { (percent(one.between_percent)) }),
        ]))
        (table)
    }
}

fn compared(one: &Compared) -> [Markup; 7] {
    let beside = |value: Option<f64>, limit: Option<f64>| {
        html! { (figure(value)) @if let Some(limit) = limit { " (" (figure(Some(limit))) ")" } }
    };
    [
        html! { code { (one.laboratory) } },
        html! { (one.results) },
        html! { (figure(Some(one.mean_percent))) },
        html! { (figure(one.standard_deviation_percent)) },
        beside(one.h, one.h_critical),
        beside(one.k, one.k_critical),
        match (one.mean_apart, one.scatter_apart) {
            (false, false) => look::mark(Tone::Good, "with the others"),
            (true, false) => look::mark(Tone::Edge, "its mean stands apart"),
            (false, true) => look::mark(Tone::Edge, "its scatter stands apart"),
            (true, true) => look::mark(Tone::Edge, "mean and scatter stand apart"),
        },
    ]
}

fn figure(value: Option<f64>) -> String {
    value.map_or_else(|| "–".to_owned(), |value| format!("{value:.2}"))
}

fn percent(value: Option<f64>) -> String {
    value.map_or_else(|| "–".to_owned(), |value| format!("{value:.2} %"))
}
