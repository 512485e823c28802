//! The language of the pages: chosen at this browser, said at the edge.
//!
//! Pages are made in English and said again on their way out, by the catalogues of
//! `stonewear-language`; what programs read (the interface, files, the stream) stays as it is.

use crate::app::{cookie, fields, is_our_path, remember};
use crate::made::Pieces;
use axum::body::{Body, to_bytes};
use axum::extract::{RawForm, Request};
use axum::http::header::{ACCEPT_LANGUAGE, CONTENT_LANGUAGE, CONTENT_LENGTH, CONTENT_TYPE};
use axum::http::{HeaderMap, HeaderValue, StatusCode};
use axum::middleware::Next;
use axum::response::{Html, IntoResponse, Redirect, Response};
use stonewear_language::Language;

const COOKIE_NAME: &str = "stonewear-language";
/// A tablet keeps its language for a year.
const KEPT_S: u32 = 31_536_000;
/// No page of ours comes near to it.
const LARGEST_PAGE: usize = 64 * 1024 * 1024;

/// The language chosen at this browser, or else the one that it prefers.
pub(crate) fn of(headers: &HeaderMap) -> Language {
    let chosen = Language::of_tag(cookie(headers, COOKIE_NAME));
    let preferred = || {
        let accepted = headers.get(ACCEPT_LANGUAGE).and_then(|value| value.to_str().ok());
        accepted.and_then(Language::preferred)
    };
    chosen.or_else(preferred).unwrap_or(Language::English)
}

/// A page of ours in a language.
pub(crate) fn said(language: Language, page: String) -> String {
    match language.catalogue() {
        None => page,
        Some(catalogue) => catalogue.page(&page),
    }
}

/// The answer with a page that is said already.
pub(crate) fn answer(language: Language, page: Pieces) -> Response {
    ([(CONTENT_LANGUAGE, language.tag())], Html(Body::new(page))).into_response()
}

/// Says a page in the language of whoever asked for it.
pub(crate) async fn speak(request: Request, next: Next) -> Response {
    let language = of(request.headers());
    let response = next.run(request).await;
    let is_page = response
        .headers()
        .get(CONTENT_TYPE)
        .is_some_and(|kind| kind.as_bytes().starts_with(b"text/html"));
    // What was kept is said already.
    if !is_page || response.headers().contains_key(CONTENT_LANGUAGE) {
        return response;
    }
    let (mut parts, body) = response.into_parts();
    parts.headers.insert(CONTENT_LANGUAGE, HeaderValue::from_static(language.tag()));
    let Some(catalogue) = language.catalogue() else {
        return Response::from_parts(parts, body);
    };
    let Ok(english) = to_bytes(body, LARGEST_PAGE).await else {
        return (StatusCode::INTERNAL_SERVER_ERROR, "the program failed").into_response();
    };
    parts.headers.remove(CONTENT_LENGTH);
    let said = catalogue.page(&String::from_utf8_lossy(&english));
    Response::from_parts(parts, Body::from(said))
}

/// Remembers the language at this browser, and goes back to the page.
pub(crate) async fn choose(RawForm(body): RawForm) -> Response {
    let fields = fields(&body);
    let field = |name: &str| fields.get(name).map(String::as_str).unwrap_or_default();
    let back = Some(field("back")).filter(|back| is_our_path(back)).unwrap_or("/");
    let mut response = Redirect::to(back).into_response();
    if let Some(language) = Language::of_tag(field("language")) {
        remember(&mut response, COOKIE_NAME, language.tag(), KEPT_S);
    }
    response
}
