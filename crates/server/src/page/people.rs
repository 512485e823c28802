//! People, what they may do, and who sits at this browser.

use super::parts::{self, Field, Form};
use super::{Page, View};
use crate::look;
use maud::{Markup, html};
use stonewear_lab::fact::Right;
use stonewear_lab::state::Person;

const ADD: &str = "add-person";
const RIGHTS: [(&str, Right, &str); 3] = [
    ("test", Right::Test, "test: receive, make up, run, weigh, check"),
    ("release", Right::Release, "release results with their name"),
    ("manage", Right::Manage, "manage people, equipment and methods"),
];

pub(super) fn list(view: &View<'_>) -> Page {
    let rows = view.lab.people.values().map(|person| {
        vec![
            html! { a.code href={ "/people/" (person.code) } { (person.code) } },
            html! { (person.name) },
            html! { (rights_of(person)) },
            html! { (parts::day(view, person.since.at)) },
        ]
    });
    let body = html! {
        (parts::table_below_heading("People", &["Initials", "Name", "May", "Since"], &[], rows.collect()))
        (parts::section("Add a person", Form::new(view, ADD, "Add").body(html! {
            (Field::text(view, ADD, "name", "Name"))
            (Field::text(view, ADD, "code", "Initials").hint("two to four letters, like RVK"))
            (right_boxes(view, ADD, &[Right::Test]))
        })))
        @if view.lab.results.is_empty() { (parts::go("On with the way to your first loss", "/")) }
        (parts::go("Accounts: who may sign in", "/accounts"))
        (parts::go("Programs that ask in somebody's name, and webhooks", "/programs"))
    };
    Page::new("People", body)
}

/// A box for each right; ticked are those that are named, until somebody has typed otherwise.
pub(super) fn right_boxes(view: &View<'_>, request: &'static str, ticked: &[Right]) -> Markup {
    let options = RIGHTS.map(|(value, right, label)| (value, label, ticked.contains(&right)));
    parts::tick_boxes_with(view, request, "rights", "May", &options)
}

pub(super) fn rights_of(person: &Person) -> String {
    let names =
        RIGHTS.into_iter().filter(|(_, right, _)| person.may(*right)).map(|(name, ..)| name);
    let list = names.collect::<Vec<_>>().join(", ");
    if list.is_empty() { "nothing yet".to_owned() } else { list }
}

/// Who sits here: chosen, not proved, until the first account is opened.
pub(super) fn who(view: &View<'_>) -> Page {
    let back = view.asked("back").unwrap_or_else(|| "/".to_owned());
    let body = html! {
        form.actions method="post" action="/who" {
            input type="hidden" name="back" value=(back);
            @for person in view.lab.people.values() { (choice(view, person)) }
        }
        p.quiet { "Nobody here has to prove who they are yet, so the page is served to this machine only." }
        (parts::go("Make the first account", "/account/first"))
    };
    Page::new("Who is at the bench?", body)
        .lead("Everything that is recorded from this browser carries the name of the person who sits at it.")
}

fn choice(view: &View<'_>, person: &Person) -> Markup {
    let here = person.code.as_str() == view.seat.code;
    html! {
        button.button.second name="person" value=(person.code) aria-current=[here.then_some("true")] {
            (look::person(person.code.as_str(), &person.name)) @if here { " (now)" }
        }
    }
}
