//! Duplicates: how far people repeat, and whether they differ.

use super::parts;
use super::{Page, View};
use crate::look::{self, Tone};
use maud::{Markup, html};
use stonewear_lab::duplicates::{DAYS_APART, Duplicates, OfPerson, PAIRS_WANTED};
use stonewear_lab::state::Person;
use stonewear_report::{duplicates_picture, duplicates_sentence};

pub(super) fn page(view: &View<'_>) -> Page {
    let all = view.lab.duplicates();
    let body = html! {
        (what_counts())
        @if all.is_empty() {
            (parts::lead("No pair yet", "They are found among the ordinary results as they come.", "/samples", "Go on with a sample"))
        } @else {
            @for of_method in &all { (by_method(view, of_method)) }
            (look::actions(&html! {
                (look::link_button("Print the report", "/duplicates/report.pdf"))
                (look::link_button("Take the pairs as CSV", "/duplicates/pairs.csv"))
            }))
        }
    };
    Page::new("Duplicates", body).below("In control", "/control")
}

fn what_counts() -> Markup {
    html! {
        p.quiet { "Two specimens of one sample, tested by one person alone within " (DAYS_APART) " days, are a pair. About " (PAIRS_WANTED) " are wanted of each person (BRE repeatability check, seen)." }
    }
}

fn by_method(view: &View<'_>, of_method: &Duplicates) -> Markup {
    let body = html! {
        p { (duplicates_sentence(of_method)) }
        @for own in &of_method.people {
            h3 { a href={ "/people/" (own.person) } { (parts::person(view, own.person.as_str())) } }
            @for words in &own.words { p { (words) } }
            @if !own.pairs.is_empty() { (look::chart(&duplicates_picture(view.lab, of_method, own))) }
        }
    };
    parts::section(&parts::method(view, of_method.method.as_str()), body)
}

/// What the duplicates of one person say, on their page.
pub(super) fn of_person(view: &View<'_>, person: &Person) -> Markup {
    let all = view.lab.duplicates();
    let body = html! {
        (what_counts())
        @for of_method in &all {
            @for own in of_method.people.iter().filter(|own| own.person == person.code) {
                h3 { (parts::method(view, of_method.method.as_str())) }
                @for words in &own.words { p { (words) } }
                @if !own.pairs.is_empty() {
                    (look::chart(&duplicates_picture(view.lab, of_method, own)))
                    (pairs(view, of_method, own))
                }
            }
        }
        (parts::go("Everybody's duplicates", "/duplicates"))
    };
    parts::section("Duplicates", body)
}

fn pairs(view: &View<'_>, of_method: &Duplicates, own: &OfPerson) -> Markup {
    let rows = own.pairs.iter().rev().map(|pair| {
        vec![
            html! { (parts::day(view, pair.at)) },
            html! { a.code href={ "/samples/" (pair.sample) } { (pair.sample) } },
            html! { (pair.one) ", " (pair.other) },
            html! { (format!("{:.2}", pair.mean_percent)) },
            html! { (format!("{:.2}", pair.range_percent)) @if pair.is_far { " " (look::mark(Tone::Edge, "far apart")) } },
        ]
    });
    let head = ["Weighed", "Sample", "Specimens", "Mean, %", "Range, % loss"];
    let caption =
        format!("Pairs by {}, newest first", parts::method(view, of_method.method.as_str()));
    parts::table(&caption, &head, &[3, 4], rows.collect())
}
