//! The evidence line: what a result stands on, link by link.
//!
//! It is an ordered list with a small drawing at each link, not one drawing: so it wraps on a
//! wide page, stands upright on a narrow one, and is read link by link by those who hear it. The
//! rail between the links is a border, because a print leaves grounds out and keeps borders.

use crate::Colour;
use crate::draw::{disc, path, plain, ring, shape};
use maud::{Markup, html};

/// The way from a result back to what it stands on, or from a fault on to what it touches.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct EvidenceLine {
    /// What the line shows, such as `What result R-12 stands on`.
    pub label: String,
    /// Its links, in order.
    pub links: Vec<Link>,
}

/// One link.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Link {
    /// What it is: `Result`, `Run`, `Balance` and so on.
    pub kind: String,
    /// Its code.
    pub code: String,
    /// Its name; may be empty.
    pub name: String,
    /// Where it leads.
    pub href: Option<String>,
    /// Since when it is proved, or when it was recorded, in words.
    pub since: Option<String>,
    /// Until when it is proved, in words.
    pub until: Option<String>,
    /// Whether it holds.
    pub state: LinkState,
    /// What else must be known; may be empty.
    pub note: String,
}

/// Whether a link holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum LinkState {
    /// A check proves it for the time that matters.
    Proved,
    /// Proved, but not for long.
    ExpiresSoon,
    /// Nothing proves it: the line is broken here.
    NotProved,
    /// Recorded as it happened; it needs no proof.
    #[default]
    Recorded,
}

impl LinkState {
    /// The state as people say it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Proved => "Proved",
            Self::ExpiresSoon => "Expires soon",
            Self::NotProved => "Not proved",
            Self::Recorded => "Recorded",
        }
    }

    fn class(self) -> &'static str {
        match self {
            Self::Proved => "link proved",
            Self::ExpiresSoon => "link expires-soon",
            Self::NotProved => "link not-proved",
            Self::Recorded => "link recorded",
        }
    }

    /// A disc with a tick, a diamond, an open ring torn apart, a plain ring.
    fn node(self) -> Markup {
        let centre = (14.0, 14.0);
        html! {
            svg xmlns="http://www.w3.org/2000/svg" class="node" viewBox="0 0 28 28" width="28"
                height="28" aria-hidden="true" {
                @match self {
                    Self::Proved => {
                        (disc(centre, 11.0, Colour::Good))
                        (path("M9 14.5L12.6 18L19.2 10.4", 2.4, Colour::Surface))
                    }
                    Self::ExpiresSoon => {
                        (shape("M14 1.5L26.5 14L14 26.5L1.5 14Z", Colour::Surface))
                        (path("M14 3L25 14L14 25L3 14Z", 2.4, Colour::Edge))
                        (path("M14 9V14.6", 2.6, Colour::Edge))
                        (disc((14.0, 19.0), 1.6, Colour::Edge))
                    }
                    Self::NotProved => {
                        (path("M9.5 4.2A11 11 0 0 0 9.5 23.8M18.5 4.2A11 11 0 0 1 18.5 23.8", 2.6, Colour::Bad))
                        (path("M10 10L18 18M18 10L10 18", 3.0, Colour::Bad))
                    }
                    Self::Recorded => {
                        (disc(centre, 11.0, Colour::Surface))
                        (ring(centre, 9.5, 2.6, Colour::Quiet))
                    }
                }
            }
        }
    }
}

impl EvidenceLine {
    /// Whether a link of the line does not hold.
    pub fn is_broken(&self) -> bool {
        self.links.iter().any(|link| link.state == LinkState::NotProved)
    }

    /// The list, to stand on a page.
    pub fn markup(&self) -> Markup {
        html! {
            ol.evidence-line aria-label=[(!self.label.is_empty()).then_some(&self.label)] {
                @for link in &self.links { (link.markup()) }
            }
        }
    }
}

impl Link {
    fn markup(&self) -> Markup {
        let time = match (&self.since, &self.until) {
            (Some(since), Some(until)) => format!("{since} to {until}"),
            (Some(since), None) if self.state == LinkState::Recorded => since.clone(),
            (Some(since), None) => format!("since {since}"),
            (None, Some(until)) => format!("until {until}"),
            (None, None) => String::new(),
        };
        html! {
            li class=(self.state.class()) {
                (self.state.node())
                div.link-body {
                    span.link-kind { (plain(&self.kind)) } " "
                    @match &self.href {
                        Some(href) => { a.link-code href=(href) { (plain(&self.code)) } }
                        None => { span.link-code { (plain(&self.code)) } }
                    }
                    @if !self.name.is_empty() { " " span.link-name { (plain(&self.name)) } }
                    " " span.link-state { (self.state.word()) }
                    @if !time.is_empty() { " " span.link-time { (time) } }
                    @if !self.note.is_empty() { " " span.link-note { (plain(&self.note)) } }
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_link_says_its_state_in_a_word() {
        let line = EvidenceLine {
            label: "What R-1 stands on".into(),
            links: vec![
                Link { kind: "Result".into(), code: "R-1".into(), ..Link::default() },
                Link {
                    kind: "Balance".into(),
                    code: "B<2".into(),
                    href: Some("/equipment/B2".into()),
                    until: Some("3 March".into()),
                    state: LinkState::NotProved,
                    ..Link::default()
                },
            ],
        };
        assert!(line.is_broken());
        let html = line.markup().into_string();
        let (_, broken) = html.split_once(r#"<li class="link not-proved">"#).unwrap();
        let words = broken.split_once(r#"<div class="link-body">"#).unwrap().1;
        insta::assert_snapshot!(words, @r#"<span class="link-kind">Balance</span> <a class="link-code" href="/equipment/B2">B&lt;2</a> <span class="link-state">Not proved</span> <span class="link-time">until 3 March</span></div></li></ol>"#);
    }

    #[test]
    fn a_line_without_links_is_an_empty_list() {
        assert_eq!(
            EvidenceLine::default().markup().into_string(),
            r#"<ol class="evidence-line"></ol>"#
        );
        assert!(!EvidenceLine::default().is_broken());
    }
}
