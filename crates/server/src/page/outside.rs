//! What other laboratories found on their part of a split sample.

use super::View;
use super::parts::{self, Field, Form};
use maud::{Markup, html};
use stonewear_lab::state::Sample;

const RECORD: &str = "record-outside-result";

/// The part of a sample's page: what is known, and one more.
pub(super) fn section(view: &View<'_>, sample: &Sample) -> Markup {
    let methods: Vec<(String, String)> = view
        .lab
        .methods
        .values()
        .map(|in_use| {
            let method = &in_use.method;
            (in_use.id.to_string(), method.dated())
        })
        .collect();
    // Without a method in use there is nothing here to compare with.
    if methods.is_empty() {
        return html! {};
    }
    let of_specimens = view.lab.specimens_of(&sample.code).next();
    let proposed = of_specimens.map(|specimen| specimen.method.to_string()).unwrap_or_default();
    let known = sample.outside.iter().map(|outside| {
        let value = &outside.value;
        vec![
            html! { (value.laboratory) },
            html! { (value.loss_percent) },
            html! { (parts::method(view, value.method.as_str())) },
            html! { (value.document) @if !value.reason.is_empty() { " (again: " (value.reason) ")" } },
            html! { (parts::day(view, outside.at)) ", " (parts::person(view, outside.by.as_str())) },
        ]
    });
    let head = ["Laboratory", "Loss, %", "Method", "Document", "Recorded"];
    let was_sent = view.typed.request == RECORD;
    parts::section(
        "Other laboratories, on a split sample",
        html! {
            @if !sample.outside.is_empty() {
                (parts::table("What other laboratories found", &head, &[1], known.collect()))
            }
            details open[was_sent] {
                summary { "Record what another laboratory found" }
                (Form::new(view, RECORD, "Record it").hidden("sample", sample.code.as_str()).body(html! {
                    (Field::text(view, RECORD, "laboratory", "Laboratory"))
                    (parts::select(view, RECORD, "method", "Method", methods, &proposed))
                    (Field::number(view, RECORD, "loss_percent", "Loss that it reported").unit("%"))
                    (Field::text(view, RECORD, "document", "Document that says so").hint("like their report 26-118"))
                    (Field::text(view, RECORD, "reason", "Why it replaces what was recorded of this document").optional())
                }))
            }
        },
    )
}
