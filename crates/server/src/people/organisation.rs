//! Signing in through an organisation, and showing it who one is again, to sign (OpenID Connect, the code
//! flow). Opening the first address only sends the browser there; what it brings back is used once.

use super::sign_in::{self, go_in, host};
use super::{at, typed};
use crate::app::{App, asked, cookie, hold_secret, is_our_path, problem, seat};
use crate::door::Guest;
use crate::form::Typed;
use crate::openid::{NotVouched, Organisation};
use crate::page;
use crate::signing::in_words;
use axum::body::Bytes;
use axum::extract::{Extension, State};
use axum::http::{HeaderMap, StatusCode, Uri};
use axum::response::{Html, IntoResponse, Redirect, Response};
use axum::routing::get;
use std::sync::Arc;
use stonewear_access::challenge::Purpose;
use stonewear_access::passkey::{Asking, of_session};
use stonewear_access::vouched::{NotAsked, NotLinked};
use stonewear_access::{Access, AccessError, Browser, Session, SignedIn, openid};
use stonewear_lab::refusal::Problem;
use stonewear_runtime::Clock;

/// Where the organisation sends the browser back to.
const BACK: &str = "/sign-in/organisation/back";
/// A question before somebody has signed in is held by their browser for so long.
const ASKING_SECONDS: u32 = 600;

pub(super) fn routes() -> axum::Router<App> {
    axum::Router::new().route("/sign-in/organisation", get(ask)).route(BACK, get(back))
}

/// `GET /sign-in/organisation?back=/samples`, with `again=yes` in a session, to sign.
async fn ask(
    State(app): State<App>,
    Extension(guest): Extension<Guest>,
    uri: Uri,
    headers: HeaderMap,
) -> Response {
    let Some(organisation) = app.organisation.clone() else {
        return Redirect::to("/sign-in").into_response();
    };
    let back = Some(asked(&uri, "back")).filter(|back| is_our_path(back));
    let back = back.unwrap_or_else(|| "/".to_owned());
    let session = guest.session.clone().filter(|_| asked(&uri, "again") == "yes");
    let back_at = format!("{}{BACK}", app.reach.origin(host(&headers)));
    let (to, address) = (back.clone(), guest.address.clone());
    let sent = app.with_access(move |access| {
        let (purpose, holder) = match &session {
            Some(session) => (Purpose::Prove, of_session(session)),
            None => (Purpose::SignIn, stonewear_access::secret()?),
        };
        let asking = Asking { purpose, holder: &holder, address: &address };
        let (state, question) = access.ask_organisation(&asking, &to, Clock::Machine.now())?;
        let address = organisation.address(&back_at, &openid::state(purpose, &state), &question);
        Ok((address, (purpose == Purpose::SignIn).then_some(holder)))
    });
    match sent.await {
        Ok((Ok(address), holder)) => {
            let mut response = Redirect::to(&address).into_response();
            if let Some(holder) = holder {
                hold_secret(&app, &mut response, &app.cookies.asking, &holder, ASKING_SECONDS);
            }
            response
        }
        Ok((Err(why), _)) => refused(&app, &guest, &headers, &back, refusal(&why)).await,
        Err(words) => refused(&app, &guest, &headers, &back, problem("not-recorded", words)).await,
    }
}

/// `GET /sign-in/organisation/back?code=…&state=…`
async fn back(
    State(app): State<App>,
    Extension(guest): Extension<Guest>,
    uri: Uri,
    headers: HeaderMap,
) -> Response {
    let Some(organisation) = app.organisation.clone() else {
        return Redirect::to("/sign-in").into_response();
    };
    let answer = Answer {
        organisation,
        session: guest.session.clone(),
        asking: cookie(&headers, &app.cookies.asking).to_owned(),
        back_at: format!("{}{BACK}", app.reach.origin(host(&headers))),
        issuer: asked(&uri, "iss"),
        code: asked(&uri, "code"),
        state: asked(&uri, "state"),
        device: cookie(&headers, &app.cookies.device).to_owned(),
        before: cookie(&headers, &app.cookies.session).to_owned(),
        address: guest.address.clone(),
        browser: sign_in::browser(&headers),
    };
    // It is not held for longer than the answer of the organisation takes, away from those who answer.
    match app.with_access(move |access| answer.taken(access)).await {
        Ok(Ok(Came::In(came, back))) => {
            let sent =
                form_urlencoded::Serializer::new(String::new()).append_pair("back", &back).finish();
            let mut response = go_in(&app, &headers, &came, &typed("sign-in", &Bytes::from(sent)));
            hold_secret(&app, &mut response, &app.cookies.asking, "", 0);
            response
        }
        Ok(Ok(Came::Again(back))) => Redirect::to(&back).into_response(),
        Ok(Err((problem, back))) => refused(&app, &guest, &headers, &back, problem).await,
        Err(words) => refused(&app, &guest, &headers, "/", problem("not-recorded", words)).await,
    }
}

/// What came of it, and the page to go on to.
enum Came {
    In(SignedIn, String),
    Again(String),
}

/// What a browser brought back.
struct Answer {
    organisation: Arc<Organisation>,
    session: Option<Session>,
    asking: String,
    back_at: String,
    issuer: String,
    code: String,
    state: String,
    device: String,
    before: String,
    address: String,
    browser: String,
}

impl Answer {
    fn taken(self, access: &Access) -> Result<Result<Came, (Problem, String)>, AccessError> {
        let asked_at = Clock::Machine.now();
        let nowhere = |problem: Problem| Ok(Err((problem, "/".to_owned())));
        let Some((purpose, state)) = openid::read_state(&self.state) else {
            return nowhere(not_asked());
        };
        let session = self.session.as_ref().filter(|_| purpose == Purpose::Prove);
        let holder = match (purpose, session) {
            (_, Some(session)) => of_session(session),
            // What was asked in a session is answered in it, or by nobody.
            (Purpose::Prove, None) => String::new(),
            (Purpose::SignIn | Purpose::Add, None) => self.asking.clone(),
        };
        let asked = access.asked_organisation(&state, purpose, (&holder, &self.address), asked_at);
        let (question, since) = match asked {
            Ok(asked) => asked,
            Err(NotAsked::Wait(left)) => {
                let hint = format!("try again in {}", in_words(left));
                let words = "the organisation was asked in vain too often";
                return nowhere(at("", "organisation-wait", words, &hint));
            }
            Err(NotAsked::Unknown) => {
                access.was_not_vouched(
                    purpose,
                    (&self.person(), &self.address),
                    "not asked, or answered before",
                    asked_at,
                )?;
                return nowhere(not_asked());
            }
        };
        let back = question.back.clone();
        let issuer = self.organisation.issuer();
        // RFC 9207: an organisation that says who answers must be the one that was asked.
        let vouched = if !self.issuer.is_empty() && self.issuer != issuer {
            Err(NotVouched::Fault(openid::Fault::Issuer))
        } else if self.code.is_empty() {
            Err(NotVouched::Fault(openid::Fault::Denied))
        } else {
            self.organisation.answer(&self.code, &self.back_at, &question, Some(since))
        };
        let vouched = match vouched {
            Ok(vouched) => vouched,
            Err(why) => {
                let about = format!("{issuer}: {}", in_full(&why));
                access.was_not_vouched(
                    purpose,
                    (&self.person(), &self.address),
                    &about,
                    asked_at,
                )?;
                return Ok(Err((refusal(&why), back)));
            }
        };
        access.was_vouched(&self.address);
        let now = Clock::Machine.now();
        let Some(session) = session else {
            let browser = Browser {
                device: &self.device,
                before: &self.before,
                address: &self.address,
                browser: &self.browser,
            };
            let came = access.sign_in_vouched(issuer, &vouched, &browser, now)?;
            return Ok(match came {
                Ok(came) => Ok(Came::In(came, back)),
                Err(NotLinked) => {
                    let words = format!(
                        "your organisation knows you as “{}”, and nobody here is linked to that",
                        vouched.subject
                    );
                    let hint = "ask an owner of accounts to link you, and tell them this mark";
                    Err((at("", "not-linked", &words, hint), back))
                }
            });
        };
        let proved = access.prove_vouched(session, (issuer, &vouched), &self.address, now)?;
        Ok(match proved {
            Ok(()) => Ok(Came::Again(back)),
            Err(NotLinked) => {
                let words =
                    "your organisation vouches for somebody else than who is signed in here";
                Err((at("", "not-linked", words, "sign in there as yourself"), back))
            }
        })
    }

    fn person(&self) -> String {
        self.session.as_ref().map(|session| session.person.clone()).unwrap_or_default()
    }
}

fn not_asked() -> Problem {
    let words = "the organisation was not asked from here, or its answer came too late or twice";
    at("", "organisation-not-asked", words, "begin again")
}

fn refusal(why: &NotVouched) -> Problem {
    match why {
        NotVouched::Unreached(_) => {
            let words = "your organisation could not be asked";
            let hint = "try again, or use your pass phrase; the access log says why";
            at("", "organisation-unreached", words, hint)
        }
        NotVouched::Fault(fault) => {
            let hint = "begin again, or use your pass phrase";
            at("", "organisation-refused", &fault.to_string(), hint)
        }
    }
}

/// For the access log.
fn in_full(why: &NotVouched) -> String {
    match why {
        NotVouched::Unreached(words) => words.clone(),
        NotVouched::Fault(fault) => fault.to_string(),
    }
}

/// Shows what is wrong: where one signs in, or, in a session, with the way back to what was to be signed.
async fn refused(
    app: &App,
    guest: &Guest,
    headers: &HeaderMap,
    back: &str,
    problem: Problem,
) -> Response {
    let sent = [("back".to_owned(), back.to_owned())];
    let mut typed = Typed::sent(sent.into());
    typed.problems = vec![problem];
    if guest.session.is_none() {
        return sign_in::shown(app, headers, typed, StatusCode::UNPROCESSABLE_ENTITY).await;
    }
    let uri = Uri::from_static("/sign-in");
    let page = page::inside(&app.read(), &uri, &seat(headers), &typed, |view| {
        page::sign_in::not_shown(view, back)
    });
    (StatusCode::UNPROCESSABLE_ENTITY, Html(page.into_string())).into_response()
}
