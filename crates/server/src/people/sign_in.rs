//! Signing in and out.

use super::{initials, nobody, typed};
use crate::app::{App, cookie, fields, hold_secret, is_our_path, problem, render, seat};
use crate::door::Guest;
use crate::form::Typed;
use crate::page::sign_in::Ways;
use crate::page::{self, Seat};
use crate::signing::{Signing, in_words};
use axum::body::Bytes;
use axum::extract::{Extension, RawForm, State};
use axum::http::header::{HOST, USER_AGENT};
use axum::http::{HeaderMap, StatusCode, Uri};
use axum::response::{Html, IntoResponse, Redirect, Response};
use stonewear_access::session::Which;
use stonewear_access::{Attempt, NotIn, Phrase, SignedIn, device};
use stonewear_lab::refusal::Problem;
use stonewear_runtime::Clock;

/// The form that signs in.
const SIGN_IN: &str = "sign-in";
/// The secret of a session is held as long as the longest session; the laboratory ends it before.
const SESSION_SECONDS: u32 = 30 * 86_400;

/// `GET /sign-in?person=DO&back=/samples`
pub(super) async fn page(
    State(app): State<App>,
    Extension(guest): Extension<Guest>,
    uri: Uri,
    headers: HeaderMap,
) -> Response {
    if !guest.has_accounts {
        return Redirect::to("/who").into_response();
    }
    let asked = fields(&Bytes::from(uri.query().unwrap_or_default().to_owned()));
    shown(&app, &headers, Typed::sent(asked), StatusCode::OK).await
}

/// The same for whoever sent a form without a session: it is kept on the page, and shown again after.
pub(crate) async fn sign_in_with_form(
    app: &App,
    headers: &HeaderMap,
    path: &str,
    form: &str,
) -> Response {
    let sent = [("_again", path), ("_form", form), ("back", path)];
    let sent = sent.map(|(name, value)| (name.to_owned(), value.to_owned()));
    shown(app, headers, Typed::sent(sent.into()), StatusCode::FORBIDDEN).await
}

/// The page with what was typed and what is wrong with it.
pub(super) async fn shown(
    app: &App,
    headers: &HeaderMap,
    mut typed: Typed,
    status: StatusCode,
) -> Response {
    SIGN_IN.clone_into(&mut typed.request);
    let known = people_of_device(app, headers).await;
    let uri = Uri::from_static("/sign-in");
    let ways = Ways {
        passkey: app.reach.site(host(headers)).is_some(),
        organisation: app.organisation.is_some(),
    };
    let laboratory = app.read();
    let page = page::outside(&laboratory, &uri, &nobody(headers), &typed, |view| {
        page::sign_in::sign_in(view, &known, ways)
    });
    (status, Html(page.into_string())).into_response()
}

/// Who has signed in at this device before, by initials.
pub(super) async fn people_of_device(app: &App, headers: &HeaderMap) -> Vec<String> {
    let secret = cookie(headers, &app.cookies.device).to_owned();
    let found = app.with_access(move |access| access.device(&secret, Clock::Machine.now())).await;
    found.ok().flatten().map(|device| device.people).unwrap_or_default()
}

/// `POST /sign-in`
pub(super) async fn sign_in(
    State(app): State<App>,
    Extension(guest): Extension<Guest>,
    headers: HeaderMap,
    RawForm(body): RawForm,
) -> Response {
    let mut typed = typed(SIGN_IN, &body);
    let field = |name: &str| typed.sent_field(name).unwrap_or_default().to_owned();
    match let_in(&app, &guest, &headers, &initials(&field("person")), &field("phrase")).await {
        Ok(came) => go_in(&app, &headers, &came, &typed),
        Err(problem) => {
            typed.problems = vec![problem];
            shown(&app, &headers, typed, StatusCode::UNPROCESSABLE_ENTITY).await
        }
    }
}

/// Whoever came in goes on to where they were.
pub(super) fn go_in(app: &App, headers: &HeaderMap, came: &SignedIn, typed: &Typed) -> Response {
    let back = typed.sent_field("back").filter(|back| is_our_path(back)).unwrap_or("/");
    let mut response =
        again(app, headers, came, typed).unwrap_or_else(|| Redirect::to(back).into_response());
    hold(app, &mut response, came);
    response
}

/// The host that a request names.
pub(super) fn host(headers: &HeaderMap) -> &str {
    headers.get(HOST).and_then(|host| host.to_str().ok()).unwrap_or_default()
}

/// What a browser says that it is.
pub(super) fn browser(headers: &HeaderMap) -> String {
    let said = headers.get(USER_AGENT).and_then(|value| value.to_str().ok());
    said.unwrap_or_default().to_owned()
}

/// Lets somebody in, or says why not. It is not said whether the name or the phrase is wrong.
pub(super) async fn let_in(
    app: &App,
    guest: &Guest,
    headers: &HeaderMap,
    person: &str,
    phrase: &str,
) -> Result<SignedIn, Problem> {
    let held = |name: &str| cookie(headers, name).to_owned();
    let (device, before) = (held(&app.cookies.device), held(&app.cookies.session));
    let (person, browser) = (person.to_owned(), browser(headers));
    let (address, phrase) = (guest.address.clone(), Phrase::read(phrase));
    let tried = app
        .with_phrases(move |access| {
            let attempt = Attempt {
                person: &person,
                phrase: &phrase,
                device: &device,
                before: &before,
                address: &address,
                browser: &browser,
            };
            access.sign_in(&attempt, Clock::Machine.now())
        })
        .await;
    let words = match tried {
        Ok(Ok(came)) => return Ok(came),
        Ok(Err(NotIn::Wrong)) => {
            let hint = "type both again, or ask an owner of accounts for a new code";
            let words = "these initials and this pass phrase do not belong together";
            return Err(super::at("phrase", "sign-in-wrong", words, hint));
        }
        Ok(Err(NotIn::Wait(left))) => {
            let hint = format!("try again in {}", in_words(left));
            let words = "too many wrong pass phrases were typed";
            return Err(super::at("phrase", "sign-in-wait", words, &hint));
        }
        Err(words) => words,
    };
    Err(problem("not-recorded", words))
}

/// Gives the browser what it holds from now on.
pub(super) fn hold(app: &App, response: &mut Response, came: &SignedIn) {
    hold_secret(app, response, &app.cookies.session, &came.session, SESSION_SECONDS);
    if let Some(secret) = &came.device {
        let seconds = u32::try_from(device::KNOWN_FOR.as_secs()).unwrap_or(u32::MAX);
        hold_secret(app, response, &app.cookies.device, secret, seconds);
    }
}

/// The form that was sent before somebody had to sign in: shown again as it was typed. Nothing of it is
/// recorded, since it may have been typed by somebody else.
fn again(app: &App, headers: &HeaderMap, came: &SignedIn, typed: &Typed) -> Option<Response> {
    let form = typed.sent_field("_form").filter(|form| !form.is_empty())?;
    let path = typed.sent_field("_again").filter(|path| is_our_path(path))?;
    let uri: Uri = path.parse().ok()?;
    let mut kept = Typed::sent(fields(&Bytes::from(form.to_owned())));
    let seat = Seat { code: came.person.clone(), signing: Signing::Proved, ..seat(headers) };
    let hint = "look at it and send it once more".to_owned();
    let words = "nothing was recorded while nobody was signed in".to_owned();
    kept.problems = vec![Problem { hint, ..problem("not-sent", words) }];
    let shown = render(&app.read(), &uri, &seat, &kept, StatusCode::UNPROCESSABLE_ENTITY);
    (shown.status() == StatusCode::UNPROCESSABLE_ENTITY).then_some(shown)
}

/// `POST /sign-out`: here, or everywhere.
pub(super) async fn sign_out(
    State(app): State<App>,
    Extension(guest): Extension<Guest>,
    RawForm(body): RawForm,
) -> Response {
    let is_everywhere = fields(&body).contains_key("everywhere");
    if let Some(session) = guest.session {
        let done = app
            .with_access(move |access| {
                let (person, now) = (session.person.as_str(), Clock::Machine.now());
                if is_everywhere {
                    access.end_sessions(&Which::AllOf(person), person, &guest.address, now)?;
                    return Ok(());
                }
                access.sign_out(&session, &guest.address, now)
            })
            .await;
        if let Err(words) = done {
            return (StatusCode::SERVICE_UNAVAILABLE, words).into_response();
        }
    }
    let mut response = Redirect::to("/sign-in").into_response();
    hold_secret(&app, &mut response, &app.cookies.session, "", 0);
    response
}
