//! Finding by code or name: what a scanner types, or a person who remembers half of it.

use super::parts;
use super::{Page, View};
use maud::html;
use stonewear_lab::find::{Thing, ThingKind};

/// As many as fit on a page without scrolling far.
const MOST: usize = 12;

/// Where the page of a thing is. An authorisation is on the page of its person.
pub(crate) fn path_of(thing: &Thing) -> String {
    let code = &thing.code;
    match thing.kind {
        ThingKind::Item(_) => format!("/equipment/{code}"),
        ThingKind::Sample => format!("/samples/{code}"),
        ThingKind::Specimen => format!("/specimens/{code}"),
        ThingKind::Run => format!("/runs/{code}"),
        ThingKind::Result => format!("/results/{code}"),
        ThingKind::Check => format!("/checks/{code}"),
        ThingKind::Study => format!("/studies/{code}"),
        ThingKind::Doubt => format!("/doubts/{code}"),
        ThingKind::Person => format!("/people/{code}"),
        ThingKind::Authorisation => {
            let person = thing.name.split(',').next().unwrap_or_default();
            format!("/people/{person}")
        }
        ThingKind::Lot => format!("/control/{code}"),
        ThingKind::Investigation => format!("/control/investigations/{code}"),
        ThingKind::Round => format!("/rounds/{code}"),
        ThingKind::Score => format!("/proficiency#{code}"),
        ThingKind::Import => format!("/imports/{code}"),
        ThingKind::Experiment => format!("/experiments/{code}"),
    }
}

/// What is near to what was typed; an exact code does not come here.
pub(super) fn page(view: &View<'_>) -> Page {
    let typed = view.asked("q").unwrap_or_default();
    let typed = typed.trim();
    let near = view.lab.near(typed, MOST);
    let body = html! {
        @if typed.is_empty() {
            p { "Type or scan a code into the field at the top; the key / leads there." }
        } @else if near.is_empty() {
            p { "Nothing here has the code “" (typed) "”, and no name holds it." }
            p { a href="/samples" { "Look through the samples" } ", or " a href="/equipment" { "the equipment" } "." }
        } @else {
            p { "Nothing here has exactly the code “" (typed) "”. Near to it:" }
            (parts::table("Near to it", &["Code", "What", "Name"], &[], near.iter().map(|thing| vec![
                html! { a.code href=(path_of(thing)) { (thing.code) } },
                html! { (thing.what()) },
                html! { (thing.name) },
            ]).collect()))
        }
    };
    Page::new("Find", body)
}
