//! People who prove who they are: signing in and out, opening an account, one's own account, and what
//! owners do with those of others.

mod opening;
mod organisation;
mod own;
mod owners;
mod passkeys;
mod sign_in;

pub(crate) use own::own;
pub(crate) use sign_in::sign_in_with_form;

use crate::app::{App, fields, problem, seat};
use crate::form::Typed;
use crate::page::Seat;
use axum::Router;
use axum::body::Bytes;
use axum::http::HeaderMap;
use axum::routing::{get, post};
use stonewear_access::{Phrase, Weak};
use stonewear_lab::Lab;
use stonewear_lab::refusal::Problem;

/// A form of the account pages with the largest that can hang on it: what was typed elsewhere before
/// somebody had to sign in again.
pub(crate) const LARGEST: usize = 4 * crate::app::LARGEST_FORM;

/// The routes of all of it.
pub(crate) fn routes() -> Router<App> {
    Router::new()
        .route(
            "/sign-in",
            get(sign_in::page)
                .post(sign_in::sign_in)
                .layer(axum::extract::DefaultBodyLimit::max(LARGEST)),
        )
        .route("/sign-out", post(sign_in::sign_out))
        .route("/account/open", get(opening::page).post(opening::open))
        .route("/account/first", get(opening::first_page).post(opening::open_first))
        .merge(passkeys::routes())
        .merge(organisation::routes())
        .route("/account/phrase", post(own::change_phrase))
        .route("/accounts", get(owners::page).post(owners::change))
}

/// Where somebody signs in, to come back to `back`; `person` is offered by initials.
pub(crate) fn sign_in_path(back: &str, person: &str) -> String {
    let mut query = form_urlencoded::Serializer::new(String::new());
    if !person.is_empty() {
        query.append_pair("person", person);
    }
    format!("/sign-in?{}", query.append_pair("back", back).finish())
}

/// Where an organisation is asked who it is, to come back to `back`; `again`, to sign.
pub(crate) fn organisation_path(back: &str, again: bool) -> String {
    let mut query = form_urlencoded::Serializer::new(String::new());
    if again {
        query.append_pair("again", "yes");
    }
    format!("/sign-in/organisation?{}", query.append_pair("back", back).finish())
}

/// What a form of these pages sent. It makes no request of the laboratory, so `form` takes the place of
/// its name.
fn typed(form: &'static str, body: &Bytes) -> Typed {
    let mut typed = Typed::sent(fields(body));
    form.clone_into(&mut typed.request);
    typed
}

/// Initials as they are kept, however they were typed.
fn initials(typed: &str) -> String {
    typed.trim().to_uppercase()
}

/// A seat of nobody, in the language of the browser.
fn nobody(headers: &HeaderMap) -> Seat {
    Seat { code: String::new(), ..seat(headers) }
}

/// A problem at a field.
fn at(field: &str, rule: &'static str, message: &str, hint: &str) -> Problem {
    let (field, hint) = (field.to_owned(), hint.to_owned());
    Problem { field, hint, ..problem(rule, message.to_owned()) }
}

/// A phrase that somebody chose, typed twice.
fn chosen(lab: &Lab, person: &str, typed: &Typed) -> Result<Phrase, Vec<Problem>> {
    let field = |name: &str| typed.sent_field(name).unwrap_or_default();
    let phrase = Phrase::read(field("phrase"));
    let name = lab.people.get(person).map(|person| person.name.as_str()).unwrap_or_default();
    let laboratory =
        lab.identity.as_ref().map(|identity| identity.name.as_str()).unwrap_or_default();
    let mut problems = Vec::new();
    if let Err(weak) = phrase.judge(&[name, laboratory, person, "stonewear"]) {
        problems.push(at("phrase", "phrase-weak", weak.in_words(), better(weak)));
    }
    if Phrase::read(field("again")) != phrase {
        let words = "the two pass phrases are not the same";
        problems.push(at("again", "phrase-differs", words, "type both again"));
    }
    if problems.is_empty() { Ok(phrase) } else { Err(problems) }
}

/// What would be right.
fn better(weak: Weak) -> &'static str {
    match weak {
        Weak::TooShort => "three or four words that only you put together are enough",
        Weak::TooLong => "take fewer words",
        Weak::Commonest | Weak::Repeats | Weak::Runs | Weak::Names => {
            "take some words that only you put together"
        }
    }
}
