//! State marks: a word, a shape and a colour, never one alone.

use super::Words;
use super::figure::strip_alone;
use maud::{Markup, html};
use stonewear_picture::ToleranceStrip;

/// What a state means for whoever looks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Tone {
    /// Holds, is proved, is done. A disc with a tick.
    Good,
    /// Holds, but look at it. A diamond.
    Edge,
    /// Does not hold. A square with a cross.
    Bad,
    /// Is being done now. A ring, part of it heavy.
    Active,
    /// Neither good nor bad. An open ring.
    Plain,
}

impl Tone {
    pub(super) fn class(self) -> &'static str {
        match self {
            Self::Good => "good",
            Self::Edge => "edge",
            Self::Bad => "bad",
            Self::Active => "active",
            Self::Plain => "plain",
        }
    }

    /// The shape, in the colour of the words around it.
    pub(super) fn shape(self) -> Markup {
        html! {
            svg viewBox="0 0 20 20" width="20" height="20" aria-hidden="true" fill="none"
                stroke="currentColor" stroke-width="2" stroke-linecap="round" stroke-linejoin="round" {
                @match self {
                    Self::Good => {
                        circle cx="10" cy="10" r="8" {}
                        path d="M6.4 10.4l2.6 2.6 4.8-5.6" {}
                    }
                    Self::Edge => {
                        path d="M10 1.6L18.4 10 10 18.4 1.6 10z" {}
                        path d="M10 6.4v4.2M10 13.6v.1" {}
                    }
                    Self::Bad => {
                        path d="M3 3h14v14H3z" {}
                        path d="M7 7l6 6M13 7l-6 6" {}
                    }
                    Self::Active => {
                        circle cx="10" cy="10" r="7.6" stroke-width="1.2" {}
                        path d="M10 2.4a7.6 7.6 0 1 1-7.2 5.2" stroke-width="3" {}
                    }
                    Self::Plain => { circle cx="10" cy="10" r="6.5" {} }
                }
            }
        }
    }
}

/// A state said three ways, such as `mark(Tone::Good, "In service")`.
pub fn mark<'a>(tone: Tone, word: impl Into<Words<'a>>) -> Markup {
    html! { span class={ "mark " (tone.class()) } { (tone.shape()) (word.into()) } }
}

/// What stands under a field as it is typed: the verdict, and the picture where there is a limit.
/// The answer of a judging address is this.
pub fn verdict<'a>(
    tone: Tone,
    words: impl Into<Words<'a>>,
    strip: Option<&ToleranceStrip>,
) -> Markup {
    html! {
        (mark(tone, words))
        @if let Some(strip) = strip { (strip_alone(strip)) }
    }
}
