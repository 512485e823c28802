//! What every answer carries, and which requests are not even looked at.
//!
//! A page of another origin could make the user's own browser send a form here, with the cookies that it
//! holds. That is refused by what browsers say of a request (`Sec-Fetch-Site`, `Origin`), and a name
//! that was made to point here is refused by the `Host` it asks for; see [`crate::reach`].

use crate::app::App;
use crate::interface::{Kind, Trouble};
use crate::reach::Reach;
use axum::body::Body;
use axum::extract::{Request, State};
use axum::http::header::{
    CACHE_CONTROL, CONTENT_SECURITY_POLICY, HOST, HeaderName, HeaderValue, ORIGIN, REFERRER_POLICY,
    STRICT_TRANSPORT_SECURITY, X_CONTENT_TYPE_OPTIONS,
};
use axum::http::{Method, StatusCode};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};

const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; \
                      font-src 'self'; connect-src 'self'; form-action 'self'; base-uri 'none'; \
                      frame-ancestors 'none'";

/// Lets a request through, or says why not; adds the headers that every answer carries.
pub(crate) async fn guard(State(app): State<App>, request: Request<Body>, next: Next) -> Response {
    let host = header(&request, HOST).to_owned();
    let mut response = match refusal(&app.reach, &request) {
        None => next.run(request).await,
        Some(why) if request.uri().path().starts_with("/api") => {
            Trouble::new(Kind::ForeignPage, why).into_response()
        }
        Some(why) => (StatusCode::FORBIDDEN, why).into_response(),
    };
    let headers = response.headers_mut();
    // A file that was attached brings a narrower policy of its own.
    headers.entry(CONTENT_SECURITY_POLICY).or_insert(HeaderValue::from_static(POLICY));
    headers.insert(X_CONTENT_TYPE_OPTIONS, HeaderValue::from_static("nosniff"));
    // Not `no-referrer`: with it a browser sends `Origin: null` with our own forms, too.
    headers.insert(REFERRER_POLICY, HeaderValue::from_static("same-origin"));
    headers.insert(
        HeaderName::from_static("cross-origin-opener-policy"),
        HeaderValue::from_static("same-origin"),
    );
    headers.insert(
        HeaderName::from_static("cross-origin-resource-policy"),
        HeaderValue::from_static("same-origin"),
    );
    // Not for a name of this machine alone: it would bind every other program that serves under it.
    if app.reach.is_secure() && !Reach::is_loopback(&host) {
        headers.insert(STRICT_TRANSPORT_SECURITY, HeaderValue::from_static("max-age=31536000"));
    }
    // A page shows the laboratory as it is now; going back must not show what it was.
    headers.entry(CACHE_CONTROL).or_insert(HeaderValue::from_static("no-store"));
    response
}

fn refusal(reach: &Reach, request: &Request<Body>) -> Option<&'static str> {
    let host = header(request, HOST);
    if let Some(why) = reach.refuses_host(host) {
        return Some(why);
    }
    if matches!(*request.method(), Method::GET | Method::HEAD) {
        return None;
    }
    let site = header(request, HeaderName::from_static("sec-fetch-site"));
    let other_site = !matches!(site, "" | "same-origin" | "none");
    let origin = request.headers().get(ORIGIN).map(|value| value.to_str().unwrap_or_default());
    let other_origin = origin.is_some_and(|origin| origin != reach.origin(host));
    (other_site || other_origin).then_some("this form was sent from another page than ours")
}

fn header(request: &Request<Body>, name: HeaderName) -> &str {
    request.headers().get(name).and_then(|value| value.to_str().ok()).unwrap_or_default()
}
