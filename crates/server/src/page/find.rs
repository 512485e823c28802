//! Finding by code or name: what a scanner types, or a person who remembers half of it.

mod places;

use super::parts;
use super::{Page, View};
use maud::{Markup, html};
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

/// Something that was found: a thing, a method, a paper, or a page where something is done.
struct Found {
    code: String,
    what: String,
    name: String,
    path: String,
    /// A code is the same in every language; the name of a page is not.
    is_code: bool,
}

/// What is near to what was typed: codes first, then what can be done and where, then names.
fn found(view: &View<'_>, typed: &str) -> Vec<Found> {
    let things = view.lab.near(typed, MOST).into_iter().map(|thing| Found {
        path: path_of(&thing),
        what: thing.what(),
        code: thing.code,
        name: thing.name,
        is_code: true,
    });
    let (by_code, by_name): (Vec<Found>, Vec<Found>) =
        things.partition(|thing| thing.code.contains(&typed.trim().to_uppercase()));
    let language = view.seat.language;
    let fits = |text: &str| {
        places::all_begin_in(typed, text) || places::all_begin_in(typed, &language.say(text))
    };
    let methods = view.lab.methods.values().map(|used| {
        let method = &used.method;
        Found {
            code: method.dated(),
            what: "a method".to_owned(),
            name: method.title.clone(),
            path: format!("/methods/{}", used.id),
            is_code: true,
        }
    });
    let papers = view.lab.papers.values().rev().map(|paper| Found {
        code: paper.value.number.clone(),
        what: "a paper".to_owned(),
        name: format!("{} about {}", paper.value.paper.in_words(), paper.value.of),
        path: format!("/papers/{}", paper.value.fingerprint),
        is_code: true,
    });
    let named = methods.chain(papers).filter(|one| fits(&format!("{} {}", one.code, one.name)));
    let places = places::near(typed, language).map(|place| Found {
        code: place.words.to_owned(),
        what: "a page".to_owned(),
        name: place.holds.to_owned(),
        path: place.path.to_owned(),
        is_code: false,
    });
    by_code.into_iter().chain(places).chain(named).chain(by_name).take(MOST).collect()
}

/// The list below the field at the top, as it is typed: a piece of a page.
pub(crate) fn list(view: &View<'_>) -> Markup {
    let typed = view.asked("q").unwrap_or_default();
    html! {
        @for (index, one) in found(view, typed.trim()).iter().enumerate() {
            li role="option" id={ "found-" (index) } aria-selected="false" data-href=(one.path) {
                b { (one.code) } " " span.quiet { (one.what) } @if !one.name.is_empty() { br; span { (one.name) } }
            }
        }
    }
}

/// What is near to what was typed; an exact code does not come here.
pub(super) fn page(view: &View<'_>) -> Page {
    let typed = view.asked("q").unwrap_or_default();
    let typed = typed.trim();
    let near = found(view, typed);
    let body = html! {
        @if typed.is_empty() {
            p { "Type or scan a code into the field at the top; the key / leads there." }
        } @else if near.is_empty() {
            p { "Nothing here has the code “" (typed) "”, and no name holds it." }
            p { a href="/samples" { "Look through the samples" } ", or " a href="/equipment" { "the equipment" } "." }
        } @else {
            p { "Nothing here has exactly the code “" (typed) "”. Near to it:" }
            (parts::table("Near to it", &["Code", "What", "Name"], &[], near.iter().map(|one| vec![
                html! { a class=[one.is_code.then_some("code")] href=(one.path) { (one.code) } },
                html! { (one.what) },
                html! { (one.name) },
            ]).collect()))
        }
    };
    Page::new("Find", body)
}
