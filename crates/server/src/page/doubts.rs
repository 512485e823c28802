//! Doubt: a check failed; which results stand on it, by how much can they be wrong, and what was
//! decided about each.

use super::parts::{self, Field, Form};
use super::{Page, View};
use crate::look::{self, Tone};
use maud::{Markup, html};
use stonewear_lab::ItemCode;
use stonewear_lab::doubt::{DoubtAnswer, Doubtful, Effect, meaning_of_found};
use stonewear_lab::state::{Doubt, Item, TestResult};

const OPEN: &str = "open-doubt";
const CLOSE: &str = "close-doubt";

pub(super) fn list(view: &View<'_>) -> Page {
    let rows = view.lab.doubts.values().rev().map(|doubt| {
        vec![
            html! { a href={ "/doubts/" (doubt.code) } { (doubt.code) } },
            html! { a href={ "/equipment/" (doubt.item) } { (doubt.item) } ", " (doubt.attribute) },
            html! { (doubt.opened.value) },
            html! { (parts::day(view, doubt.opened.at)) },
            state(doubt),
        ]
    });
    let body = html! {
        @if view.lab.doubts.is_empty() {
            (parts::lead("No doubt was ever opened", "When a check fails, the item's page leads to the results that stand on it.", "/equipment", "Go to the equipment"))
        } @else {
            (parts::table_below_heading("Doubts, newest first", &["Doubt", "Of", "What happened", "Opened", "State"], &[], rows.collect()))
        }
    };
    Page::new("Doubts", body).below("Results", "/results")
}

fn state(doubt: &Doubt) -> Markup {
    match doubt.open_results().count() {
        0 => look::mark(Tone::Good, "all dealt with"),
        open => look::mark(Tone::Edge, format!("{open} of {} open", doubt.results.len())),
    }
}

/// The question, its answer, and the form that marks the results.
pub(super) fn new(view: &View<'_>) -> Option<Page> {
    let asked =
        |name: &str| view.typed.value(OPEN, name).map(str::to_owned).or_else(|| view.asked(name));
    let item = view.lab.items.get(asked("item")?.as_str())?;
    let provable: Vec<String> = provable(view, item);
    let attribute = asked("attribute").or_else(|| provable.first().cloned())?;
    let found = asked("found").unwrap_or_default();
    let number = stonewear_measure::read(&found).ok();
    let answer = view.lab.doubt(&ItemCode::from(item.code.as_str()), &attribute, number, None)?;
    let meaning = meaning_of_found(item.kind, &attribute);
    let options = provable.iter().map(|one| (one.clone(), one.clone())).collect();
    let body = html! {
        form method="get" action="/doubts/new" {
            input type="hidden" name="item" value=(item.code);
            div.pair {
                (parts::plain_select("attribute", "What of it turned out wrong", options, &attribute))
                (look::Field::new("found", "Value as found").decimal().optional().value(found.clone()).hint(meaning))
            }
            (look::actions(&look::button("Show the results in doubt")))
        }
        (parts::section("Results that stand on it", answered(view, &answer)))
        @if !answer.results.is_empty() {
            (parts::section("Mark them", Form::new(view, OPEN, "Open the doubt")
                .hidden("item", item.code.as_str()).hidden("attribute", &attribute).hidden("found", &found)
                .body(html! {
                    p { "Page and report say that these results are in doubt, until a person has dealt with each. Nothing is deleted." }
                    (Field::text(view, OPEN, "reason", "What happened"))
                })))
        }
    };
    let page = Page::new(format!("What stands on {}?", item.code), body).lead(item.name.clone());
    Some(
        page.below("Equipment", "/equipment")
            .below(item.code.to_string(), format!("/equipment/{}", item.code)),
    )
}

/// What the checks of an item prove about it.
pub(super) fn provable(view: &View<'_>, item: &Item) -> Vec<String> {
    stonewear_lab::decide::items::attributes_of(view.laboratory.procedures(), item)
}

fn answered(view: &View<'_>, answer: &DoubtAnswer) -> Markup {
    let since = match (&answer.last_proof, answer.since) {
        (Some(check), Some(since)) => html! {
            "Since " (parts::day(view, since)) ", when " a href={ "/checks/" (check) } { (check) } " proved it."
        },
        _ => html! { "Since ever: it was never proved." },
    };
    let rows = answer.results.iter().map(|one| row(view, one)).collect();
    html! {
        p { (since) }
        @if answer.results.is_empty() {
            p { (look::mark(Tone::Good, "no result stands on it")) }
        } @else {
            (parts::table("Results in doubt, oldest first", &HEAD, &[2, 3], rows))
        }
    }
}

const HEAD: [&str; 6] = ["Result", "Used", "Reported", "Would be, %", "Decision", "How sure"];

fn row(view: &View<'_>, one: &Doubtful) -> Vec<Markup> {
    let (would_be, how) = match &one.effect {
        Effect::Moves { would_be_percent, basis, .. } => {
            (would_be_percent.to_string(), (*basis).to_owned())
        }
        Effect::Untouched { why } => (one.reported.clone(), (*why).to_owned()),
        Effect::NotKnown { why } => ("not known".to_owned(), (*why).to_owned()),
    };
    let decision = match one.decision_flips {
        Some(true) => look::mark(Tone::Bad, "would be the other one"),
        Some(false) => look::mark(Tone::Good, "stays"),
        None => look::mark(Tone::Plain, "none to compare"),
    };
    vec![
        html! { a href={ "/results/" (one.result) } { (one.result) } },
        html! { (parts::day(view, one.used_at)) },
        html! { (one.reported) },
        html! { b { (would_be) } },
        decision,
        html! { span.quiet { (how) } },
    ]
}

pub(super) fn one(view: &View<'_>, code: &str) -> Option<Page> {
    let doubt = view.lab.doubts.get(code)?;
    let rows = doubt.results.iter().map(|result| {
        let closed = doubt.closed.get(result);
        vec![
            html! { a href={ "/results/" (result) } { (result) } },
            html! {
                @match closed {
                    Some(_) => (look::mark(Tone::Good, "dealt with")),
                    None => (look::mark(Tone::Edge, "in doubt")),
                }
            },
            html! { @if let Some(closed) = closed { (closed.value) } },
            html! { @if let Some(closed) = closed { (parts::person(view, closed.by.as_str())) ", " (parts::day(view, closed.at)) } },
        ]
    });
    let open: Vec<(String, String)> =
        doubt.open_results().map(|result| (result.to_string(), result.to_string())).collect();
    let found = doubt.found.map(|found| found.to_string());
    let kind = view.lab.items.get(&doubt.item)?.kind;
    let body = html! {
        (look::facts(&[
            ("Item", html! { a href={ "/equipment/" (doubt.item) } { (doubt.item) } ", " (doubt.attribute) }),
            ("Value as found", html! { (found.as_deref().unwrap_or("not given")) " " span.quiet { (meaning_of_found(kind, &doubt.attribute)) } }),
            ("What happened", html! { (doubt.opened.value) }),
            ("Opened", html! { (parts::moment(view, doubt.opened.at)) ", by " (parts::person(view, doubt.opened_by().as_str())) }),
        ]))
        (parts::table("Results in doubt", &["Result", "State", "What was decided", "By"], &[], rows.collect()))
        @if let Some((first, _)) = open.first().cloned() {
            (parts::section("Deal with a result", Form::new(view, CLOSE, "Close the doubt for it").hidden("doubt", doubt.code.as_str()).body(html! {
                (parts::select(view, CLOSE, "result", "Result", open, &first))
                (Field::text(view, CLOSE, "reason", "What was decided, and why"))
            })))
        }
    };
    Some(
        Page::new(format!("Doubt {}", doubt.code), body)
            .below("Results", "/results")
            .below("Doubts", "/doubts"),
    )
}

/// What a result's page says about the doubts that touch it.
pub(super) fn of_result(view: &View<'_>, result: &TestResult) -> Markup {
    html! {
        @for doubt in view.lab.doubts_of(&result.code) {
            section.panel role="note" {
                p {
                    @if doubt.is_open_for(&result.code) { (look::mark(Tone::Bad, "in doubt")) }
                    @else { (look::mark(Tone::Good, "doubt dealt with")) }
                    " " (doubt.attribute) " of " a href={ "/equipment/" (doubt.item) } { (doubt.item) } ": " (doubt.opened.value)
                    " (" a href={ "/doubts/" (doubt.code) } { (doubt.code) } ")"
                }
                @if let Some(closed) = doubt.closed.get(&result.code) {
                    p { (closed.value) " (" (parts::person(view, closed.by.as_str())) ", " (parts::day(view, closed.at)) ")" }
                }
            }
        }
    }
}
