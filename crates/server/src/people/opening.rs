//! Opening an account with a one-time code: one that an owner gave, or the first of all.

use super::{at, chosen, initials, nobody, sign_in, typed};
use crate::app::{App, problem};
use crate::door::Guest;
use crate::form::Typed;
use crate::page;
use crate::signing::in_words;
use axum::body::Bytes;
use axum::extract::{Extension, RawForm, State};
use axum::http::{HeaderMap, StatusCode, Uri};
use axum::response::{Html, IntoResponse, Redirect, Response};
use stonewear_access::{NotOpened, Opening};
use stonewear_lab::fact::Right;
use stonewear_lab::refusal::Problem;
use stonewear_runtime::Clock;

/// The form that opens an account.
const OPEN: &str = "open-account";

/// `GET /account/open`
pub(super) async fn page(State(app): State<App>, uri: Uri, headers: HeaderMap) -> Response {
    let asked = crate::app::fields(&Bytes::from(uri.query().unwrap_or_default().to_owned()));
    let mut typed = Typed::sent(asked);
    OPEN.clone_into(&mut typed.request);
    shown(&app, &headers, false, &typed)
}

/// `GET /account/first`
pub(super) async fn first_page(
    State(app): State<App>,
    Extension(guest): Extension<Guest>,
    headers: HeaderMap,
) -> Response {
    if guest.has_accounts {
        return Redirect::to("/who").into_response();
    }
    shown(&app, &headers, true, &Typed::default())
}

fn shown(app: &App, headers: &HeaderMap, is_first: bool, typed: &Typed) -> Response {
    let laboratory = app.read();
    let page = if is_first {
        let uri = Uri::from_static("/account/first");
        let seat = crate::app::seat(headers);
        page::inside(&laboratory, &uri, &seat, typed, |view| {
            page::sign_in::open_first(view, app.first_code.is_some())
        })
    } else {
        let uri = Uri::from_static("/account/open");
        page::outside(&laboratory, &uri, &nobody(headers), typed, page::sign_in::open)
    };
    let is_refused = !typed.problems.is_empty();
    let status = if is_refused { StatusCode::UNPROCESSABLE_ENTITY } else { StatusCode::OK };
    (status, Html(page.into_string())).into_response()
}

/// `POST /account/open`
pub(super) async fn open(
    State(app): State<App>,
    Extension(guest): Extension<Guest>,
    headers: HeaderMap,
    RawForm(body): RawForm,
) -> Response {
    opened(&app, &guest, &headers, false, typed(OPEN, &body)).await
}

/// `POST /account/first`
pub(super) async fn open_first(
    State(app): State<App>,
    Extension(guest): Extension<Guest>,
    headers: HeaderMap,
    RawForm(body): RawForm,
) -> Response {
    opened(&app, &guest, &headers, true, typed(OPEN, &body)).await
}

/// Opens the account and signs its person in, or shows the form again with what is wrong.
async fn opened(
    app: &App,
    guest: &Guest,
    headers: &HeaderMap,
    is_first: bool,
    mut typed: Typed,
) -> Response {
    let field = |name: &str| typed.sent_field(name).unwrap_or_default().to_owned();
    let person = initials(&field("person"));
    let came = match open_it(app, guest, is_first, &person, &typed).await {
        Ok(()) => sign_in::let_in(app, guest, headers, &person, &field("phrase"))
            .await
            .map_err(|problem| vec![problem]),
        Err(problems) => Err(problems),
    };
    match came {
        Ok(came) => {
            let mut response =
                Redirect::to(if is_first { "/accounts" } else { "/" }).into_response();
            sign_in::hold(app, &mut response, &came);
            response
        }
        Err(problems) => {
            typed.problems = problems;
            shown(app, headers, is_first, &typed)
        }
    }
}

async fn open_it(
    app: &App,
    guest: &Guest,
    is_first: bool,
    person: &str,
    typed: &Typed,
) -> Result<(), Vec<Problem>> {
    let phrase = {
        let laboratory = app.read();
        let lab = laboratory.lab();
        let may_manage = lab.people.get(person).is_some_and(|person| person.may(Right::Manage));
        if is_first && !may_manage {
            let words = "the first account is that of somebody who may manage this laboratory";
            return Err(vec![at("person", "person-unknown", words, "choose one of them")]);
        }
        chosen(lab, person, typed)?
    };
    let code = typed.sent_field("code").unwrap_or_default().to_owned();
    let (person, address) = (person.to_owned(), guest.address.clone());
    let first = app.first_code.clone();
    let outcome = app
        .with_phrases(move |access| {
            let opening =
                Opening { person: &person, code: &code, phrase: &phrase, address: &address };
            let now = Clock::Machine.now();
            match (is_first, first) {
                (true, Some(first)) => access.open_first_account(&opening, &first, now),
                // Nothing opens where no code was made.
                (true, None) => Ok(Err(NotOpened::Code)),
                (false, _) => access.open_account(&opening, now),
            }
        })
        .await;
    match outcome {
        Ok(Ok(())) => Ok(()),
        Ok(Err(NotOpened::Code)) => {
            let words = "this code does not open this account";
            let hint = "type it as it was shown; it opens one account, once, within a day";
            Err(vec![at("code", "code-wrong", words, hint)])
        }
        Ok(Err(NotOpened::Wait(left))) => {
            let hint = format!("try again in {}", in_words(left));
            Err(vec![at("code", "code-wait", "too many wrong codes were typed", &hint)])
        }
        Err(words) => Err(vec![problem("not-recorded", words)]),
    }
}
