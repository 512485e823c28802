//! What owners do: give accounts, reset and close them, end sessions, say how long sessions last.

use super::{at, initials, typed};
use crate::app::{App, problem, seat};
use crate::door::Guest;
use crate::form::Typed;
use crate::page;
use crate::page::accounts::{Accounts, Given};
use crate::signing;
use axum::extract::{Extension, RawForm, State};
use axum::http::{HeaderMap, StatusCode, Uri};
use axum::response::{Html, IntoResponse, Redirect, Response};
use jiff::SignedDuration;
use stonewear_access::session::Which;
use stonewear_access::{Access, AccessError, Lasting};
use stonewear_lab::refusal::Problem;
use stonewear_runtime::Clock;

/// Entries of the log that the page shows.
const SHOWN: usize = 60;

/// `GET /accounts`
pub(super) async fn page(
    State(app): State<App>,
    Extension(guest): Extension<Guest>,
    headers: HeaderMap,
) -> Response {
    shown(&app, &guest, &headers, &Typed::default(), None).await
}

async fn shown(
    app: &App,
    guest: &Guest,
    headers: &HeaderMap,
    typed: &Typed,
    given: Option<Given>,
) -> Response {
    let (here, has_accounts) = (guest.session.clone(), guest.has_accounts);
    let organisation = app.organisation.as_ref().map(|one| one.issuer().to_owned());
    let read = app.with_access(move |access| {
        let now = Clock::Machine.now();
        let accounts = access.accounts()?;
        let person = here.as_ref().map(|here| here.person.as_str()).unwrap_or_default();
        let is_owner = accounts.iter().any(|account| account.person == person && account.is_owner);
        Ok(Accounts {
            has_accounts,
            is_owner,
            sessions: access.sessions(now)?,
            lasting: access.lasting()?,
            events: if is_owner { access.events(SHOWN)? } else { Vec::new() },
            accounts,
            here: here.map_or(0, |here| here.number),
            now,
            given,
            organisation,
            links: access.links()?,
        })
    });
    let accounts = match read.await {
        Ok(accounts) => accounts,
        Err(words) => return (StatusCode::SERVICE_UNAVAILABLE, words).into_response(),
    };
    let laboratory = app.read();
    let uri = Uri::from_static("/accounts");
    let page = page::inside(&laboratory, &uri, &seat(headers), typed, |view| {
        page::accounts::accounts(view, &accounts)
    });
    let is_refused = !typed.problems.is_empty();
    let status = if is_refused { StatusCode::UNPROCESSABLE_ENTITY } else { StatusCode::OK };
    (status, Html(page.into_string())).into_response()
}

/// `POST /accounts`
pub(super) async fn change(
    State(app): State<App>,
    Extension(guest): Extension<Guest>,
    headers: HeaderMap,
    RawForm(body): RawForm,
) -> Response {
    let mut typed = typed("", &body);
    typed.request = typed.sent_field("do").unwrap_or_default().to_owned();
    match changed(&app, &guest, &typed).await {
        // A code is shown this once, so this is the page that shows it.
        Ok(Some(given)) => shown(&app, &guest, &headers, &Typed::default(), Some(given)).await,
        Ok(None) => Redirect::to("/accounts").into_response(),
        Err(problems) => {
            typed.problems = problems;
            shown(&app, &guest, &headers, &typed, None).await
        }
    }
}

async fn changed(app: &App, guest: &Guest, typed: &Typed) -> Result<Option<Given>, Vec<Problem>> {
    let by = guest.session.as_ref().map(|session| session.person.clone()).unwrap_or_default();
    let asked = by.clone();
    let is_owner = app.with_access(move |access| {
        Ok(access.account(&asked)?.is_some_and(|account| account.is_owner))
    });
    if !is_owner.await.map_err(|words| vec![problem("not-recorded", words)])? {
        let words = "only an owner of accounts can do this";
        return Err(vec![at("", "right-missing", words, "ask one of them")]);
    }
    let person = initials(typed.sent_field("person").unwrap_or_default());
    if matches!(
        &*typed.request,
        "give" | "reset" | "close" | "owner" | "no-owner" | "link" | "unlink"
    ) && !app.read().lab().people.contains_key(person.as_str())
    {
        let words = "nobody was chosen";
        return Err(vec![at("person", "person-unknown", words, "choose a person")]);
    }
    let issuer = app.organisation.as_ref().map(|one| one.issuer()).unwrap_or_default();
    let change = Change::read(typed, person, issuer)?;
    signing::prove(app, guest, typed.sent_field(signing::FIELD).unwrap_or_default()).await?;
    let address = guest.address.clone();
    let done = app.with_access(move |access| match change.make(access, &by, &address) {
        // What cannot be done is an answer.
        Err(AccessError::Wrong(words)) => Ok(Err(words)),
        other => other.map(Ok),
    });
    match done.await {
        Ok(Ok(given)) => Ok(given),
        Ok(Err(words)) => Err(vec![problem("account", words)]),
        Err(words) => Err(vec![problem("not-recorded", words)]),
    }
}

/// What an owner asks for.
enum Change {
    Give { person: String, is_owner: bool },
    Reset(String),
    Close(String),
    Owner { person: String, is_owner: bool },
    End(i64),
    Lasting(Lasting),
    Link { person: String, issuer: String, subject: String },
    Unlink { person: String, issuer: String },
}

impl Change {
    fn read(typed: &Typed, person: String, issuer: &str) -> Result<Self, Vec<Problem>> {
        let field = |name: &str| typed.sent_field(name).unwrap_or_default().trim();
        let whole = |name: &str| {
            field(name).parse::<i64>().ok().filter(|number| (1..=720).contains(number)).ok_or_else(
                || {
                    let words = format!("“{}” is no number of hours", field(name));
                    vec![at(name, "input-number", &words, "write a whole number from 1 to 720")]
                },
            )
        };
        match &*typed.request {
            "give" => Ok(Self::Give { person, is_owner: field("is_owner") == "yes" }),
            "reset" => Ok(Self::Reset(person)),
            "close" => Ok(Self::Close(person)),
            "owner" => Ok(Self::Owner { person, is_owner: true }),
            "no-owner" => Ok(Self::Owner { person, is_owner: false }),
            "link" => Ok(Self::Link {
                person,
                issuer: issuer.to_owned(),
                subject: field("subject").to_owned(),
            }),
            // Also of an organisation that vouches no longer.
            "unlink" => Ok(Self::Unlink { person, issuer: field("issuer").to_owned() }),
            "end" => Ok(Self::End(field("session").parse().unwrap_or_default())),
            "lasting" => Ok(Self::Lasting(Lasting {
                idle: SignedDuration::from_hours(whole("idle_h")?),
                whole: SignedDuration::from_hours(whole("whole_h")?),
            })),
            _ => Err(vec![problem("input-form", "the form is none of ours".to_owned())]),
        }
    }

    fn make(self, access: &Access, by: &str, address: &str) -> Result<Option<Given>, AccessError> {
        let now = Clock::Machine.now();
        let given = |person: String, code: stonewear_access::Code| {
            Some(Given { person, code: code.to_string() })
        };
        match self {
            Self::Give { person, is_owner } => {
                let code = access.give_account(&person, is_owner, by, now)?;
                Ok(given(person, code))
            }
            Self::Reset(person) => {
                let code = access.reset_account(&person, by, now)?;
                Ok(given(person, code))
            }
            Self::Close(person) => access.close_account(&person, by, now).map(|()| None),
            Self::Owner { person, is_owner } => {
                access.set_owner(&person, is_owner, by, now).map(|()| None)
            }
            Self::End(number) => {
                access.end_sessions(&Which::One(number), by, address, now).map(|_| None)
            }
            Self::Link { person, issuer, subject } => {
                if issuer.is_empty() {
                    let words = "no organisation vouches for people here";
                    return Err(AccessError::Wrong(words.to_owned()));
                }
                access.link(&person, (&issuer, &subject), (by, address), now).map(|()| None)
            }
            Self::Unlink { person, issuer } => {
                access.unlink(&person, &issuer, (by, address), now).map(|()| None)
            }
            Self::Lasting(lasting) => access.set_lasting(lasting, by, now).map(|()| None),
        }
    }
}
