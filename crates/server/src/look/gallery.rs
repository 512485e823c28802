//! The living page: every part of the look in its states, with invented words and figures.

mod forms;
mod parts;
mod pictures;

use super::{Place, Shell};
use maud::{Markup, html};
use rust_decimal::Decimal;

/// The page, following the device's theme, or in the one that is named.
pub fn gallery(theme: Option<&'static str>) -> Markup {
    let shell = Shell {
        laboratory: "Invented Aggregates Laboratory".into(),
        title: "The look".into(),
        lead: "Every part of the page in its states. All names and figures are invented.".into(),
        here: "/look".into(),
        place: Some(Place::Benches),
        help: Some(("Help: Your first proved machine".into(), "/guide/first-machine".into())),
        crumbs: vec![("Benches".into(), "/".into()), ("Apparatus".into(), "/equipment".into())],
        person: Some(("IB".into(), "Ines Brandt".into())),
        // No journal stands behind this page, so it listens to none.
        journal: None,
        is_invented: true,
        read_only: Some("The journal's chain is broken at fact 912; see the journal.".into()),
        now: "2031-03-04T13:20:00Z".into(),
        draft_clear: None,
        first_hash: "".into(),
        is_outside: false,
        has_accounts: false,
        theme,
    };
    shell.page(&html! { (pictures::show()) (forms::show()) (parts::show()) })
}

fn section(heading: &str, body: &Markup) -> Markup {
    html! { section.section { h2 { (heading) } (body) } }
}

/// A figure of the gallery, in thousandths.
fn milli(thousandths: i64) -> Decimal {
    Decimal::new(thousandths, 3).normalize()
}
