//! What falls due: everything in one list, what is most urgent first.

use super::parts;
use super::{Page, View};
use crate::look::{self, Tone};
use maud::{Markup, html};
use stonewear_lab::PersonCode;
use stonewear_lab::due::{Due, DueKind, Sure, Urgency, Wanted};

/// The whole list, or the part that the address asks for: `/due?kind=check&mine=yes`.
pub(super) fn page(view: &View<'_>) -> Page {
    let kind = view.asked("kind").filter(|kind| !kind.is_empty());
    let person = view.asked("person").filter(|code| !code.is_empty());
    let item = view.asked("item").filter(|code| !code.is_empty());
    let wanted = Wanted {
        person: person.as_deref().map(PersonCode::from),
        item: item
            .as_deref()
            .map(|code| stonewear_lab::ItemCode::from(code.to_uppercase().as_str())),
        ..Wanted::default()
    };
    let all = view.lab.due(view.now, &wanted);
    let is_shown = |due: &&Due| kind.as_deref().is_none_or(|kind| due.kind.in_words() == kind);
    let body = html! {
        (filters(view, &all, kind.as_deref(), person.as_deref(), item.as_deref()))
        @if !all.iter().any(|due| is_shown(&due)) {
            p { (look::mark(Tone::Good, "nothing falls due")) " Of what is asked for here, nothing waits." }
        }
        @for urgency in [Urgency::Overdue, Urgency::Now, Urgency::Soon, Urgency::Later] {
            @let part: Vec<&Due> = all.iter().filter(is_shown).filter(|due| due.urgency(view.lab, view.now) == urgency).collect();
            @if !part.is_empty() {
                (parts::section(&parts::capital(urgency.in_words()), html! {
                    ul.tasks.reasons { @for due in part { li { (whole(view, due)) } } }
                }))
            }
        }
        (parts::section("In your calendar", html! {
            p { "A calendar program that subscribes to " a href="/due.ics" { "/due.ics" } " of this address shows every day of this list, and follows it when a day moves. What has no day is not in it." }
        }))
    };
    Page::new("What is due", body)
        .lead("Checks, reference runs, charges, authorisations, rounds: first things first.")
}

/// Links to parts of the list; which one is shown is said in words too.
fn filters(
    view: &View<'_>,
    all: &[Due],
    kind: Option<&str>,
    person: Option<&str>,
    item: Option<&str>,
) -> Markup {
    let mut kinds: Vec<DueKind> = all.iter().map(|due| due.kind).collect();
    kinds.sort_unstable();
    kinds.dedup();
    let path = |kind: Option<&str>, person: Option<&str>, item: Option<&str>| {
        let asked = [("kind", kind), ("person", person), ("item", item)];
        let mut query = form_urlencoded::Serializer::new(String::new());
        for (name, value) in asked {
            if let Some(value) = value {
                query.append_pair(name, value);
            }
        }
        match query.finish() {
            query if query.is_empty() => "/due".to_owned(),
            query => format!("/due?{query}"),
        }
    };
    let seat = view.seat.code.as_str();
    html! {
        nav aria-label="Part of the list" {
            ul.tasks.inline {
                li { a.task href=(path(None, person, item)) aria-current=[kind.is_none().then_some("true")] { "Every kind" } }
                @for one in kinds {
                    @let word = one.in_words();
                    li { a.task href=(path(Some(word), person, item)) aria-current=[(kind == Some(word)).then_some("true")] {
                        (parts::capital(word)) ": " (all.iter().filter(|due| due.kind == one).count())
                    } }
                }
                @if let Some(person) = person {
                    li { a.task href=(path(kind, None, item)) { "Not only " (person) ": for everybody" } }
                } @else if !seat.is_empty() {
                    li { a.task href=(path(kind, Some(seat), item)) { "Only what " (seat) " can do" } }
                }
                @if let Some(item) = item {
                    li { a.task href=(path(kind, person, None)) { "Not only " (item) ": for every item" } }
                }
            }
        }
    }
}

fn whole(view: &View<'_>, due: &Due) -> Markup {
    // That it is now stands in the mark already.
    let when = due.when_in_words(view.lab);
    let when = when.strip_prefix("now, ").unwrap_or(&when);
    html! {
        a.task href=(due.path) {
            (state(view, due)) " " b { (due.what) }
            br;
            span {
                (when) "; " (due.why)
                @if let Sure::Forecast { basis } = &due.sure { "; forecast " (basis) }
                "."
            }
        }
    }
}

/// How it stands: word, shape and colour.
fn state(view: &View<'_>, due: &Due) -> Markup {
    let urgency = due.urgency(view.lab, view.now);
    let tone = match urgency {
        Urgency::Overdue => Tone::Bad,
        Urgency::Now | Urgency::Soon => Tone::Edge,
        Urgency::Later => Tone::Plain,
    };
    look::mark(tone, urgency.in_words())
}

/// One of them in short, for the first page.
pub(super) fn brief(view: &View<'_>, due: &Due) -> Markup {
    html! {
        a.task href=(due.path) {
            (state(view, due)) " " b { (due.what) } " " span { (due.when_in_words(view.lab)) }
        }
    }
}
