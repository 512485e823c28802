//! What falls due: what is most urgent first, each with the page where it is done.

use super::parts;
use super::{Page, View};
use crate::look::{self, Tone};
use maud::{Markup, html};
use stonewear_lab::due::{Due, Sure, Urgency, Wanted};

/// As many as the first page shows.
const ON_THE_BENCHES: usize = 4;

pub(super) fn page(view: &View<'_>) -> Page {
    let asked = |name: &str| view.asked(name).filter(|code| !code.is_empty());
    let wanted = Wanted {
        person: asked("person").map(|code| code.as_str().into()),
        item: asked("item").map(|code| code.as_str().into()),
        ..Wanted::default()
    };
    let all = view.lab.due(view.now, &wanted);
    let body = html! {
        @if all.is_empty() { p { "Nothing falls due." } }
        (list(view, &all))
        @if wanted != Wanted::default() { (parts::go("Everything that falls due", "/due")) }
        @if !view.seat.code.is_empty() && wanted.person.is_none() {
            (parts::go("Only what I can do", &format!("/due?person={}", view.seat.code)))
        }
        (parts::section("In a calendar", html! {
            p { "Any calendar program can subscribe to the address of this file; events move when a check is repeated." }
            (parts::go("Calendar file (iCalendar)", "/due.ics"))
        }))
    };
    Page::new("Due", body).lead("What falls due, from what is recorded and decided.")
}

/// The short form for the first page: only what is overdue, waits or comes soon.
pub(super) fn short(view: &View<'_>) -> Markup {
    let mut all = view.lab.due(view.now, &Wanted::default());
    all.retain(|due| due.urgency(view.lab, view.now) != Urgency::Later);
    if all.is_empty() {
        return html! {};
    }
    let first = all.get(..ON_THE_BENCHES).unwrap_or(&all);
    parts::section(
        "Due",
        html! {
            (list(view, first))
            (parts::go(&format!("All {} that are due within a week, and later ones", all.len()), "/due"))
        },
    )
}

fn list(view: &View<'_>, all: &[Due]) -> Markup {
    html! {
        ul.tasks { @for due in all { li { (one(view, due)) } } }
    }
}

fn one(view: &View<'_>, due: &Due) -> Markup {
    let (tone, word) = match due.urgency(view.lab, view.now) {
        Urgency::Overdue => (Tone::Bad, "overdue"),
        Urgency::Now => (Tone::Edge, "now"),
        Urgency::Soon => (Tone::Active, "soon"),
        Urgency::Later => (Tone::Plain, "later"),
    };
    html! {
        a.task href=(due.path) { b { (due.when_in_words(view.lab)) } " " span { (due.what) } }
        p.quiet {
            (look::mark(tone, word)) " " (due.why)
            @if let Sure::Forecast { basis } = &due.sure { "; forecast: " (basis) }
        }
    }
}
