//! The chart of a lot on an apparatus, with its table and what it stands on.

use super::lot::needed;
use super::{forms, state};
use crate::look;
use crate::page::parts;
use crate::page::{Page, View};
use maud::{Markup, html};
use stonewear_lab::ItemCode;
use stonewear_lab::code::LotCode;
use stonewear_lab::control::{ControlChart, Point};

pub(in crate::page) fn chart(view: &View<'_>, lot: &str, apparatus: &str) -> Option<Page> {
    let (lot, apparatus) = (view.lab.lots.get(lot)?, view.lab.items.get(apparatus)?);
    let chart = view.lab.control_chart(
        &LotCode::from(lot.code.as_str()),
        &ItemCode::from(apparatus.code.as_str()),
    )?;
    let path = super::path_of(&chart);
    let part = stonewear_report::drawn_in_part(&chart);
    let body = html! {
        p.standing-line { (state(chart.state())) }
        @if let Some(open) = view.lab.open_investigation_of(&apparatus.code) {
            (parts::go(&format!("Go on with {}, {}", open.code, open.opened.value), &format!("/control/investigations/{}", open.code)))
        }
        (look::chart(&stonewear_report::control_picture(view.lab, &chart)))
        p.quiet {
            "Rings: results that the limits stand on, or that are not judged. Whole: judged. Diamonds: signals. Crosses: left out. " (part)
        }
        @if let Some(memory) = stonewear_report::memory_picture(view.lab, &chart) { (look::chart(&memory)) }
        (limits(view, &chart))
        @if chart.baseline.is_none() { p { (needed(view, lot, &apparatus.code)) } }
        (forms::freeze(view, &chart))
        (parts::section("Results", html! {
            (results(view, &chart))
            (look::actions(&html! {
                (look::link_button("Table as CSV", &format!("{path}/chart.csv")))
                (look::link_button("Chart as PDF", &format!("{path}/chart.pdf")))
            }))
        }))
        (events(view, &chart))
    };
    Some(
        Page::new(format!("Chart of {} on {}", lot.code, apparatus.code), body)
            .lead(lot.name.clone())
            .below("In control", "/control")
            .below(format!("Lot {}", lot.code), format!("/control/{}", lot.code)),
    )
}

fn limits(view: &View<'_>, chart: &ControlChart) -> Markup {
    let mut facts: Vec<(&str, Markup)> = Vec::new();
    if let Some(lines) = &chart.lines {
        let lines = stonewear_report::lines_words(lines);
        facts.extend(lines.into_iter().map(|(name, words)| (name, html! { (words) })));
    }
    facts.push(("Basis", html! { (chart.basis()) }));
    if let Some(baseline) = &chart.baseline {
        let frozen = html! { (parts::day(view, baseline.at)) ", " (parts::person(view, baseline.by.as_str())) ": " (baseline.value.reason) };
        facts.push(("Frozen", frozen));
        for deviation in &baseline.value.deviations {
            facts.push(("Departure", html! { (deviation.what) ". Reason: " (deviation.reason) }));
        }
    }
    facts.push((
        "Rules",
        html! { (chart.rules.in_words()) " " a href="/policies/control-rules" { "Change them" } },
    ));
    facts.push(("What they cost", html! { (chart.rules.run_lengths_in_words()) }));
    parts::section("Limits and rules", look::facts(&facts))
}

fn results(view: &View<'_>, chart: &ControlChart) -> Markup {
    let rows = chart.points.iter().rev().map(|point| {
        let mut row = vec![
            html! { (parts::day(view, point.at)) },
            name(point),
            html! { (point.loss_percent) },
            html! { (point.operator) },
            html! { (stonewear_report::deviations_text(point)) },
        ];
        if chart.memory.is_some() {
            row.push(html! { (point.memory_text()) });
        }
        row.push(html! { (stonewear_report::verdict_words(point)) });
        row
    });
    let mut head = vec!["Date", "Result", "Loss, %", "Operator", "From centre, s"];
    let mut figures = vec![2, 4];
    if let Some(memory) = &chart.memory {
        head.push(memory.memory.name());
        figures.push(5);
    }
    head.push("Verdict");
    parts::table("Results, newest first", &head, &figures, rows.collect())
}

fn name(point: &Point) -> Markup {
    html! {
        @if point.imported { span.code { (point.name) } ", taken over" }
        @else { a.code href={ "/results/" (point.name) } { (point.name) } }
    }
}

fn events(view: &View<'_>, chart: &ControlChart) -> Markup {
    let rows = chart.events.iter().rev();
    let rows =
        rows.map(|event| vec![html! { (parts::day(view, event.at)) }, html! { (event.what) }]);
    html! {
        @if !chart.events.is_empty() {
            (parts::section("What happened in that time", parts::table("Events, newest first", &["Date", "What"], &[], rows.collect())))
        }
    }
}
