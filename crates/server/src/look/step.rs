//! A step of a check: one question at the bench, the same with all about it at the desk.

use super::{Caution, Words};
use maud::{Markup, Render, html};

/// Where the page is read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum Mode {
    /// Standing at the machine: one step fills the page.
    #[default]
    Bench,
    /// Sitting: all steps one below the other.
    Desk,
}

impl Mode {
    /// Its word, as it stands in addresses.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Bench => "bench",
            Self::Desk => "desk",
        }
    }
}

impl std::str::FromStr for Mode {
    type Err = ();

    fn from_str(word: &str) -> Result<Self, ()> {
        [Self::Bench, Self::Desk].into_iter().find(|mode| mode.as_str() == word).ok_or(())
    }
}

/// One step: what to do, what can hurt, what to observe, why.
#[derive(Debug, Clone)]
pub struct Step<'a> {
    /// Where it is read.
    pub mode: Mode,
    /// Its number, from 1.
    pub number: usize,
    /// How many steps there are.
    pub of: usize,
    /// What the step is called.
    pub title: Words<'a>,
    /// What to do.
    pub instruction: Words<'a>,
    /// What can hurt.
    pub cautions: Vec<Caution<'a>>,
    /// Its state or verdict, a [`mark`](super::mark); may be empty.
    pub state: Markup,
    /// The form, or what was observed.
    pub body: Markup,
    /// Why the step is done; may be empty.
    pub why: Words<'a>,
    /// Where it is published; may be empty.
    pub source: Words<'a>,
}

impl Render for Step<'_> {
    fn render(&self) -> Markup {
        html! {
            section class=(match self.mode {
                Mode::Bench => "panel step bench",
                Mode::Desk => "panel step",
            }) {
                div.step-head {
                    span.step-count { "Step " (self.number) " of " (self.of) }
                    (self.state)
                }
                h2 id={ "step-" (self.number) } { (self.title) }
                @for caution in &self.cautions { (caution) }
                @if !self.instruction.is_empty() { p.step-do { (self.instruction) } }
                (self.body)
                @if !self.why.is_empty() || !self.source.is_empty() {
                    details.why open[self.mode == Mode::Desk] {
                        summary { "Why, and where it is said" }
                        @if !self.why.is_empty() { p { (self.why) } }
                        @if !self.source.is_empty() { p.quiet { (self.source) } }
                    }
                }
            }
        }
    }
}
