//! A page with nothing on it yet leads by the hand.

use super::{Tone, Words, mark};
use maud::{Markup, Render, html};

/// What stands where nothing is yet.
#[derive(Debug, Clone, Default)]
pub struct Empty<'a> {
    /// What is not there yet, as a heading.
    pub heading: Words<'a>,
    /// What will stand here, and why it is worth it.
    pub words: Words<'a>,
    /// The way there; may be empty.
    pub steps: Vec<StepAhead<'a>>,
    /// What to do now: links or a button.
    pub action: Markup,
}

/// One step of the way.
#[derive(Debug, Clone, Default)]
pub struct StepAhead<'a> {
    /// What is done in it.
    pub words: Words<'a>,
    /// It is behind us.
    pub is_done: bool,
}

impl Render for Empty<'_> {
    fn render(&self) -> Markup {
        let now = self.steps.iter().position(|step| !step.is_done);
        html! {
            section.empty {
                h2 { (self.heading) }
                p { (self.words) }
                @if !self.steps.is_empty() {
                    ol.steps-ahead {
                        @for (n, step) in self.steps.iter().enumerate() {
                            li aria-current=[(now == Some(n)).then_some("step")] {
                                (step.words)
                                @if step.is_done { " " (mark(Tone::Good, "done")) }
                            }
                        }
                    }
                }
                div.actions { (self.action) }
            }
        }
    }
}
