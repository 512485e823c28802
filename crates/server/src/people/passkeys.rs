//! Passkeys: added, named and removed on a page of one's own; used to sign in, and to sign. What a browser
//! must do stands in `passkey.js`; what it answers is judged in [`stonewear_access::webauthn`].

use super::sign_in::{self, go_in, host};
use super::{at, typed};
use crate::app::{App, cookie, hold_secret, problem, seat};
use crate::door::Guest;
use crate::form::Typed;
use crate::page;
use crate::signing::{self, in_words};
use axum::body::Bytes;
use axum::extract::{DefaultBodyLimit, Extension, RawForm, State};
use axum::http::header::CONTENT_TYPE;
use axum::http::{HeaderMap, StatusCode, Uri};
use axum::response::{Html, IntoResponse, Redirect, Response};
use axum::routing::{get, post};
use serde_json::{Value, json};
use stonewear_access::challenge::{ANSWERED_WITHIN, Purpose};
use stonewear_access::passkey::{Asking, Refused, of_session};
use stonewear_access::webauthn::{ALGORITHMS, KeyMade, KeyUsed};
use stonewear_access::{AccessError, Browser, Passkey, Session, SignedIn, Site};
use stonewear_lab::refusal::Problem;
use stonewear_runtime::Clock;

/// Where one's own are.
const PATH: &str = "/account/passkeys";
/// The field of a form that carries what a passkey answered.
const ANSWER: &str = "passkey";
/// A question before somebody has signed in is held by their browser for so long.
const ASKING_SECONDS: u32 = 600;

pub(super) fn routes() -> axum::Router<App> {
    axum::Router::new()
        .route(PATH, get(page).post(change))
        .route("/account/passkeys/question", post(ask_for_new))
        .route("/account/prove/question", post(ask_to_prove))
        .route("/account/prove", post(prove))
        .route("/sign-in/passkey/question", post(ask_to_sign_in))
        .route(
            "/sign-in/passkey",
            get(|| async { Redirect::to("/sign-in") })
                .post(sign_in)
                .layer(DefaultBodyLimit::max(super::LARGEST)),
        )
}

/// `GET /account/passkeys`
async fn page(
    State(app): State<App>,
    Extension(guest): Extension<Guest>,
    headers: HeaderMap,
) -> Response {
    shown(&app, &guest, &headers, &Typed::default()).await
}

async fn shown(app: &App, guest: &Guest, headers: &HeaderMap, typed: &Typed) -> Response {
    let Some(session) = guest.session.clone() else {
        return Redirect::to("/who").into_response();
    };
    let read = app.with_access(move |access| access.passkeys(&session.person)).await;
    let passkeys = match read {
        Ok(passkeys) => passkeys,
        Err(words) => return (StatusCode::SERVICE_UNAVAILABLE, words).into_response(),
    };
    let own = page::passkeys::Own {
        passkeys,
        site: app.reach.site(host(headers)),
        by_name: by_name(host(headers)),
    };
    let laboratory = app.read();
    let uri = Uri::from_static(PATH);
    let page = page::inside(&laboratory, &uri, &seat(headers), typed, |view| {
        page::passkeys::own(view, &own)
    });
    let is_refused = !typed.problems.is_empty();
    let status = if is_refused { StatusCode::UNPROCESSABLE_ENTITY } else { StatusCode::OK };
    (status, Html(page.into_string())).into_response()
}

/// The same page of this machine by its name, where it was opened by its number.
fn by_name(host: &str) -> Option<String> {
    let port = host.strip_prefix("127.0.0.1").or_else(|| host.strip_prefix("[::1]"))?;
    Some(format!("http://localhost{port}{PATH}"))
}

/// `POST /account/passkeys`: adds one, names one, removes one.
async fn change(
    State(app): State<App>,
    Extension(guest): Extension<Guest>,
    headers: HeaderMap,
    RawForm(body): RawForm,
) -> Response {
    let mut typed = typed("", &body);
    typed.request = typed.sent_field("do").unwrap_or_default().to_owned();
    match changed(&app, &guest, &headers, &typed).await {
        Ok(()) => Redirect::to(PATH).into_response(),
        Err(problems) => {
            typed.problems = problems;
            shown(&app, &guest, &headers, &typed).await
        }
    }
}

async fn changed(
    app: &App,
    guest: &Guest,
    headers: &HeaderMap,
    typed: &Typed,
) -> Result<(), Vec<Problem>> {
    let field = |name: &str| typed.sent_field(name).unwrap_or_default().to_owned();
    let session = session(guest).map_err(|problem| vec![problem])?;
    signing::prove(app, guest, &field(signing::FIELD)).await?;
    let (name, address, now) = (field("name"), guest.address.clone(), Clock::Machine.now());
    let number = field("number").parse::<i64>().unwrap_or_default();
    let refused = match &*typed.request {
        "add" => {
            let site = site(app, headers).map_err(|problem| vec![problem])?;
            if name.trim().is_empty() {
                let hint = "such as “phone” or “blue stick”";
                return Err(vec![at("name", "name-missing", "the passkey has no name", hint)]);
            }
            let answer = KeyMade::read(&field(ANSWER)).map_err(|_| vec![nothing_came()])?;
            let add = app.with_access(move |access| {
                access.add_passkey(&session, (&name, &answer), &site, &address, now)
            });
            add.await.map(|added| added.err().map(|refused| refusal(&refused)))
        }
        "name" | "remove" => {
            if number == 0 {
                let words = "no passkey was chosen";
                return Err(vec![at("number", "passkey-missing", words, "choose one of the list")]);
            }
            let is_removed = typed.request == "remove";
            let make = app.with_access(move |access| {
                let which = (session.person.as_str(), number);
                let done = if is_removed {
                    access.remove_passkey(which, (&session.person, &address), now)
                } else {
                    access.name_passkey(which, &name, &address, now)
                };
                match done {
                    // What cannot be done is an answer.
                    Err(AccessError::Wrong(words)) => Ok(Some(words)),
                    other => other.map(|()| None),
                }
            });
            make.await.map(|wrong| wrong.map(|words| problem("passkey", words)))
        }
        _ => Ok(Some(problem("input-form", "the form is none of ours".to_owned()))),
    };
    match refused {
        Ok(None) => Ok(()),
        Ok(Some(problem)) => Err(vec![problem]),
        Err(words) => Err(vec![problem("not-recorded", words)]),
    }
}

fn session(guest: &Guest) -> Result<Session, Problem> {
    let session = guest.session.clone();
    session.ok_or_else(|| problem("signed-out", "sign in first".to_owned()))
}

fn site(app: &App, headers: &HeaderMap) -> Result<Site, Problem> {
    app.reach.site(host(headers)).ok_or_else(|| {
        let words = "this page was opened by a number, and passkeys are made for names";
        let hint = "open it by the name of the machine; on the machine itself by localhost";
        at("", "passkey-name", words, hint)
    })
}

/// The form came without an answer.
fn nothing_came() -> Problem {
    let hint = "the page needs its script for it, and the device a lock of its own; try again";
    at("", "passkey-missing", "no passkey answered", hint)
}

/// Why a passkey is not taken, for whoever holds it.
fn refusal(refused: &Refused) -> Problem {
    let hint = "try again; whoever has lost it signs in with the pass phrase";
    match refused {
        Refused::Wait(left) => {
            let hint = format!("try again in {}", in_words(*left));
            at("", "passkey-wait", "too many wrong passkeys were used", &hint)
        }
        Refused::Unknown => at("", "passkey-unknown", "this passkey is not known here", hint),
        Refused::Fault(_) | Refused::NotAdded(_) => {
            let why = stonewear_access::passkey::in_words(refused);
            at("", "passkey-refused", &why, hint)
        }
    }
}

/// `POST /account/passkeys/question`: what a new passkey is made from.
async fn ask_for_new(
    State(app): State<App>,
    Extension(guest): Extension<Guest>,
    headers: HeaderMap,
    RawForm(body): RawForm,
) -> Response {
    let typed = typed("add", &body);
    let phrase = typed.sent_field(signing::FIELD).unwrap_or_default();
    let (Ok(session), Ok(site)) = (session(&guest), site(&app, &headers)) else {
        return StatusCode::FORBIDDEN.into_response();
    };
    // The page says what is wrong when the form is sent.
    if signing::prove(&app, &guest, phrase).await.is_err() {
        return StatusCode::UNPROCESSABLE_ENTITY.into_response();
    }
    let person = session.person.clone();
    let name = {
        let laboratory = app.read();
        let known = laboratory.lab().people.get(person.as_str());
        known.map_or_else(|| person.clone(), |known| known.name.clone())
    };
    let laboratory = app.read().lab().identity.as_ref().map(|identity| identity.name.clone());
    let address = guest.address.clone();
    let asked = app.with_access(move |access| {
        let asking =
            Asking { purpose: Purpose::Add, holder: &of_session(&session), address: &address };
        let challenge = access.challenge(&asking, Clock::Machine.now())?;
        let (handle, known) = (access.handle(&person)?, access.passkeys(&person)?);
        Ok(json!({
            "challenge": base64(&challenge),
            "rp": { "id": site.name, "name": laboratory.unwrap_or_default() },
            "user": { "id": base64(&handle), "name": person, "displayName": name },
            "pubKeyCredParams": ALGORITHMS.map(|alg| json!({ "type": "public-key", "alg": alg })),
            "excludeCredentials": of(&known, &site),
            "authenticatorSelection":
                { "residentKey": "required", "requireResidentKey": true, "userVerification": "required" },
            "attestation": "none",
            "timeout": ANSWERED_WITHIN.as_millis() as u64,
        }))
    });
    question(asked.await)
}

/// `POST /account/prove/question`: one of the person's own is to be used.
async fn ask_to_prove(
    State(app): State<App>,
    Extension(guest): Extension<Guest>,
    headers: HeaderMap,
) -> Response {
    let (Ok(session), Ok(site)) = (session(&guest), site(&app, &headers)) else {
        return StatusCode::FORBIDDEN.into_response();
    };
    let address = guest.address.clone();
    let asked = app.with_access(move |access| {
        let asking =
            Asking { purpose: Purpose::Prove, holder: &of_session(&session), address: &address };
        let challenge = access.challenge(&asking, Clock::Machine.now())?;
        let known = access.passkeys(&session.person)?;
        Ok(asked_to_use(&challenge, &site, &of(&known, &site)))
    });
    question(asked.await)
}

/// `POST /account/prove`: what follows is signed by whoever holds the session.
async fn prove(
    State(app): State<App>,
    Extension(guest): Extension<Guest>,
    headers: HeaderMap,
    RawForm(body): RawForm,
) -> Response {
    let typed = typed("prove", &body);
    let answer = KeyUsed::read(typed.sent_field(ANSWER).unwrap_or_default());
    let (Ok(session), Ok(site), Ok(answer)) = (session(&guest), site(&app, &headers), answer)
    else {
        return StatusCode::UNPROCESSABLE_ENTITY.into_response();
    };
    let proved = app.with_access(move |access| {
        let now = Clock::Machine.now();
        access.prove_by_passkey(&session, &answer, &site, &guest.address, now)
    });
    match proved.await {
        Ok(Ok(())) => StatusCode::NO_CONTENT.into_response(),
        Ok(Err(_)) => StatusCode::UNPROCESSABLE_ENTITY.into_response(),
        Err(words) => (StatusCode::SERVICE_UNAVAILABLE, words).into_response(),
    }
}

/// `POST /sign-in/passkey/question`: any passkey of this page is to be used. The browser holds what the
/// question is bound to.
async fn ask_to_sign_in(
    State(app): State<App>,
    Extension(guest): Extension<Guest>,
    headers: HeaderMap,
) -> Response {
    let Ok(site) = site(&app, &headers) else { return StatusCode::FORBIDDEN.into_response() };
    let asked = app.with_access(move |access| {
        let holder = stonewear_access::secret()?;
        let asking = Asking { purpose: Purpose::SignIn, holder: &holder, address: &guest.address };
        let challenge = access.challenge(&asking, Clock::Machine.now())?;
        Ok((asked_to_use(&challenge, &site, &[]), holder))
    });
    match asked.await {
        Ok((asked, holder)) => {
            let mut response = question(Ok(asked));
            hold_secret(&app, &mut response, &app.cookies.asking, &holder, ASKING_SECONDS);
            response
        }
        Err(words) => question(Err(words)),
    }
}

/// `POST /sign-in/passkey`
async fn sign_in(
    State(app): State<App>,
    Extension(guest): Extension<Guest>,
    headers: HeaderMap,
    RawForm(body): RawForm,
) -> Response {
    let mut typed = typed("sign-in", &body);
    match let_in(&app, &guest, &headers, typed.sent_field(ANSWER).unwrap_or_default()).await {
        Ok(came) => {
            let mut response = go_in(&app, &headers, &came, &typed);
            hold_secret(&app, &mut response, &app.cookies.asking, "", 0);
            response
        }
        Err(problem) => {
            typed.problems = vec![problem];
            sign_in::shown(&app, &headers, typed, StatusCode::UNPROCESSABLE_ENTITY).await
        }
    }
}

async fn let_in(
    app: &App,
    guest: &Guest,
    headers: &HeaderMap,
    answer: &str,
) -> Result<SignedIn, Problem> {
    let site = site(app, headers)?;
    let answer = KeyUsed::read(answer).map_err(|_| nothing_came())?;
    let held = |name: &str| cookie(headers, name).to_owned();
    let (device, before) = (held(&app.cookies.device), held(&app.cookies.session));
    let (asking, browser) = (held(&app.cookies.asking), sign_in::browser(headers));
    let address = guest.address.clone();
    let tried = app.with_access(move |access| {
        let from =
            Browser { device: &device, before: &before, address: &address, browser: &browser };
        access.sign_in_by_passkey(&answer, (&asking, &site), &from, Clock::Machine.now())
    });
    match tried.await {
        Ok(Ok(came)) => Ok(came),
        Ok(Err(refused)) => Err(refusal(&refused)),
        Err(words) => Err(problem("not-recorded", words)),
    }
}

fn asked_to_use(challenge: &[u8], site: &Site, allowed: &[Value]) -> Value {
    json!({
        "challenge": base64(challenge),
        "rpId": site.name,
        "allowCredentials": allowed,
        "userVerification": "required",
        "timeout": ANSWERED_WITHIN.as_millis() as u64,
    })
}

/// Those for this page, as a browser is told of them.
fn of(known: &[Passkey], site: &Site) -> Vec<Value> {
    let here = known.iter().filter(|passkey| passkey.site == site.name);
    here.map(|passkey| json!({ "type": "public-key", "id": base64(&passkey.id) })).collect()
}

fn base64(bytes: &[u8]) -> String {
    stonewear_access::webauthn::written(bytes)
}

fn question(asked: Result<Value, String>) -> Response {
    match asked {
        Ok(asked) => {
            let json = [(CONTENT_TYPE, "application/json")];
            (json, Bytes::from(asked.to_string())).into_response()
        }
        Err(words) => (StatusCode::SERVICE_UNAVAILABLE, words).into_response(),
    }
}
