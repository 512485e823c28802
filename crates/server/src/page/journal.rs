//! The journal: how far it reaches, and whether it is what was written.

use super::{Page, View, parts};
use crate::look::{self, Tone};
use jiff::SignedDuration;
use maud::{Markup, html};
use stonewear_runtime::{Clock, last_backup, public_key, returned};

pub(super) fn page(view: &View<'_>) -> Page {
    let head = view.laboratory.head();
    let verified = view.asked("verify").is_some().then(|| view.laboratory.verify());
    let body = html! {
        (look::facts(&[
            ("Facts", html! { (head.position) }),
            ("Hash of the last", html! { code.hash { (head.hash) } }),
            ("Last recorded", html! { (parts::moment(view, view.laboratory.last_at())) }),
            ("Kept in", html! { code { (view.laboratory.place()) } }),
        ]))
        @match verified {
            None => (parts::go("Verify the whole journal now", "/journal?verify=now")),
            Some(Ok(outcome)) if outcome.intact() => {
                p role="status" { (look::mark(Tone::Good, "intact")) " " (outcome.facts) " facts read, each hash and link as written." }
            },
            Some(Ok(outcome)) => p role="alert" { (look::mark(Tone::Bad, "broken")) " " (outcome.what().unwrap_or_default()) },
            Some(Err(error)) => p role="alert" { (look::mark(Tone::Bad, "cannot be read")) " " (error) },
        }
        @if view.laboratory.place().database().is_some() {
            (parts::go("See the laboratories that share its database", "/network"))
        }
        (parts::section("Signatures", signatures(view)))
        (parts::section("Backups", backups(view)))
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

/// A backup that is older than this is said to be old.
const OLD: SignedDuration = SignedDuration::from_hours(48);

/// How far the laboratory's key has signed, and what that is worth.
fn signatures(view: &View<'_>) -> Markup {
    let stands = view.laboratory.signatures();
    let key = public_key(view.laboratory.path()).ok().flatten();
    let last = view.laboratory.head().position;
    html! {
        @if !stands.trouble.is_empty() {
            p role="alert" { (look::mark(Tone::Bad, "not signed")) " " (stands.trouble) }
        }
        @if let (Some(at), Some(key)) = (stands.at, key) {
            (look::facts(&[
                ("Signed", html! { "entries 1 to " (stands.until) " of " (last) }),
                ("Last signed", html! { (parts::moment(view, at.timestamp())) }),
                ("Fingerprint of the key", html! { code.hash { (key.fingerprint()) } }),
            ]))
            p.quiet {
                "Nobody without the signing key can change a signed entry unfound. Print this page, or note the fingerprint outside this machine: with it anybody can tell this key from another."
            }
        } @else {
            p { "Nothing is signed yet. The laboratory signs by itself: every hundred facts, when a paper is issued, with every backup, and when the program stops." }
        }
    }
}

/// When the last backup was made, and whether this laboratory came out of one.
fn backups(view: &View<'_>) -> Markup {
    let folder = view.laboratory.path();
    let last = last_backup(folder).unwrap_or_default();
    html! {
        @if let Some(returned) = returned(folder) {
            p role="note" {
                (look::mark(Tone::Edge, "restored")) " "
                "This laboratory was restored on " (parts::moment(view, returned.at)) " from the backup of " (parts::moment(view, returned.backup_at)) ", up to entry " (returned.position) "."
                @if returned.position < returned.whole {
                    " Later facts of that backup are not in it: " (returned.whole - returned.position) "."
                }
            }
        }
        @if !last.trouble.is_empty() {
            p role="alert" { (look::mark(Tone::Bad, "backup failed")) " " (last.trouble) }
        }
        @match last.at {
            Some(at) => {
                @let is_old = Clock::Machine.now().duration_since(at) > OLD;
                (look::facts(&[
                    ("Last backup", html! {
                        (parts::moment(view, at))
                        @if is_old { " " (look::mark(Tone::Edge, "old")) }
                    }),
                    ("It holds", html! { "entries 1 to " (last.position) " of " (view.laboratory.head().position) }),
                    ("Kept in", html! { code { (last.to.display()) } }),
                ]))
            },
            None if view.laboratory.place().database().is_some() => {
                p { "The journal is in a database, which its owner backs up by PostgreSQL's own means." }
            },
            None => {
                p { (look::mark(Tone::Edge, "no backup")) " No backup of this laboratory was made yet. It is made on this machine, also while this page is open:" }
                p { code { "stonewear backup /media/backups" } }
            },
        }
    }
}
