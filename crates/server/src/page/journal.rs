//! The journal: how far it reaches, and whether it is what was written.

use super::{Page, View, parts};
use crate::look::{self, Tone};
use maud::html;

pub(super) fn page(view: &View<'_>) -> Page {
    let head = view.laboratory.head();
    let verified = view.asked("verify").is_some().then(|| view.laboratory.verify());
    let body = html! {
        (look::facts(&[
            ("Facts", html! { (head.position) }),
            ("Hash of the last", html! { code.hash { (head.hash) } }),
            ("Last recorded", html! { (parts::moment(view, view.laboratory.last_at())) }),
            ("Kept in", html! { code { (view.laboratory.path().display()) } }),
        ]))
        @match verified {
            None => (parts::go("Verify the whole journal now", "/journal?verify=now")),
            Some(Ok(outcome)) if outcome.intact() => {
                p role="status" { (look::mark(Tone::Good, "intact")) " " (outcome.facts) " facts read, each hash and link as written." }
            },
            Some(Ok(outcome)) => p role="alert" { (look::mark(Tone::Bad, "broken")) " " (outcome.what().unwrap_or_default()) },
            Some(Err(error)) => p role="alert" { (look::mark(Tone::Bad, "cannot be read")) " " (error) },
        }
        (parts::go("Take out tables and files", "/export"))
        (parts::go("Take over spreadsheets of the past", "/imports"))
        p.quiet {
            "Write the hash down outside this machine now and then: with it, anybody can show later that nothing before it was changed. "
            "Export and verification by other means: " code { "stonewear journal export" } " and the page docs/journal-format.md."
        }
    };
    Page::new("Journal", body).lead(
        "Every fact is kept for ever, each chained to the one before by its hash. Nothing is changed or removed.",
    )
}
