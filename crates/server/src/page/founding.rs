//! Nobody has founded the laboratory yet: the one form that leads in.

use super::parts::{self, Field, Form};
use super::{Page, View};
use maud::html;

const REQUEST: &str = "found-laboratory";

/// The zones of the IANA database that name a place.
fn zones() -> Vec<String> {
    stonewear_lab::words::time_zones().filter(|name| name.contains('/')).collect()
}

pub(super) fn page(view: &View<'_>) -> Page {
    let form = Form::new(view, REQUEST, "Found the laboratory");
    let body = html! {
        p { a href="#look-around" { "Or look around in the demo laboratory first" } }
        (form.body(html! {
            (Field::text(view, REQUEST, "name", "Name of the laboratory").focus())
            (Field::text(view, REQUEST, "address", "Postal address"))
            (Field::text(view, REQUEST, "time_zone", "Time zone").optional().suggest(zones())
                .hint("begin with the town, like Madrid, and take it from the list; left empty, universal time"))
            (Field::text(view, REQUEST, "founder_name", "Your name"))
            (Field::text(view, REQUEST, "founder_code", "Your initials").hint("two to four letters, like RVK"))
        }))
        section.section id="look-around" {
            h2 { "Look around in the demo laboratory" }
            p { "It is invented, two years old, and lies in a folder of its own: nothing of it comes into this one. Leave this program running, open a second terminal, and type:" }
            p.command { code { "stonewear demo --listen 127.0.0.1:7641" } }
            p { "Then open " a href="http://127.0.0.1:7641/" { "http://127.0.0.1:7641/" } ". Come back here when you have seen enough." }
        }
        (parts::go("The guide: your first proved machine in 30 minutes", "/guide/first-machine"))
    };
    Page::new("A new laboratory", body).lead(
        "Nothing is kept here yet. Say what the laboratory is called and who you are; then register the \
         equipment, prove it, and test.",
    )
}
