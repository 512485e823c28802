//! Accounts: one's own, and for owners those of everybody, with sessions and the access log.

use super::parts;
use super::sign_in::{field, new_phrase, others, person_select, wrong};
use super::{Page, View};
use crate::look::{self, Field, Tone};
use crate::people::sign_in_path;
use crate::signing;
use jiff::Timestamp;
use maud::{Markup, html};
use stonewear_access::vouched::Link;
use stonewear_access::{Account, Event, Lasting, Session};

/// What the page of one's own account shows.
pub(crate) struct Own {
    /// The session of this page.
    pub(crate) here: i64,
    pub(crate) is_owner: bool,
    /// All of this person.
    pub(crate) sessions: Vec<Session>,
    /// Who has signed in at this device before.
    pub(crate) known: Vec<String>,
}

/// A code that was given just now.
pub(crate) struct Given {
    pub(crate) person: String,
    pub(crate) code: String,
}

/// What the page of all accounts shows.
pub(crate) struct Accounts {
    pub(crate) has_accounts: bool,
    pub(crate) is_owner: bool,
    pub(crate) accounts: Vec<Account>,
    pub(crate) sessions: Vec<Session>,
    pub(crate) lasting: Lasting,
    pub(crate) events: Vec<Event>,
    /// The session of this page.
    pub(crate) here: i64,
    /// By the clock of the machine.
    pub(crate) now: Timestamp,
    pub(crate) given: Option<Given>,
    /// The organisation that vouches for people.
    pub(crate) organisation: Option<String>,
    pub(crate) links: Vec<Link>,
}

/// The phrase of the form with this name, where it was not given a moment ago.
pub(super) fn phrase(view: &View<'_>, form: &'static str) -> Markup {
    html! {
        @if view.seat.signing.asks().is_some() {
            (field(view, signing::FIELD, "Your pass phrase").scope(form).secret("current-password")
                .hint("It is not asked for again for five minutes."))
            (parts::instead_of_the_phrase(view))
        }
    }
}

/// One's own account.
pub(crate) fn own(view: &View<'_>, own: &Own) -> Page {
    let code = view.seat.code.as_str();
    let back = view.asked("back").unwrap_or_else(|| "/".to_owned());
    let many = own.sessions.len();
    let body = html! {
        p { "Signed in: " (parts::person(view, code)) }
        section.section {
            h2 { "Somebody else works here now" }
            (others(view, &own.known, code, &back))
            (look::actions(&look::link_button("Somebody who has not signed in here before", &sign_in_path(&back, ""))))
        }
        section.section {
            h2 { "Go" }
            form.actions method="post" action="/sign-out" {
                (look::button("Sign out"))
                @if many > 1 { (look::second_button(format!("Sign out everywhere, at {many} places"), "everywhere", "yes")) }
            }
            (sessions(view, &own.sessions, own.here, None))
        }
        section.section {
            h2 { "Change your pass phrase" }
            form.panel method="post" action="/account/phrase" novalidate {
                @if !view.typed.problems.is_empty() { (wrong(view)) }
                (phrase(view, "change-phrase"))
                (new_phrase(view))
                (look::actions(&look::button("Change it")))
                p.quiet { "Everywhere else you are signed out by it." }
            }
        }
        (parts::section("Passkeys", html! {
            p { "A key on your tablet, phone or a stick of its own signs you in by a finger, your face or its PIN, without a pass phrase." }
            (parts::go("Your passkeys", "/account/passkeys"))
        }))
        @if own.is_owner { (parts::go("Accounts of everybody", "/accounts")) }
    };
    Page::new("Who is at the bench?", body)
        .lead("Everything that is recorded from this browser carries the name of the person who signed in.")
}

fn sessions(view: &View<'_>, all: &[Session], here: i64, end: Option<&Markup>) -> Markup {
    let rows = all.iter().map(|session| {
        let mut row = vec![
            html! { (parts::person(view, &session.person)) @if session.number == here { " (this page)" } },
            parts::moment(view, session.began_at),
            parts::moment(view, session.seen_at),
            html! { code { (session.address) } },
            html! { (browser(&session.browser)) },
            html! { @if let Some(means) = session.means { (means.in_words()) } },
        ];
        if let Some(proof) = end {
            row.push(html! {
                form.row method="post" action="/accounts" {
                    input type="hidden" name="do" value="end";
                    input type="hidden" name="session" value=(session.number);
                    (proof)
                    button class="button second" type="submit" { "End session " (session.number) }
                }
            });
        }
        row
    });
    let mut head = vec!["Who", "Since", "Last used", "From", "Browser", "Signed in by"];
    if end.is_some() {
        head.push("End");
    }
    parts::table("Sessions, oldest first", &head, &[], rows.collect())
}

/// What a browser says that it is, as far as it tells one tablet from another.
fn browser(says: &str) -> &str {
    let system = says.split_once('(').and_then(|(_, rest)| rest.split_once(')'));
    system.map_or(says, |(system, _)| system)
}

/// All accounts, for owners.
pub(crate) fn accounts(view: &View<'_>, all: &Accounts) -> Page {
    let body = if !all.has_accounts {
        html! {
            p { "Nobody here has to prove who they are yet, so the page is served to this machine only." }
            (parts::go("Make the first account", "/account/first"))
        }
    } else if !all.is_owner {
        let owners = all.accounts.iter().filter(|account| account.is_owner && account.is_open());
        html! {
            (wrong(view))
            p { "Owners of accounts give them, reset them and close them. Ask one of them:" }
            ul { @for owner in owners { li { (parts::person(view, &owner.person)) } } }
            (parts::go("Your own account", "/who"))
        }
    } else {
        html! {
            @if let Some(given) = &all.given { (shown_once(view, given)) }
            @if !view.typed.problems.is_empty() { (wrong(view)) }
            (parts::section("Accounts", html! { (list(view, all)) (give(view, all)) (change(view, all)) }))
            (parts::section("Who is signed in", html! {
                (sessions(view, &all.sessions, all.here, Some(&phrase_in_row(view))))
                (lasting(view, all))
            }))
            @if all.organisation.is_some() || !all.links.is_empty() {
                (parts::section("Through your organisation", links(view, all)))
            }
            (parts::section("Access log", log(view, all)))
        }
    };
    Page::new("Accounts", body)
        .lead("Who may sign in here, who has, and who was refused.")
        .below("People", "/people")
}

fn shown_once(view: &View<'_>, given: &Given) -> Markup {
    html! {
        div.panel role="status" {
            p { "The code for " (parts::person(view, &given.person)) ":" }
            p.code-to-copy { strong translate="no" { (given.code) } }
            p { "It is shown this once and holds for a day. Hand it over in person; at " code { "/account/open" } " it opens the account, with a pass phrase of their own." }
        }
    }
}

fn list(view: &View<'_>, all: &Accounts) -> Markup {
    let rows = all.accounts.iter().map(|account| {
        let standing = account.standing(all.now);
        let tone = match standing {
            "open" => Tone::Good,
            "waits for its code" => Tone::Active,
            "closed" => Tone::Plain,
            _ => Tone::Edge,
        };
        vec![
            parts::person(view, &account.person),
            look::mark(tone, standing),
            html! { @if account.is_owner { "owner" } @else { "–" } },
            html! { @if let Some(at) = account.phrase_at { (parts::moment(view, at)) } @else { "–" } },
            html! { @if let Some(at) = account.made_at { (parts::moment(view, at)) " by " } (account.made_by) },
        ]
    });
    let head = ["Person", "Stands", "Gives accounts", "Pass phrase since", "Given"];
    parts::table("Accounts, by initials", &head, &[], rows.collect())
}

/// Who signs in through the organisation.
fn links(view: &View<'_>, all: &Accounts) -> Markup {
    let rows = all.links.iter().map(|link| {
        vec![
            parts::person(view, &link.person),
            html! { code translate="no" { (link.subject) } },
            html! { code translate="no" { (link.issuer) } },
            html! { @if let Some(at) = link.linked_at { (parts::moment(view, at)) " by " } (link.linked_by) },
            html! {
                form.row method="post" action="/accounts" {
                    input type="hidden" name="do" value="unlink";
                    input type="hidden" name="person" value=(link.person);
                    input type="hidden" name="issuer" value=(link.issuer);
                    (phrase_in_row(view))
                    button class="button second" type="submit" { "End the link of " (link.person) }
                }
            },
        ]
    });
    let has_none = |code: &str| {
        let mut open = all.accounts.iter().filter(|account| account.closed_at.is_none());
        let is_linked =
            |link: &Link| link.person == code && Some(&link.issuer) == all.organisation.as_ref();
        open.any(|account| account.person == code) && !all.links.iter().any(is_linked)
    };
    let options = people(view, has_none);
    let head = ["Person", "There", "Organisation", "Linked", "End"];
    html! {
        @if all.links.is_empty() { p { "Nobody is linked yet." } }
        @else { (parts::table("Who signs in through the organisation, by initials", &head, &[], rows.collect())) }
        @if let (Some(issuer), false) = (&all.organisation, options.is_empty()) {
            form.panel method="post" action="/accounts" novalidate {
                h3 { "Link a person" }
                input type="hidden" name="do" value="link";
                p { "Organisation: " code translate="no" { (issuer) } }
                (person_select("link", "Who they are here", options, view.typed.sent_field("person").unwrap_or_default()))
                (field(view, "subject", "Who they are there").scope("link").hint("the mark that the organisation has for them (sub); it is shown to whoever tries to sign in without a link"))
                (phrase(view, "link"))
                (look::actions(&look::button("Link them")))
            }
        }
    }
}

/// The people for whom `is_offered`, to choose from.
fn people(view: &View<'_>, is_offered: impl Fn(&str) -> bool) -> Vec<(String, String)> {
    let people = view.lab.people.values().filter(|person| is_offered(person.code.as_str()));
    people
        .map(|person| (person.code.to_string(), format!("{}, {}", person.code, person.name)))
        .collect()
}

fn give(view: &View<'_>, all: &Accounts) -> Markup {
    let has_one = |code: &str| {
        all.accounts.iter().any(|account| account.person == code && account.closed_at.is_none())
    };
    let options = people(view, |code| !has_one(code));
    html! {
        @if !options.is_empty() {
            form.panel method="post" action="/accounts" novalidate {
                h3 { "Give an account" }
                input type="hidden" name="do" value="give";
                (person_select("give", "To whom", options, ""))
                label.tick { input type="checkbox" name="is_owner" value="yes"; " They may give accounts, too" }
                (phrase(view, "give"))
                (look::actions(&look::button("Give it, and show the code")))
            }
        }
        p { a href="/people" { "Somebody who is not on the list is added to the people first" } }
    }
}

fn change(view: &View<'_>, all: &Accounts) -> Markup {
    let has_one = |code: &str| {
        all.accounts.iter().any(|account| account.person == code && account.closed_at.is_none())
    };
    let options = people(view, has_one);
    html! {
        form.panel method="post" action="/accounts" novalidate {
            h3 { "Change an account" }
            (person_select("change", "Whose", options, view.typed.sent_field("person").unwrap_or_default()))
            (phrase(view, "change"))
            div.actions {
                (look::second_button("Reset: a code for a new pass phrase", "do", "reset"))
                (look::second_button("Make them an owner", "do", "owner"))
                (look::second_button("An owner no longer", "do", "no-owner"))
                button class="button grave" type="submit" name="do" value="close" { "Close it" }
            }
            p.quiet { "A reset and a closed account end all sessions of the person; a closed one also ends the tokens of programs that ask in their name." }
        }
    }
}

/// In the row of a session: only where the phrase is asked for.
fn phrase_in_row(view: &View<'_>) -> Markup {
    html! {
        @if view.seat.signing.asks().is_some() {
            input type="password" name=(signing::FIELD) autocomplete="current-password" aria-label="Your pass phrase" placeholder="Your pass phrase";
        }
    }
}

fn lasting(view: &View<'_>, all: &Accounts) -> Markup {
    let hours = |field: Field<'static>, kept: jiff::SignedDuration| {
        field.count().unit("h").value(kept.as_hours().to_string())
    };
    html! {
        form.panel method="post" action="/accounts" novalidate {
            h3 { "How long a session lasts" }
            input type="hidden" name="do" value="lasting";
            (hours(Field::new("idle_h", "When nothing is done").hint("12 h is a shift and its breaks"), all.lasting.idle))
            (hours(Field::new("whole_h", "At the longest"), all.lasting.whole))
            (phrase(view, "lasting"))
            (look::actions(&look::button("Keep it so")))
        }
    }
}

fn log(view: &View<'_>, all: &Accounts) -> Markup {
    let rows = all.events.iter().rev().map(|event| {
        let at = event.at.parse::<Timestamp>().ok();
        vec![
            html! { (event.number) },
            html! { @if let Some(at) = at { (parts::moment(view, at)) } },
            html! { @if event.person.is_empty() { "–" } @else { span translate="no" { (event.person) } } },
            html! { (event.in_words()) },
            html! { span translate="no" { (event.about) } },
            html! { code { (event.address) } },
        ]
    });
    let head = ["No.", "When", "Who", "What", "More", "From"];
    html! {
        p { "It lies beside the journal and is no part of it. All of it, and whether it is as it was written: " code { "stonewear people log --verify" } }
        (parts::table("Access log, newest first", &head, &[0], rows.collect()))
    }
}
