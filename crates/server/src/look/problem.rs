//! What is wrong, where, and what would be right.

use super::{Tone, Words};
use maud::{Markup, html};

/// What is wrong with one field, or with the whole form.
#[derive(Debug, Clone, Default)]
pub struct Problem<'a> {
    /// The id of the field's input; empty where no one field is meant.
    pub id: Words<'a>,
    /// What is wrong, as a sentence.
    pub message: Words<'a>,
    /// What would be right; may be empty.
    pub hint: Words<'a>,
}

/// The message beside its field. `id` is what the field's `aria-describedby` names.
pub fn problem_beside(id: &str, problem: &Problem<'_>) -> Markup {
    html! {
        p.problem id=(id) {
            (Tone::Bad.shape())
            span {
                (problem.message)
                @if !problem.hint.is_empty() { " " span.right { (problem.hint) } }
            }
        }
    }
}

/// All problems at the top of the form, each a link to its field; nothing where there is none.
/// It takes the focus when the page is shown, so that it is the first thing that is heard.
pub fn problem_summary(problems: &[Problem<'_>]) -> Markup {
    let heading = match problems.len() {
        0 => return html! {},
        1 => "Nothing was recorded. One thing is wrong:".to_owned(),
        many => format!("Nothing was recorded. {many} things are wrong:"),
    };
    html! {
        div.problems role="group" aria-label="Problems" tabindex="-1" data-problems {
            strong { (heading) }
            ul {
                @for problem in problems {
                    li {
                        @if problem.id.is_empty() { (problem.message) }
                        @else { a href={ "#" (problem.id) } { (problem.message) } }
                        @if !problem.hint.is_empty() { " " (problem.hint) }
                    }
                }
            }
            p { "What you typed is still in the form." }
        }
    }
}
