//! A form that the page's own script sends, at once or after the line was down.
//!
//! The script must know for certain what became of an entry before it forgets it. So the outcome
//! stands in a header of its own: whatever else answers at this address, such as a proxy or
//! another program, is not taken for the laboratory. An entry that waited names who made it and for
//! which laboratory: another person may sit there by then, and another laboratory may answer.

use crate::app::{App, problem};
use crate::form::Typed;
use crate::look;
use crate::page::{self, Seat};
use crate::signing::Signing;
use axum::http::header::{CONTENT_TYPE, HeaderName, HeaderValue};
use axum::http::{HeaderMap, StatusCode};
use axum::response::{IntoResponse, Response};
use jiff::Timestamp;
use stonewear_lab::refusal::Problem;
use stonewear_runtime::{OpenLaboratory, SubmitError, is_key, late_key};

/// The script sets it; a page of another origin cannot without being asked about it first.
const BY_SCRIPT: &str = "stonewear-sent";
const OUTCOME: HeaderName = HeaderName::from_static("stonewear-outcome");
const ONWARD: HeaderName = HeaderName::from_static("stonewear-onward");

/// Whether the page's script sends this and reads the answer.
pub(crate) fn is_by_script(headers: &HeaderMap) -> bool {
    headers.contains_key(BY_SCRIPT)
}

/// Who made the entry: who sat there then, whoever sits there now.
///
/// While nobody proves who they are, the name in the form is worth as much as the cookie: both are what
/// this browser says. Only the page's own script is heard, and nobody unknown. Where people have accounts
/// an entry is taken from nobody but who has signed in here: what somebody else typed waits for them.
///
/// # Errors
/// Why it cannot be taken as an entry of this laboratory.
pub(crate) fn author(
    laboratory: &OpenLaboratory,
    seat: Seat,
    typed: &Typed,
) -> Result<Seat, Problem> {
    if let Some(meant) = typed.sent_field("_laboratory")
        && laboratory.first_hash().as_deref() != Some(meant)
    {
        let message = "this was entered for another laboratory than the one that answers here";
        let hint = "open that laboratory again, or withdraw it";
        return Err(Problem {
            hint: hint.to_owned(),
            ..problem("other-laboratory", message.to_owned())
        });
    }
    match typed.sent_field("_by") {
        None | Some("") => Ok(seat),
        Some(code) if code == seat.code => Ok(seat),
        Some(code) if seat.signing != Signing::Open => {
            let message = format!("{code} made this entry, and has not signed in here");
            let hint = format!("it is sent when {code} signs in at this tablet");
            Err(Problem { hint, ..problem("other-person", message) })
        }
        Some(code) if laboratory.lab().people.contains_key(code) => {
            Ok(Seat { code: code.to_owned(), ..seat })
        }
        Some(code) => {
            let message = format!("nobody here has the initials “{code}”");
            let hint = "say who is at the bench, and enter it again".to_owned();
            Err(Problem { hint, ..problem("person-unknown", message) })
        }
    }
}

/// The key under which the entry is kept. One that waited carries when it was made: the journal
/// tells when it arrived.
///
/// # Errors
/// When the journal cannot be read.
pub(crate) fn key(
    laboratory: &OpenLaboratory,
    typed: &Typed,
) -> Result<Option<String>, SubmitError> {
    let Some(key) = typed.sent_field("_key").filter(|key| !key.is_empty()) else {
        return Ok(None);
    };
    let Some(made) = typed.sent_field("_made").and_then(|made| made.parse::<Timestamp>().ok())
    else {
        return Ok(Some(key.to_owned()));
    };
    // It may have arrived before, under the plain key or this one, and only its answer was lost.
    let kept = laboratory.keyed(key)?.into_iter().map(|(_, kept)| kept);
    let arrived = kept.into_iter().find(|kept| is_key(kept, key));
    Ok(Some(arrived.unwrap_or_else(|| late_key(key, made))))
}

/// It is on the disk; the page goes on there.
pub(crate) fn recorded(onward: &str) -> Response {
    let mut response = StatusCode::OK.into_response();
    response.headers_mut().insert(OUTCOME, HeaderValue::from_static("recorded"));
    if let Ok(onward) = HeaderValue::from_str(onward) {
        response.headers_mut().insert(ONWARD, onward);
    }
    response
}

/// The session has ended: the entry waits at the tablet until its person has signed in again.
pub(crate) fn signed_out() -> Response {
    let mut response = StatusCode::FORBIDDEN.into_response();
    response.headers_mut().insert(OUTCOME, HeaderValue::from_static("signed-out"));
    response
}

/// The laboratory says no: why, as a piece of the page.
pub(crate) fn refused(problems: &[Problem]) -> Response {
    // Something that is no decision of the laboratory may go well the next time.
    let waits = ["not-recorded", "other-person"];
    let is_decided = problems.iter().all(|problem| !waits.contains(&problem.rule));
    let (status, outcome) = if is_decided {
        (StatusCode::UNPROCESSABLE_ENTITY, "refused")
    } else {
        (StatusCode::SERVICE_UNAVAILABLE, "not-recorded")
    };
    let shown: Vec<look::Problem<'_>> = problems.iter().map(page::problem_alone).collect();
    let words = maud::html! { ul { @for problem in &shown {
        li { (problem.message) @if !problem.hint.is_empty() { " " (problem.hint) } }
    } } };
    let kind = (CONTENT_TYPE, HeaderValue::from_static("text/html; charset=utf-8"));
    let outcome = (OUTCOME, HeaderValue::from_static(outcome));
    (status, [kind, outcome], words.into_string()).into_response()
}

/// What would become of it, without recording it: shown at its page, as typed.
pub(crate) fn is_only_looked_at(typed: &Typed) -> bool {
    typed.sent_field("_look").is_some()
}

/// Why an entry that is only looked at is not recorded.
pub(crate) fn looked_at(app: &App, by: &Seat, typed: &Typed) -> Vec<Problem> {
    let considered = match typed.request() {
        Err(words) => return vec![problem("input-form", words)],
        Ok(request) => app.read().consider(&by.code, &request),
    };
    match considered {
        Err(refusal) => refusal.problems,
        Ok(_) => vec![Problem {
            hint: "look at it and send it once more".to_owned(),
            ..problem("not-sent", "nothing speaks against it any longer".to_owned())
        }],
    }
}
