//! What leads in: signing in, and opening an account by a code.

use super::parts;
use super::{Page, View};
use crate::look::{self, Field};
use crate::people::{organisation_path, sign_in_path};
use maud::{Markup, html};
use stonewear_access::phrase::SHORTEST;
use stonewear_lab::fact::Right;

/// What is wrong with the form, said first; nothing while nothing is.
pub(super) fn wrong(view: &View<'_>) -> Markup {
    let problems: Vec<look::Problem<'_>> =
        view.typed.problems.iter().map(parts::problem_alone).collect();
    html! {
        @if !problems.is_empty() {
            div.problems role="alert" data-problems {
                ul {
                    @for problem in &problems {
                        li { (problem.message) @if !problem.hint.is_empty() { " " (problem.hint) } }
                    }
                }
            }
        }
    }
}

/// A field of these forms, with what was typed into it and what is wrong with it.
pub(super) fn field<'a>(view: &'a View<'_>, name: &'a str, label: &'a str) -> Field<'a> {
    let request = view.typed.request.as_str();
    let problem = view.typed.problem(request, name);
    Field::new(name, label)
        .scope("account")
        .value(view.typed.sent_field(name).unwrap_or_default().to_owned())
        .problem(problem.map(|problem| parts::problem_of(problem, String::new())))
}

/// A choice among people, in the form with this name.
pub(super) fn person_select(
    form: &'static str,
    label: &'static str,
    people: Vec<(String, String)>,
    chosen: &str,
) -> Markup {
    let select = look::Select::new("person", label).scope(form).chosen(chosen.to_owned());
    html! { (people.into_iter().fold(select, |select, (code, name)| select.option(code, name))) }
}

/// The two fields of a phrase that is chosen.
pub(super) fn new_phrase(view: &View<'_>) -> Markup {
    let hint =
        format!("At least {SHORTEST} characters; three or four words are good. Spaces count.");
    html! {
        (field(view, "phrase", "New pass phrase").secret("new-password").hint(hint))
        (field(view, "again", "The same once more").secret("new-password"))
    }
}

/// What leads in beside a phrase.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Ways {
    /// The page was opened by a name, so passkeys can be used.
    pub(crate) passkey: bool,
    /// An organisation vouches for people.
    pub(crate) organisation: bool,
}

/// Signing in; `known` have done so at this device before.
pub(crate) fn sign_in(view: &View<'_>, known: &[String], ways: Ways) -> Page {
    let sent = |name: &str| view.typed.sent_field(name).unwrap_or_default();
    let (back, person) = (sent("back"), sent("person"));
    let back = if back.is_empty() { "/" } else { back };
    let again = sent("_again");
    let offered = known.iter().any(|known| known == person).then_some(person);
    let body = html! {
        @if !again.is_empty() {
            p role="note" {
                @if sent("_form").is_empty() { "What you sent was not recorded, since nobody is signed in here. Sign in, go back, and send it once more." }
                @else { "What you typed was not recorded, since nobody is signed in here. It is kept on this page: sign in, and it is shown to you again." }
            }
        }
        @if offered.is_none() && !known.is_empty() && view.typed.problems.is_empty() && again.is_empty() {
            (others(view, known, "", back))
        }
        form.panel method="post" action="/sign-in" novalidate {
            input type="hidden" name="back" value=(back);
            @if !again.is_empty() {
                input type="hidden" name="_again" value=(again);
                input type="hidden" name="_form" value=(sent("_form"));
            }
            (wrong(view))
            @if let Some(code) = offered {
                input type="hidden" name="person" value=(code);
                p { (parts::person(view, code)) }
                (field(view, "phrase", "Pass phrase").secret("current-password").first())
            } @else {
                (field(view, "person", "Initials").fills("username"))
                (field(view, "phrase", "Pass phrase").secret("current-password"))
            }
            (look::actions(&look::button("Sign in")))
        }
        @if offered.is_some() {
            p { a href=(sign_in_path(back, "")) { "Somebody else" } }
        }
        @if ways.passkey {
            form.panel method="post" action="/sign-in/passkey" data-passkey="sign-in" hidden
                data-say-not-used="No passkey was used. Try again, or type your pass phrase." {
                input type="hidden" name="back" value=(back);
                @if !again.is_empty() {
                    input type="hidden" name="_again" value=(again);
                    input type="hidden" name="_form" value=(sent("_form"));
                }
                input type="hidden" name="passkey";
                (look::actions(&html! { button class="button second" type="submit" { "Sign in with a passkey" } }))
                p role="status" {}
            }
        }
        @if ways.organisation {
            (look::actions(&look::link_button("Sign in through your organisation", &organisation_path(back, false))))
        }
        p { a href="/account/open" { "I have a code for a new pass phrase" } }
    };
    Page::new("Sign in", body)
}

/// The organisation did not say that it is the person who holds the session.
pub(crate) fn not_shown(view: &View<'_>, back: &str) -> Page {
    let body = html! {
        (wrong(view))
        (parts::go("Back, to type your pass phrase", back))
    };
    Page::new("It was not shown that it is you", body)
}

/// The people of a device but one, each a way to sign in.
pub(super) fn others(view: &View<'_>, known: &[String], but: &str, back: &str) -> Markup {
    html! {
        div.actions {
            @for code in known.iter().filter(|code| *code != but) {
                @if let Some(person) = view.lab.people.get(code.as_str()) {
                    a class="button second" href=(sign_in_path(back, code)) { (look::person(code, &person.name)) }
                }
            }
        }
    }
}

/// Opening an account by the code that an owner gave.
pub(crate) fn open(view: &View<'_>) -> Page {
    let body = html! {
        form.panel method="post" action="/account/open" novalidate {
            (wrong(view))
            (field(view, "person", "Initials").fills("username"))
            (field(view, "code", "Code").hint("twelve signs, as they were shown to whoever gave it"))
            (new_phrase(view))
            (look::actions(&look::button("Open the account")))
        }
        p { a href="/sign-in" { "I have a pass phrase already" } }
    };
    Page::new("Open your account", body)
        .lead("The code shows that you are meant. The pass phrase is yours: nobody else needs to know it.")
}

/// Making the first account, by the code that the terminal shows.
pub(crate) fn open_first(view: &View<'_>, has_code: bool) -> Page {
    let managers = view.lab.people.values().filter(|person| person.may(Right::Manage));
    let options: Vec<(String, String)> = managers
        .map(|person| (person.code.to_string(), format!("{}, {}", person.code, person.name)))
        .collect();
    let chosen = view.typed.sent_field("person").unwrap_or(&view.seat.code);
    let body = html! {
        @if has_code {
            form.panel method="post" action="/account/first" novalidate {
                (wrong(view))
                (person_select("account", "Who you are", options, chosen))
                (field(view, "code", "Code").hint("twelve signs; the terminal in which this program was started shows them"))
                (new_phrase(view))
                (look::actions(&look::button("Make the first account")))
            }
        } @else {
            p { "This program was started without a code. Stop it and start it again: the terminal shows one then." }
        }
        section.section {
            h2 { "What follows" }
            ul {
                li { "From this moment every page needs somebody who has signed in. Only you have; you give the others their accounts." }
                li { "What is recorded carries the name of whoever has signed in, and of nobody else." }
                li { "Releasing a result, issuing a report, closing a doubt and deciding a policy ask for the pass phrase again." }
                li { "It cannot be taken back. Whoever forgets the pass phrase gets a new code from an owner, or at this machine: " code { "stonewear people reset" } }
            }
        }
    };
    Page::new("The first account", body)
        .lead("Nobody here has to prove who they are yet, so the page is served to this machine only.")
        .below("People", "/people")
}
