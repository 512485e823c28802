//! People and items, always shown the same way.

use super::{Tone, mark};
use maud::{Markup, html};

/// A person: the sign that they use, and their name.
pub fn person(sign: &str, name: &str) -> Markup {
    html! { span.person { span.person-sign aria-hidden="true" { (sign) } span { (name) } } }
}

/// An item: its code, its name and its state.
pub fn item(code: &str, name: &str, href: Option<&str>, tone: Tone, state: &str) -> Markup {
    html! {
        div.item {
            @match href {
                Some(href) => { a.item-code href=(href) { (code) } }
                None => { span.item-code { (code) } }
            }
            span.item-name { (name) }
            (mark(tone, state))
        }
    }
}
