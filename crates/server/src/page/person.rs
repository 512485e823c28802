//! One person: what they may do, what they are authorised for and on what evidence, and what
//! their duplicates say.

use super::parts::{self, Field, Form};
use super::{Page, View, attachments, duplicates, find};
use crate::look::{self, Tone};
use maud::{Markup, html};
use stonewear_lab::authorisation::{Activity, AuthorisationStanding};
use stonewear_lab::state::{Authorisation, Person};

const RIGHTS: &str = "set-rights";
const GRANT: &str = "grant-authorisation";
const CHANGE: &str = "change-authorisation";
const SUPERVISE: &str = "supervise-work";

pub(super) fn one(view: &View<'_>, code: &str) -> Option<Page> {
    let person = view.lab.people.get(code)?;
    let all: Vec<&Authorisation> = view.lab.authorisations_of(&person.code).collect();
    let body = html! {
        p { "May " (super::people::rights_of(person)) ", since " (parts::day(view, person.since.at)) "." }
        (parts::section("Authorised for", html! {
            @if all.is_empty() { p.quiet { "Nobody has authorised them for anything yet." } }
            @for one in &all { (authorisation(view, one)) }
        }))
        @if all.iter().any(|one| one.standing_before(u64::MAX) != AuthorisationStanding::Withdrawn) {
            (change(view, &all))
        }
        (rights(view, person))
        (grant(view, person))
        (supervise(view, person))
        (duplicates::of_person(view, person))
    };
    let title = format!("{}, {}", person.code, person.name);
    Some(Page::new(title, body).below("People", "/people"))
}

fn names(activities: &[Activity]) -> String {
    stonewear_lab::words::listed(activities.iter().map(|activity| activity.in_words()))
}

fn authorisation(view: &View<'_>, one: &Authorisation) -> Markup {
    let tone = if view.lab.is_in_force(one, view.now, u64::MAX) { Tone::Good } else { Tone::Bad };
    html! {
        section.panel id=(one.code) {
            h3 { (one.code) ": " (parts::method_link(view, &one.method)) }
            p { (look::mark(tone, view.lab.authorisation_in_words(one, view.now))) }
            p { "To " (names(&one.activities)) ". Granted by " (parts::person(view, one.granted.by.as_str())) ", " (parts::day(view, one.granted.at)) "." }
            @if !one.training.is_empty() { p { "Training: " (one.training) } }
            @if !one.evidence.is_empty() {
                p { "Witnessed: " @for code in &one.evidence { (witnessed(view, code)) " " } }
            }
            @for change in &one.changes {
                p.quiet { (parts::day(view, change.at)) ", " (parts::person(view, change.by.as_str())) ": " (change.value.standing.in_words()) ". " (change.value.reason) }
            }
            @if !view.lab.attachments_of(one.code.as_str()).is_empty() {
                (attachments::list(view, one.code.as_str()))
            }
        }
    }
}

/// A witnessed piece of work, with the way to it.
fn witnessed(view: &View<'_>, code: &str) -> Markup {
    html! {
        @match view.lab.thing(code) {
            Some(thing) => a.code href=(find::path_of(&thing)) { (code) },
            None => span.code { (code) },
        }
    }
}

fn change(view: &View<'_>, all: &[&Authorisation]) -> Markup {
    let open =
        all.iter().filter(|one| one.standing_before(u64::MAX) != AuthorisationStanding::Withdrawn);
    let options: Vec<(String, String)> = open
        .map(|one| {
            (
                one.code.to_string(),
                format!(
                    "{}: {}, {}",
                    one.code,
                    parts::method(view, one.method.as_str()),
                    names(&one.activities)
                ),
            )
        })
        .collect();
    let first = options.first().map(|(code, _)| code.clone()).unwrap_or_default();
    let standings = [
        ("suspended".to_owned(), "suspended for a while".to_owned()),
        ("in-force".to_owned(), "in force again".to_owned()),
        ("withdrawn".to_owned(), "withdrawn for good".to_owned()),
    ];
    parts::section(
        "Suspend or withdraw",
        Form::new(view, CHANGE, "Change it").body(html! {
            (parts::select(view, CHANGE, "authorisation", "Authorisation", options, &first))
            (parts::radios(view, CHANGE, "standing", "From now on", standings.to_vec(), None))
            (Field::text(view, CHANGE, "reason", "On what grounds"))
        }),
    )
}

fn method_field(view: &View<'_>, request: &'static str) -> Markup {
    let options: Vec<(String, String)> =
        view.lab.methods.values().map(|one| (one.id.to_string(), one.method.dated())).collect();
    let first = options.first().map(|(id, _)| id.clone()).unwrap_or_default();
    parts::select(view, request, "method", "Method in use", options, &first)
}

/// What they may do, changed with a reason.
fn rights(view: &View<'_>, person: &Person) -> Markup {
    html! {
        details open[view.typed.was_refused(RIGHTS) || person.rights.is_empty()] {
            summary { "Change what they may do" }
            (Form::new(view, RIGHTS, "Change it").hidden("person", person.code.as_str()).body(html! {
                (super::people::right_boxes(view, RIGHTS, &person.rights))
                (Field::text(view, RIGHTS, "reason", "Why"))
            }))
        }
    }
}

fn grant(view: &View<'_>, person: &Person) -> Markup {
    parts::section(
        "Authorise",
        html! {
            @if view.lab.methods.is_empty() { p.quiet { "Take a method into use first." } }
            @else {
                (Form::new(view, GRANT, "Authorise").hidden("person", person.code.as_str()).body(html! {
                    (method_field(view, GRANT))
                    (parts::tick_boxes(view, GRANT, "activities", "For what", &Activity::ALL.map(|one| (one.name(), one.in_words()))))
                    (Field::text(view, GRANT, "training", "Training").optional().hint("where its record is, or what was seen of it"))
                    (Field::text(view, GRANT, "evidence", "Witnessed work").optional().hint("codes of specimens, results, runs, checks, with commas"))
                    (Field::text(view, GRANT, "until", "Last day").date().optional().hint("left empty, as the laboratory decided"))
                }))
            }
            (parts::go("What is asked of work without one", "/policies/authorisation"))
        },
    )
}

fn supervise(view: &View<'_>, person: &Person) -> Markup {
    if view.lab.methods.is_empty() || view.seat.code == person.code.as_str() {
        return html! {};
    }
    let work = Activity::ALL.into_iter().filter(|one| *one != Activity::Release);
    let work: Vec<(&str, &str)> = work.map(|one| (one.name(), one.in_words())).collect();
    parts::section(
        "I watch their work",
        Form::new(view, SUPERVISE, "I watch").hidden("person", person.code.as_str()).body(html! {
            p { "Who is authorised can watch the work of somebody who is not yet. It is recorded as such." }
            (method_field(view, SUPERVISE))
            (parts::tick_boxes(view, SUPERVISE, "activities", "Which work", &work))
            (Field::text(view, SUPERVISE, "until", "Last day").date().optional().hint("left empty, today"))
        }),
    )
}
