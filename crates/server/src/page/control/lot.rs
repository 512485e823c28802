//! A lot of reference aggregate: what it is, what is left, its charts, its place in the row of lots.

use super::{forms, path_of, state};
use crate::look;
use crate::page::parts;
use crate::page::{Page, View};
use maud::{Markup, html};
use stonewear_lab::ItemCode;
use stonewear_lab::state::ReferenceLot;

pub(in crate::page) fn register(view: &View<'_>) -> Page {
    Page::new("Register a lot of reference aggregate", forms::register(view))
        .below("In control", "/control")
}

pub(in crate::page) fn lot(view: &View<'_>, code: &str) -> Option<Page> {
    let lot = view.lab.lots.get(code)?;
    let assigned = lot.assigned.as_ref().map(|assigned| {
        format!(
            "{} % ± {} % (k = 2), {}",
            assigned.loss_percent, assigned.expanded_percent, assigned.document
        )
    });
    let body = html! {
        (look::facts(&[
            ("Source", html! { (lot.source) }),
            ("Test", html! { (parts::method_link(view, &lot.method)) ", grading " (lot.grading) }),
            ("Assigned value", html! { (assigned.as_deref().unwrap_or("none: the laboratory finds its own")) }),
            ("Stock", html! { (view.lab.stock_of(lot, view.now).in_words()) }),
            ("Arrived", html! { (lot.received_on) ", registered by " (parts::person(view, lot.registered.by.as_str())) }),
        ]))
        (forms::count(view, lot))
        (parts::section("Charts", charts(view, lot)))
        (parts::section("Test it", html! {
            p { "Receive what you take out of its bin as a sample of this lot. Everything else is an ordinary run." }
            (parts::go("Receive a sample of it", &format!("/samples/new?lot={}", lot.code)))
            @if lot.assigned.is_some() {
                (parts::go("Qualify an apparatus against its value", &format!("/studies/new?question=reference&lot={}", lot.code)))
            }
        }))
        (forms::import(view, lot))
        (overlaps(view, lot))
        (super::super::attachments::section(view, code))
        (parts::label_link(code))
    };
    Some(
        Page::new(format!("Lot {}", lot.code), body)
            .lead(lot.name.clone())
            .below("In control", "/control"),
    )
}

fn charts(view: &View<'_>, lot: &ReferenceLot) -> Markup {
    let apparatus = view.lab.apparatus_of_lot(lot);
    html! {
        @if apparatus.is_empty() { p.quiet { "It was not tested yet." } }
        @for code in &apparatus {
            @if let Some(chart) = view.lab.control_chart(&lot.code, code) {
                p { a href=(path_of(&chart)) { "Chart on " (code) } " " (state(chart.state())) }
                (look::chart(&stonewear_report::control_picture(view.lab, &chart)))
                @if chart.baseline.is_none() { p { (needed(view, lot, code)) } }
            }
        }
    }
}

/// What a baseline still needs, in a sentence.
pub(super) fn needed(view: &View<'_>, lot: &ReferenceLot, apparatus: &ItemCode) -> String {
    let missing = view.lab.baseline_progress(lot, apparatus).missing();
    if missing.is_empty() {
        "There are enough results for a baseline.".to_owned()
    } else {
        format!("For a baseline there are still to come: {}.", missing.join("; "))
    }
}

/// The step from each older lot of the same test, where both were tested on an apparatus.
fn overlaps(view: &View<'_>, new: &ReferenceLot) -> Markup {
    let own = view.lab.apparatus_of_lot(new);
    let older = view.lab.lots.values().filter(|old| {
        old.code != new.code
            && (&old.method, &old.grading) == (&new.method, &new.grading)
            && old.registered.position < new.registered.position
    });
    let mut parts_of_page = Vec::new();
    for old in older {
        let both = view.lab.apparatus_of_lot(old);
        for apparatus in both.iter().filter(|code| own.contains(code)) {
            parts_of_page.push(step(view, old, new, apparatus));
        }
    }
    html! {
        @if !parts_of_page.is_empty() {
            (parts::section("The step from the lot before", html! { @for part in &parts_of_page { (part) } }))
        }
    }
}

fn step(view: &View<'_>, old: &ReferenceLot, new: &ReferenceLot, apparatus: &ItemCode) -> Markup {
    let taken = new
        .took_over
        .iter()
        .find(|taken| taken.value.replaces == old.code && taken.value.apparatus == *apparatus);
    if let Some(taken) = taken {
        return html! {
            p {
                "On " (apparatus) " it took the place of " a.code href={ "/control/" (old.code) } { (old.code) }
                " on " (parts::day(view, taken.at)) ": " (taken.value.verdict) ". "
                (taken.value.reason) " (" (parts::person(view, taken.by.as_str())) ")"
            }
        };
    }
    let overlap = view.lab.overlap(old, new, apparatus);
    html! {
        p {
            "On " (apparatus) ", " (overlap.results.0) " results of " (old.code) " beside "
            (overlap.results.1) " of " (new.code) ": " (overlap.verdict) "."
            @if !overlap.is_enough() { " The laboratory wants " (overlap.wanted) " of each." }
        }
        (forms::take_over(view, new, old.code.as_str(), apparatus))
    }
}
