//! What is known of a thing, and how a figure was worked out.

use maud::{Markup, html};

/// Names with what they are, such as `facts(&[("Received", html! { "3 March" })])`.
pub fn facts(lines: &[(&str, Markup)]) -> Markup {
    html! {
        dl.facts {
            @for (name, what) in lines { dt { (name) } dd { (what) } }
        }
    }
}

/// A worked formula, line by line down to the result, with where it is published.
pub fn formula(heading: &str, lines: &[String], source: &str) -> Markup {
    html! {
        div.formula role="group" aria-label=(heading) {
            strong { (heading) }
            ol { @for line in lines { li { (line) } } }
            @if !source.is_empty() { p.source { (source) } }
        }
    }
}
