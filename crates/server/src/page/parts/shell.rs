//! The frame around every page, filled from the laboratory.

use crate::guide;
use crate::look::{Place, Shell};
use crate::page::{Page, View};
use crate::signing::Signing;
use maud::{Markup, html};

/// A page for whoever has not signed in: it tells the name of the laboratory, and nothing else of it.
pub(crate) fn outside(view: &View<'_>, page: Page) -> Markup {
    let identity = view.lab.identity.as_ref();
    Shell {
        laboratory: identity.map(|identity| identity.name.clone()).unwrap_or_default().into(),
        title: page.title.into(),
        lead: page.lead.into(),
        here: match view.query {
            "" => view.path.into(),
            query => format!("{}?{query}", view.path).into(),
        },
        is_invented: identity.is_some_and(|identity| identity.invented),
        is_outside: true,
        ..Shell::default()
    }
    .page(&page.body)
}

/// A whole page.
pub(crate) fn shell(view: &View<'_>, page: Page) -> Markup {
    let identity = view.lab.identity.as_ref();
    let person = view.lab.people.get(view.seat.code.as_str());
    let head = view.laboratory.head();
    let place = Place::ALL
        .into_iter()
        .find(|place| {
            if *place == Place::Benches {
                view.path == "/"
            } else {
                view.path.starts_with(place.path())
            }
        })
        .or_else(|| of_the_bench(view.path));
    let help = guide::for_page(view.path, view.lab.results.is_empty());
    let body = html! { (super::saved::said(view)) (page.body) };
    Shell {
        laboratory: identity.map(|identity| identity.name.clone()).unwrap_or_default().into(),
        title: page.title.into(),
        lead: page.lead.into(),
        here: match view.query {
            "" => view.path.into(),
            query => format!("{}?{query}", view.path).into(),
        },
        place,
        help: help.map(|one| {
            (format!("Help: {}", one.title()).into(), format!("/guide/{}", one.name).into())
        }),
        crumbs: page.crumbs.into_iter().map(|(word, path)| (word.into(), path.into())).collect(),
        person: person.map(|person| (person.code.to_string().into(), person.name.clone().into())),
        journal: identity.map(|_| (head.position, head.hash.to_string().into())),
        is_invented: identity.is_some_and(|identity| identity.invented),
        read_only: view
            .laboratory
            .hindrance()
            .map(|hindrance| format!("{hindrance} {}", hindrance.remedy()).into()),
        now: view.now.to_string().into(),
        draft_clear: view.asked("kept").map(Into::into),
        first_hash: view.laboratory.first_hash().unwrap_or_default().into(),
        is_outside: false,
        has_accounts: view.seat.signing != Signing::Open,
        theme: None,
    }
    .page(&body)
}

/// The place of pages that hang below a sample or an item.
fn of_the_bench(path: &str) -> Option<Place> {
    match path.split('/').nth(1)? {
        "specimens" => Some(Place::Samples),
        "runs" | "due" => Some(Place::Benches),
        "checks" => Some(Place::Equipment),
        "doubts" | "rounds" | "proficiency" | "papers" | "letterhead" => Some(Place::Results),
        "policies" | "experiments" => Some(Place::Methods),
        "studies" | "duplicates" => Some(Place::Control),
        "export" | "imports" | "network" => Some(Place::Journal),
        "programs" | "accounts" => Some(Place::People),
        _ => None,
    }
}
