//! In control: what watches the apparatus, and what is to be done about it.

mod chart;
mod forms;
mod investigation;
mod lot;

pub(super) use chart::chart;
pub(super) use investigation::investigation;
pub(super) use lot::{lot, register};

use super::parts;
use super::{Page, View};
use crate::look::{self, Tone};
use maud::{Markup, html};
use stonewear_lab::control::{ControlChart, Due, State};
use stonewear_lab::state::{Investigation, TestResult};

/// Everything that watches, each part under its heading.
pub(super) fn overview(view: &View<'_>) -> Page {
    let body = html! {
        (investigations(view))
        (parts::section("Reference aggregate", lots(view)))
        (parts::section("Next reference runs", html! {
            (due(view))
            (parts::go("Everything that is due", "/due"))
        }))
        (parts::section("Studies", super::studies::overview(view)))
        (parts::section("Rules", rules(view)))
        (parts::section("What else watches", html! {
            (parts::go("Rounds between laboratories", "/rounds"))
            (parts::go("Proficiency scores", "/proficiency"))
            (parts::go("Duplicates: how far people repeat", "/duplicates"))
            (parts::go("Experiments on the conditions of a run", "/experiments"))
        }))
    };
    Page::new("In control", body)
        .lead("Is the apparatus what it was? The reference aggregate tells, week after week.")
}

fn investigations(view: &View<'_>) -> Markup {
    let rows = view.lab.investigations.values().rev().map(|one| {
        vec![
            html! { a.code href={ "/control/investigations/" (one.code) } { (one.code) } },
            html! { a href={ "/equipment/" (one.apparatus) } { (one.apparatus) } },
            html! { a href={ "/results/" (one.point) } { (one.point) } ", " (one.opened.value) },
            html! { (parts::day(view, one.opened.at)) },
            investigation_state(one),
        ]
    });
    let rows: Vec<_> = rows.collect();
    let head = ["Investigation", "Apparatus", "Why", "Opened", "State"];
    html! {
        @if !rows.is_empty() {
            (parts::section("Investigations", parts::table_below_heading("Investigations, newest first", &head, &[], rows)))
        }
    }
}

fn investigation_state(investigation: &Investigation) -> Markup {
    if investigation.is_open() {
        look::mark(Tone::Bad, "open")
    } else {
        look::mark(Tone::Good, "finished")
    }
}

fn lots(view: &View<'_>) -> Markup {
    let charts = view.lab.control_charts();
    let rows = view.lab.lots.values().rev().map(|lot| {
        let of_lot = charts.iter().filter(|chart| chart.lot == lot.code);
        vec![
            html! { a.code href={ "/control/" (lot.code) } { (lot.code) } },
            html! { (lot.name) },
            html! { (parts::method(view, lot.method.as_str())) ", grading " (lot.grading) },
            html! { (view.lab.stock_of(lot, view.now).in_words()) },
            html! {
                @for chart in of_lot {
                    a href=(path_of(chart)) { (chart.apparatus) } " " (state(chart.state())) " "
                }
            },
        ]
    });
    let rows: Vec<_> = rows.collect();
    let head = ["Lot", "Name", "Test", "Stock", "Charts"];
    html! {
        @if rows.is_empty() {
            (parts::lead("No lot of reference aggregate yet", "A lot of stone that is tested again and again shows when the apparatus drifts.", "/control/new", "Register a lot"))
        } @else {
            (parts::table("Lots, by code", &head, &[], rows))
            (parts::go("Register another lot", "/control/new"))
        }
    }
}

/// Where a chart has its page.
pub(super) fn path_of(chart: &ControlChart) -> String {
    format!("/control/{}/{}", chart.lot, chart.apparatus)
}

/// Where a chart stands: word, shape and colour.
pub(super) fn state(state: State) -> Markup {
    let tone = match state {
        State::InControl => Tone::Good,
        State::OutOfControl => Tone::Bad,
        State::NoBaseline | State::NotJudged => Tone::Plain,
    };
    look::mark(tone, state.in_words())
}

fn due(view: &View<'_>) -> Markup {
    let due = view.lab.reference_due(view.now);
    html! {
        @if due.is_empty() {
            p.quiet { "Nothing is due: no lot was tested on any apparatus yet." }
        } @else {
            ul.tasks { @for one in &due {
                li {
                    @match one.due {
                        Due::NotYet => (look::mark(Tone::Good, "not yet")),
                        Due::BeforeNextTest => (look::mark(Tone::Edge, "before the next test")),
                        Due::Now => (look::mark(Tone::Bad, "due now")),
                    }
                    " " (one.sentence) "."
                }
            } }
        }
    }
}

/// The policies that this page rests on, with what they cost.
fn rules(view: &View<'_>) -> Markup {
    use stonewear_lab::policy::Policy;
    let rules = view.lab.control_rules();
    html! {
        p { (parts::capital(&rules.in_words())) ". " (parts::capital(&rules.run_lengths_in_words())) "." }
        ul {
            @for policy in [Policy::ControlRules, Policy::OutOfControl, Policy::ReferenceInterval, Policy::BaselineResults, Policy::OverlapResults] {
                li { a href={ "/policies/" (policy) } { (policy.question()) } " " (view.lab.policy(policy).words) "." }
            }
        }
    }
}

/// What the page of a result says where it stands on a chart.
pub(super) fn of_result(view: &View<'_>, result: &TestResult) -> Markup {
    let Some((lot, apparatus)) = view.lab.on_chart(result) else { return html! {} };
    let Some(chart) = view.lab.control_chart(lot, apparatus) else { return html! {} };
    let Some(point) = chart.point(result.code.as_str()) else { return html! {} };
    let tone = match (&point.role, point.is_signal()) {
        (stonewear_lab::control::Role::Judged, true) => Tone::Bad,
        (stonewear_lab::control::Role::Judged, false) => Tone::Good,
        _ => Tone::Plain,
    };
    let own = view.lab.investigations.values().find(|one| one.point == result.code);
    html! {
        section.panel role="note" {
            p {
                (look::mark(tone, stonewear_report::verdict_words(point)))
                " Charted as " (point.loss_percent) " % on the "
                a href=(path_of(&chart)) { "chart of " (lot) " on " (apparatus) }
                @if let Some(own) = own {
                    ", investigated in " a.code href={ "/control/investigations/" (own.code) } { (own.code) }
                }
                "."
            }
        }
    }
}

/// What the page of an apparatus says of its charts.
pub(super) fn of_item(view: &View<'_>, item: &stonewear_lab::state::Item) -> Markup {
    if !matches!(
        item.kind,
        stonewear_procedure::ItemKind::Apparatus | stonewear_procedure::ItemKind::Drum
    ) {
        return forms::event(view, item);
    }
    let charts: Vec<ControlChart> = view
        .lab
        .control_charts()
        .into_iter()
        .filter(|chart| chart.apparatus == item.code)
        .collect();
    html! {
        @if !charts.is_empty() {
            (parts::section("In control?", html! {
                ul.tasks { @for chart in &charts {
                    li { (state(chart.state())) " " a href=(path_of(chart)) { "Chart of " (chart.lot) } }
                } }
            }))
        }
        (forms::event(view, item))
    }
}

/// Of which lot a reference sample is, and the form that says so.
pub(super) fn of_sample(view: &View<'_>, sample: &stonewear_lab::state::Sample) -> Markup {
    if !sample.reference || view.lab.lots.is_empty() {
        return html! {};
    }
    let linked = view.lab.lot_of_sample.get(&sample.code);
    parts::section(
        "Reference aggregate",
        html! {
            p {
                @match linked {
                    Some(linked) => { "It is of lot " a.code href={ "/control/" (linked.value) } { (linked.value) } "." }
                    None => "It is of no lot yet, so it stands on no chart.",
                }
            }
            (forms::link(view, sample, linked.is_some()))
        },
    )
}
