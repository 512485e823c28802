//! Cautions: shown where the work can hurt someone, before the work.

use super::Words;
use maud::{Markup, Render, html};

/// What can hurt.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Hazard {
    /// Turning jars and rollers that draw a hand in.
    Turning,
    /// Mains electricity, near water.
    Mains,
    /// A weight to lift.
    Lifting,
    /// Hot oven, hot pans.
    Hot,
    /// Dust that harms the lungs.
    Dust,
    /// Noise that harms the ears.
    Noise,
    /// Anything else.
    Other,
}

/// A caution with its source. Local codes and licensed people go before it.
#[derive(Debug, Clone)]
pub struct Caution<'a> {
    /// What can hurt.
    pub hazard: Hazard,
    /// The caution in a few words.
    pub heading: Words<'a>,
    /// What to do, and what never to do.
    pub words: Words<'a>,
    /// Where it is said, or that it is common practice; may be empty.
    pub source: Words<'a>,
}

impl Hazard {
    fn drawing(self) -> &'static str {
        match self {
            Self::Turning => {
                "M18.5 36a4.5 4.5 0 1 1 .1 0zM29.5 36a4.5 4.5 0 1 1 .1 0zM21 18v6M24 16.5v9.5M27 18v6"
            }
            Self::Mains => "M25.5 17l-6 9.5h7.5l-5 10",
            Self::Lifting => "M18 27.5h12v9h-12zM24 15v8M20.5 20l3.5 3.5 3.5-3.5",
            Self::Hot => {
                "M17.5 36.5c-2.5-3.5 2.5-5.5 0-9M24 36.5c-3-5 3-8.5 0-14M30.5 36.5c-2.5-3.5 2.5-5.5 0-9"
            }
            Self::Dust => {
                "M24 20v.1M20 26v.1M27.5 25v.1M17 33v.1M23 31v.1M29.5 31.5v.1M20.5 37v.1M26.5 36.5v.1M33 36.5v.1"
            }
            Self::Noise => "M17 28.5h3.5l5-4v12l-5-4H17zM29 27.5c1.8 1.8 1.8 4.2 0 6",
            Self::Other => "M24 18v11M24 35v.1",
        }
    }
}

impl Render for Caution<'_> {
    fn render(&self) -> Markup {
        html! {
            div.caution role="note" {
                svg viewBox="0 0 48 48" width="48" height="48" aria-hidden="true" fill="none"
                    stroke="currentColor" stroke-width="2.5" stroke-linecap="round"
                    stroke-linejoin="round" {
                    path d="M24 5L45.5 42h-43z" {}
                    path d=(self.hazard.drawing()) {}
                }
                strong { (self.heading) }
                p { (self.words) }
                @if !self.source.is_empty() { p.source { (self.source) } }
            }
        }
    }
}
