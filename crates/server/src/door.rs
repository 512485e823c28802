//! The door: who asks, and whether they may come in.
//!
//! Until the first account is opened the bench is open: whoever is at this machine says who they are, and
//! nothing proves it. From then on every page and every form needs a session, but for the few that lead
//! in. Who asks is handed on in headers that only this file sets: what a browser sends under their names
//! is removed first, so no page need know where a name came from.

use crate::app::{App, LARGEST_FORM, cookie};
use crate::live;
use crate::openid::Organisation;
use crate::people;
use crate::reach::Peer;
use crate::sent;
use crate::signing::{Means, Signing};
use axum::body::{Body, to_bytes};
use axum::extract::{ConnectInfo, Request, State};
use axum::http::header::{ACCEPT, CONTENT_TYPE, HOST, HeaderName, ORIGIN};
use axum::http::{HeaderMap, HeaderValue, Method, StatusCode, Uri};
use axum::middleware::Next;
use axum::response::{IntoResponse, Redirect, Response};
use jiff::Timestamp;
use stonewear_access::{Access, AccessError, Session, Site};
use stonewear_runtime::Clock;
use tokio::task::spawn_blocking;

/// Who sits here, by initials.
pub(crate) const SEAT: HeaderName = HeaderName::from_static("stonewear-seat");
/// How they stand to signing.
pub(crate) const SIGNING: HeaderName = HeaderName::from_static("stonewear-signing");
/// Who says that they sit at this browser, while nobody has to prove it.
pub(crate) const SEAT_COOKIE: &str = "stonewear-person";
/// What a page asks by itself, such as what is new: nobody did anything.
const BY_ITSELF: HeaderName = HeaderName::from_static("stonewear-by-itself");

/// Who asks, as far as the door knows.
#[derive(Debug, Clone, Default)]
pub(crate) struct Guest {
    /// Whether people prove who they are here.
    pub(crate) has_accounts: bool,
    /// Their session.
    pub(crate) session: Option<Session>,
    /// Where they ask from, as limits count it; empty where it is not known.
    pub(crate) address: String,
    /// What they can show who they are with, beside their phrase; looked up where it is asked for.
    pub(crate) means: Means,
}

impl Guest {
    fn signing(&self) -> Signing {
        match &self.session {
            _ if !self.has_accounts => Signing::Open,
            Some(session) if session.is_proved(Clock::Machine.now()) => Signing::Proved,
            _ => Signing::Asked(self.means),
        }
    }
}

/// Lets a request in, or leads to where one signs in.
pub(crate) async fn door(
    State(app): State<App>,
    mut request: Request<Body>,
    next: Next,
) -> Response {
    request.headers_mut().remove(SEAT);
    request.headers_mut().remove(SIGNING);
    let peer = request.extensions().get::<ConnectInfo<Peer>>().map(|ConnectInfo(peer)| *peer);
    let address = app.reach.address(request.headers(), peer);
    let path = request.uri().path().to_owned();
    // Programs come in by tokens; see `interface::entry`.
    if path == "/api" || path.starts_with("/api/") {
        request.extensions_mut().insert(Guest { address, ..Guest::default() });
        return next.run(request).await;
    }
    let secret = cookie(request.headers(), &app.cookies.session).to_owned();
    let is_used = is_by_a_person(&request);
    let host = request.headers().get(HOST).and_then(|host| host.to_str().ok()).unwrap_or_default();
    let guest = match guest(&app, secret, is_used, (address, host)).await {
        Ok(guest) => guest,
        Err(_) if is_for_all(&path) => Guest { has_accounts: true, ..Guest::default() },
        Err(why) => return (StatusCode::SERVICE_UNAVAILABLE, why).into_response(),
    };
    if guest.has_accounts && guest.session.is_none() && !leads_in(&path) {
        return outside(&app, request).await;
    }
    if guest.session.is_some() && !says_where_it_comes_from(&request) {
        return (StatusCode::FORBIDDEN, "this form does not say which page it was sent from")
            .into_response();
    }
    let seat = match &guest.session {
        Some(session) => session.person.as_str(),
        None if guest.has_accounts => "",
        None => cookie(request.headers(), SEAT_COOKIE),
    };
    let seat = HeaderValue::from_str(seat).unwrap_or(HeaderValue::from_static(""));
    let signing = HeaderValue::from_static(guest.signing().as_str());
    request.headers_mut().insert(SEAT, seat);
    request.headers_mut().insert(SIGNING, signing);
    request.extensions_mut().insert(guest);
    next.run(request).await
}

/// What holds nothing of the laboratory.
fn is_for_all(path: &str) -> bool {
    // Whoever operates the program asks how it stands; the answers name nobody and no result.
    let is_for_operation = path.starts_with("/health/") || path == "/metrics";
    is_for_operation || path.starts_with("/assets/") || path == "/keeper.js"
}

/// What must be reached to come in.
fn leads_in(path: &str) -> bool {
    is_for_all(path)
        || matches!(
            path,
            "/sign-in"
                | "/sign-in/passkey"
                | "/sign-in/passkey/question"
                | "/sign-in/organisation"
                | "/sign-in/organisation/back"
                | "/account/open"
                | "/language"
        )
}

/// A browser of today says with every form where it comes from, and [`crate::guard`] has compared it. In a
/// session nothing else is taken.
fn says_where_it_comes_from(request: &Request<Body>) -> bool {
    const SITE: HeaderName = HeaderName::from_static("sec-fetch-site");
    matches!(*request.method(), Method::GET | Method::HEAD)
        || request.headers().contains_key(ORIGIN)
        || request.headers().contains_key(SITE)
}

/// Whether a person did something, and not the page by itself: only that keeps a session from its idle
/// end. A page that is loaded by a script is not said to be by its user (Fetch Metadata, W3C).
fn is_by_a_person(request: &Request<Body>) -> bool {
    let headers = request.headers();
    if headers.contains_key(BY_ITSELF) {
        return false;
    }
    let says = |name: &'static str| headers.contains_key(HeaderName::from_static(name));
    *request.method() == Method::POST || says("sec-fetch-user") || !says("sec-fetch-mode")
}

async fn guest(
    app: &App,
    secret: String,
    is_used: bool,
    (address, host): (String, &str),
) -> Result<Guest, String> {
    let access = match &app.access {
        Ok(access) => access.clone(),
        Err(why) if app.is_locked => return Err(why.clone()),
        Err(_) => return Ok(Guest { address, ..Guest::default() }),
    };
    let site = app.reach.site(host);
    let organisation = app.organisation.clone();
    let now = Clock::Machine.now();
    let looking = access.clone();
    let look = move || looked_up(&looking, &secret, now, site, organisation.as_deref());
    // What is asked for lies in memory nearly always. Only where somebody else is at it, maybe waiting for the
    // disk, it is waited for away from the threads that answer: to wake another for it costs more than looking.
    let looked_up = if access.is_at_rest() { Ok(look()) } else { spawn_blocking(look).await };
    let guest = match looked_up {
        Ok(Ok(guest)) => Guest { address, ..guest },
        Ok(Err(error)) => return Err(error.to_string()),
        Err(_) => return Err("the program failed".to_owned()),
    };
    if let Some(session) = guest.session.clone().filter(|session| is_used && session.is_idle(now)) {
        // A disk that is full ends no session early: it is looked at, and that is all.
        let _ = spawn_blocking(move || access.session_was_used(&session, now)).await;
    }
    Ok(guest)
}

fn looked_up(
    access: &Access,
    secret: &str,
    now: Timestamp,
    site: Option<Site>,
    organisation: Option<&Organisation>,
) -> Result<Guest, AccessError> {
    let has_accounts = access.has_accounts()?;
    let session =
        if has_accounts && !secret.is_empty() { access.session(secret, now)? } else { None };
    let mut means = Means::default();
    if let Some(session) = session.as_ref().filter(|session| !session.is_proved(now)) {
        if let Some(site) = site {
            means.passkey = access.has_passkey(&session.person, &site.name)?;
        }
        if let Some(organisation) = organisation {
            means.organisation = access.has_link(&session.person, organisation.issuer())?;
        }
    }
    Ok(Guest { has_accounts, session, address: String::new(), means })
}

/// Nobody has signed in: where to, and nothing that was typed is lost.
async fn outside(app: &App, request: Request<Body>) -> Response {
    let (parts, body) = request.into_parts();
    let path = parts.uri.path();
    if path == "/events" {
        return live::signed_out().into_response();
    }
    if matches!(parts.method, Method::GET | Method::HEAD) {
        return if wants_a_page(&parts.headers) {
            Redirect::to(&people::sign_in_path(&here(&parts.uri), "")).into_response()
        } else {
            (StatusCode::FORBIDDEN, "sign in first").into_response()
        };
    }
    if sent::is_by_script(&parts.headers) {
        return sent::signed_out();
    }
    if path == "/judge" {
        return (StatusCode::FORBIDDEN, "sign in first").into_response();
    }
    let is_form = parts
        .headers
        .get(CONTENT_TYPE)
        .is_some_and(|kind| kind.as_bytes().starts_with(b"application/x-www-form-urlencoded"));
    let form = match to_bytes(body, LARGEST_FORM).await {
        Ok(bytes) if is_form => String::from_utf8(bytes.to_vec()).unwrap_or_default(),
        _ => String::new(),
    };
    people::sign_in_with_form(app, &parts.headers, path, &form).await
}

fn wants_a_page(headers: &HeaderMap) -> bool {
    let accepts = headers.get_all(ACCEPT).iter().filter_map(|value| value.to_str().ok());
    accepts.into_iter().any(|list| list.contains("text/html"))
}

/// The address of a page, to come back to.
fn here(uri: &Uri) -> String {
    uri.path_and_query().map(ToString::to_string).unwrap_or_else(|| "/".to_owned())
}
