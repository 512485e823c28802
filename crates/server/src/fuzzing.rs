//! What reads forms and bodies, for the targets of `fuzz/` alone: no build of the program has this.

use crate::form::Typed;
use axum::body::Bytes;
use stonewear_lab::Request;
use stonewear_language::Language;

/// Reads the body of a form, and asks of it what a page would.
pub fn form(body: &[u8]) {
    let typed = Typed::sent(crate::app::fields(&Bytes::copy_from_slice(body)));
    for language in Language::ALL {
        let _ = typed.doubtful_numbers(language);
    }
    let _ = typed.draft("/");
    let _ = typed.request();
}

/// Reads the body of one of the requests that a program can send.
pub fn body(which: usize, bytes: &[u8]) {
    let empty = Request::empty_ones();
    let Some(request) = empty.get(which % empty.len().max(1)) else { return };
    let _ = crate::interface::read_body(&request.name(), &request.form(), bytes);
}
