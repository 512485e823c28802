//! Nobody has founded the laboratory yet: the one form that leads in.

use super::parts::{Field, Form};
use super::{Page, View};
use maud::html;

const REQUEST: &str = "found-laboratory";

pub(super) fn page(view: &View<'_>) -> Page {
    let form = Form::new(view, REQUEST, "Found the laboratory");
    let body = html! {
        (form.body(html! {
            (Field::text(view, REQUEST, "name", "Name of the laboratory").focus())
            (Field::text(view, REQUEST, "address", "Postal address"))
            (Field::text(view, REQUEST, "time_zone", "Time zone").optional().hint("like Europe/Madrid or America/Toronto; left empty, universal time"))
            (Field::text(view, REQUEST, "founder_name", "Your name"))
            (Field::text(view, REQUEST, "founder_code", "Your initials").hint("two to four letters, like RVK"))
        }))
        p.quiet {
            "To look around first, stop the program and start it with " code { "stonewear demo" }
            ": an invented laboratory, two years old."
        }
    };
    Page::new("A new laboratory", body).lead(
        "Nothing is kept here yet. Say what the laboratory is called and who you are; then register the \
         equipment, prove it, and test.",
    )
}
