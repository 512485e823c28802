//! The chart of a lot on an apparatus, with its table and what it stands on.

use super::lot::needed;
use super::{forms, state};
use crate::look;
use crate::page::parts;
use crate::page::{Page, View};
use jiff::civil::Date;
use maud::{Markup, html};
use stonewear_lab::ItemCode;
use stonewear_lab::code::LotCode;
use stonewear_lab::control::{ControlChart, Point};
use stonewear_report::ChartWindow;

pub(in crate::page) fn chart(view: &View<'_>, lot: &str, apparatus: &str) -> Option<Page> {
    let (lot, apparatus) = (view.lab.lots.get(lot)?, view.lab.items.get(apparatus)?);
    let chart = view.lab.control_chart(
        &LotCode::from(lot.code.as_str()),
        &ItemCode::from(apparatus.code.as_str()),
    )?;
    let path = super::path_of(&chart);
    let (window, unread) = window(view);
    let part = window.in_words(view.lab, &chart);
    let picture = stonewear_report::control_picture_within(view.lab, &chart, &window);
    let memory = stonewear_report::memory_picture_within(view.lab, &chart, &window);
    let body = html! {
        p.standing-line { (state(chart.state())) }
        @if let Some(open) = view.lab.open_investigation_of(&apparatus.code) {
            (parts::go(&format!("Go on with {}, {}", open.code, open.opened.value), &format!("/control/investigations/{}", open.code)))
        }
        (look::chart(&picture))
        p.quiet {
            "Rings: results that the limits stand on, or that are not judged. Whole: judged. Diamonds: signals. Crosses: left out. " (part)
        }
        @if let Some(memory) = &memory { (look::chart(memory)) }
        (zoom(view, &path, chart.points.len(), &unread))
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

/// What of the chart the address asks for, and what of it is no day.
fn window(view: &View<'_>) -> (ChartWindow, Vec<&'static str>) {
    let mut unread = Vec::new();
    let mut day = |name: &'static str| -> Option<Date> {
        let typed = view.asked(name).filter(|typed| !typed.trim().is_empty())?;
        let day = typed.trim().parse().ok();
        if day.is_none() {
            unread.push(name);
        }
        day
    };
    let (from, to) = (day("from"), day("to"));
    let last = match view.asked("last").as_deref() {
        Some("all") => Some(usize::MAX),
        Some(count) => count.parse().ok(),
        None => None,
    };
    (ChartWindow { from, to, last }, unread)
}

/// How much of the chart is drawn: links and a form, so that an address is a view.
fn zoom(view: &View<'_>, path: &str, all: usize, unread: &[&'static str]) -> Markup {
    const SOME: usize = 20;
    let asked = view.asked("last");
    let is = |which: &str| (asked.as_deref() == Some(which)).then_some("true");
    let field = |name: &'static str, label: &'static str| {
        let problem = unread.contains(&name).then(|| look::Problem {
            id: format!("window-{name}").into(),
            message: "this is no day".into(),
            hint: "write a day like 2026-03-01".into(),
        });
        look::Field::new(name, label)
            .scope("window")
            .date()
            .optional()
            .value(view.asked(name).unwrap_or_default())
            .problem(problem)
    };
    html! {
        nav aria-label="How much is drawn" {
            ul.tasks.inline {
                @if all > SOME {
                    li { a.task href={ (path) "?last=" (SOME) } aria-current=[is("20")] { "Last " (SOME) } }
                }
                li { a.task href={ (path) "?last=all" } aria-current=[is("all")] { "All " (all) } }
            }
        }
        details open[view.asked("from").is_some()] {
            summary { "Draw the results between two days" }
            form.choose method="get" action=(path) {
                (field("from", "From"))
                (field("to", "To"))
                (look::button("Draw them"))
            }
        }
    }
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
