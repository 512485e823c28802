//! One's own account: who works here now, another person, another phrase.

use super::sign_in::people_of_device;
use super::{chosen, typed};
use crate::app::{App, problem, seat};
use crate::door::Guest;
use crate::form::Typed;
use crate::page;
use crate::page::accounts::Own;
use crate::signing;
use axum::extract::{Extension, RawForm, State};
use axum::http::{HeaderMap, StatusCode, Uri};
use axum::response::{Html, IntoResponse, Redirect, Response};
use stonewear_lab::refusal::Problem;
use stonewear_runtime::Clock;

/// The form that changes one's phrase.
pub(crate) const CHANGE: &str = "change-phrase";

/// `GET /who`, where people have accounts.
pub(crate) async fn own(
    State(app): State<App>,
    Extension(guest): Extension<Guest>,
    uri: Uri,
    headers: HeaderMap,
) -> Response {
    shown(&app, &guest, &uri, &headers, &Typed::default()).await
}

async fn shown(
    app: &App,
    guest: &Guest,
    uri: &Uri,
    headers: &HeaderMap,
    typed: &Typed,
) -> Response {
    let known = people_of_device(app, headers).await;
    let here = guest.session.clone();
    let read = app
        .with_access(move |access| {
            let person = here.as_ref().map(|here| here.person.clone()).unwrap_or_default();
            let sessions = access.sessions(Clock::Machine.now())?;
            let is_owner = access.account(&person)?.is_some_and(|account| account.is_owner);
            let mine = sessions.into_iter().filter(|session| session.person == person).collect();
            Ok(Own { here: here.map_or(0, |here| here.number), is_owner, sessions: mine, known })
        })
        .await;
    let own = match read {
        Ok(own) => own,
        Err(words) => return (StatusCode::SERVICE_UNAVAILABLE, words).into_response(),
    };
    let laboratory = app.read();
    let page = page::inside(&laboratory, uri, &seat(headers), typed, |view| {
        page::accounts::own(view, &own)
    });
    let is_refused = !typed.problems.is_empty();
    let status = if is_refused { StatusCode::UNPROCESSABLE_ENTITY } else { StatusCode::OK };
    (status, Html(page.into_string())).into_response()
}

/// `POST /account/phrase`
pub(super) async fn change_phrase(
    State(app): State<App>,
    Extension(guest): Extension<Guest>,
    headers: HeaderMap,
    RawForm(body): RawForm,
) -> Response {
    let mut typed = typed(CHANGE, &body);
    match changed(&app, &guest, &typed).await {
        Ok(()) => Redirect::to("/who").into_response(),
        Err(problems) => {
            typed.problems = problems;
            shown(&app, &guest, &Uri::from_static("/who"), &headers, &typed).await
        }
    }
}

async fn changed(app: &App, guest: &Guest, typed: &Typed) -> Result<(), Vec<Problem>> {
    let session = guest.session.clone();
    let session = session.ok_or_else(|| vec![problem("signed-out", "sign in first".to_owned())])?;
    let phrase = chosen(app.read().lab(), &session.person, typed)?;
    signing::prove(app, guest, typed.sent_field(signing::FIELD).unwrap_or_default()).await?;
    let address = guest.address.clone();
    let change = app.with_phrases(move |access| {
        access.change_phrase(&session, &phrase, &address, Clock::Machine.now())
    });
    change.await.map_err(|words| vec![problem("not-recorded", words)])
}
