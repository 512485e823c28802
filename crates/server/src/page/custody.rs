//! The chain of custody of a sample: who had it, where it lay, and the form for the next step.

use super::View;
use super::parts::{self, Field, Form};
use crate::look::{self, Tone};
use maud::{Markup, html};
use stonewear_lab::fact::{CustodyStep, Holder};
use stonewear_lab::state::Sample;

const OVER: &str = "hand-over-sample";

/// Who has the sample now, and where; in a few words.
pub(super) fn now(view: &View<'_>, sample: &Sample) -> Markup {
    html! {
        @match sample.gone() {
            Some(gone) => {
                (look::mark(Tone::Plain, gone.value.step.in_words())) " " (parts::day(view, gone.at))
            },
            None => {
                (holder(view, &sample.holder()))
                @if !sample.kept_at().is_empty() { ", " (sample.kept_at()) }
            }
        }
    }
}

/// The chain, from reception on, and what may follow.
pub(super) fn section(view: &View<'_>, sample: &Sample) -> Markup {
    let received = vec![
        html! { "received" },
        html! { @if sample.delivered_by.is_empty() { (parts::or_none(&sample.client)) } @else { (sample.delivered_by) } },
        html! { (parts::person(view, sample.received.by.as_str())) },
        html! { (sample.place) },
        html! { (sample.condition) },
        recorded(view, sample.received.at, sample.received.by.as_str()),
    ];
    let steps = sample.custody.iter().map(|one| {
        let said = [&one.value.condition, &one.value.note];
        let said: Vec<&str> =
            said.into_iter().map(String::as_str).filter(|words| !words.is_empty()).collect();
        vec![
            html! { (one.value.step.in_words()) },
            holder(view, &one.value.from),
            html! { @if let Some(to) = &one.value.to { (holder(view, to)) } },
            html! { (one.value.place) },
            html! { (said.join("; ")) },
            recorded(view, one.at, one.by.as_str()),
        ]
    });
    let rows = std::iter::once(received).chain(steps).collect();
    let head = ["What", "From", "To", "Place", "Condition, note", "Recorded"];
    let body = html! {
        (parts::table_below_heading("Chain of custody", &head, &[], rows))
        @if sample.gone().is_none() {
            details open[view.typed.was_refused(OVER)] {
                summary { "Hand it over, store, split, return or dispose of it" }
                (form(view, sample))
            }
        }
    };
    parts::section("In whose hands", body)
}

fn form(view: &View<'_>, sample: &Sample) -> Markup {
    let steps = CustodyStep::ALL
        .into_iter()
        .map(|step| (step.as_str().to_owned(), parts::capital(step.in_words())))
        .collect();
    let first = CustodyStep::HandedOver.as_str();
    Form::new(view, OVER, "Record it").hidden("sample", sample.code.as_str()).body(html! {
        (parts::radios(view, OVER, "step", "What became of it", steps, Some(first)))
        (Field::text(view, OVER, "to", "To whom").optional().hint("initials, or the name of somebody outside"))
        (Field::text(view, OVER, "place", "Where it is kept now").optional().hint("shelf, bay or room"))
        (Field::text(view, OVER, "condition", "Condition").optional())
        (Field::text(view, OVER, "note", "Note").optional()
            .hint("how it was split, why it was returned or disposed of"))
    })
}

fn holder(view: &View<'_>, holder: &Holder) -> Markup {
    match holder {
        Holder::Person(code) => parts::person(view, code.as_str()),
        Holder::Outside(name) => html! { (name) },
    }
}

fn recorded(view: &View<'_>, at: jiff::Timestamp, by: &str) -> Markup {
    html! { (parts::moment(view, at)) ", " (parts::person(view, by)) }
}
