//! What every answer carries, and which requests are not even looked at.
//!
//! There are no passwords yet, so the server listens on loopback only. A page of another origin
//! could still make the user's own browser send a form here; that is refused by its headers, and
//! a name that was made to point here is refused by the `Host` it asks for.

use crate::interface::{Kind, Trouble};
use axum::body::Body;
use axum::extract::Request;
use axum::http::header::{
    CACHE_CONTROL, CONTENT_SECURITY_POLICY, HOST, HeaderName, HeaderValue, ORIGIN, REFERRER_POLICY,
    X_CONTENT_TYPE_OPTIONS,
};
use axum::http::{Method, StatusCode};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};

const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; \
                      font-src 'self'; connect-src 'self'; form-action 'self'; base-uri 'none'; \
                      frame-ancestors 'none'";

/// Lets a request through, or says why not; adds the headers that every answer carries.
pub(crate) async fn guard(request: Request<Body>, next: Next) -> Response {
    let mut response = match refusal(&request) {
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
    // A page shows the laboratory as it is now; going back must not show what it was.
    headers.entry(CACHE_CONTROL).or_insert(HeaderValue::from_static("no-store"));
    response
}

fn refusal(request: &Request<Body>) -> Option<&'static str> {
    let header =
        |name: HeaderName| request.headers().get(name).and_then(|value| value.to_str().ok());
    let host = header(HOST).unwrap_or_default();
    if !is_loopback(host) {
        return Some("this page is served to this machine only; open it by 127.0.0.1 or localhost");
    }
    if matches!(*request.method(), Method::GET | Method::HEAD) {
        return None;
    }
    let other_site = header(HeaderName::from_static("sec-fetch-site"))
        .is_some_and(|site| !matches!(site, "same-origin" | "none"));
    let other_origin = header(ORIGIN).is_some_and(|origin| origin != format!("http://{host}"));
    (other_site || other_origin).then_some("this form was sent from another page than ours")
}

fn is_loopback(host: &str) -> bool {
    let name = match host.rsplit_once(':') {
        Some((name, port)) if port.bytes().all(|byte| byte.is_ascii_digit()) => name,
        _ => host,
    };
    matches!(name, "127.0.0.1" | "localhost" | "[::1]")
}
