//! What is read at a step: one number, or the two readings whose difference is judged. Nobody
//! subtracts by hand, and both readings stay in the record.

use super::OBSERVE;
use crate::page::View;
use crate::page::parts::{Field, capital};
use maud::{Markup, html};
use stonewear_lab::fact::{Fact, Seen};
use stonewear_lab::state::Check;
use stonewear_measure::balance::shown;
use stonewear_procedure::{Difference, Expect, Step};

/// The fields that a number is typed into.
pub(super) fn fields(
    view: &View<'_>,
    check: &Check,
    step: &Step,
    scope: &str,
    has_focus: bool,
) -> Markup {
    let Expect::Number { what, unit, limits, difference, .. } = &step.expect else {
        return html! {};
    };
    let field = |name: &'static str, label: &str| {
        Field::number(view, OBSERVE, name, label).scope(scope).unit(unit).bench()
    };
    let first = |label: &str| {
        let first = field("seen", label);
        if has_focus { first.focus() } else { first }
    };
    match difference {
        None => html! { (first(what).limits(*limits)) },
        Some(Difference::Less { read, less }) => html! {
            (first(&capital(read)))
            (field("less", &capital(less)).limits(*limits).difference(what))
        },
        Some(Difference::From { read, from }) => html! {
            p { (before(check, from)) }
            (first(&capital(read)).limits(*limits).difference(what))
        },
    }
}

/// What an earlier step is compared with.
fn before(check: &Check, from: &str) -> Markup {
    let Some(step) = check.procedure.step(from) else { return html! {} };
    let unit = match &step.expect {
        Expect::Number { unit, .. } => unit.as_str(),
        Expect::Seen { .. } => "",
    };
    let known = check.last_observation(from).map(|seen| seen.value.known());
    html! {
        (step.title) ": "
        @match known {
            Some(Seen::Number(value)) => b.number { (shown(*value)) " " (unit) },
            _ => "not read yet",
        }
    }
}

/// The difference that an answer comes to, where the request would be taken.
pub(crate) fn difference_in(facts: &[Fact]) -> Option<String> {
    facts.iter().find_map(|fact| match fact {
        Fact::StepObserved { seen: Seen::Number(value), .. } => Some(value.to_string()),
        _ => None,
    })
}

/// What was typed, as it reads beside what somebody else recorded.
pub(super) fn in_words(seen: &str, less: &str) -> String {
    if less.trim().is_empty() { seen.to_owned() } else { format!("{seen} − {less}") }
}
