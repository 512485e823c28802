//! Two answers to one step: what another person recorded meanwhile, and what was typed here. Both
//! are shown, and neither takes the place of the other.

use super::{OBSERVE, observed};
use crate::look;
use crate::page::View;
use crate::page::parts::{self, Field, Form};
use maud::{Markup, html};
use stonewear_lab::state::{Check, CheckState};
use stonewear_procedure::{Expect, Step};

/// Nothing, unless what was typed is for a step that has been passed meanwhile.
pub(super) fn panel(view: &View<'_>, check: &Check) -> Markup {
    let typed = view.typed.value(OBSERVE, "step");
    let past = typed.filter(|step| check.is_passed(step)).and_then(|id| check.procedure.step(id));
    match past {
        Some(step) if view.typed.was_refused(OBSERVE) => of_step(view, check, step),
        _ => html! {},
    }
}

fn of_step(view: &View<'_>, check: &Check, step: &Step) -> Markup {
    let typed = |field: &str| view.typed.value(OBSERVE, field).unwrap_or_default();
    let unit = match &step.expect {
        Expect::Number { unit, .. } => unit.as_str(),
        Expect::Seen { .. } => "",
    };
    let here = match (&step.expect, typed("seen")) {
        (Expect::Seen { .. }, "yes") => "✓ yes",
        (Expect::Seen { .. }, "no") => "✕ no",
        (_, other) => &super::reading::in_words(other, typed("less")),
    };
    html! {
        section.panel.conflict {
            h2 { "Two answers to “" (step.title) "”" }
            p { "This step was recorded while you were at it. What was recorded stays; what you typed is not recorded yet." }
            (look::facts(&[
                ("Recorded", html! {
                    @if let Some(seen) = check.last_observation(&step.id) {
                        strong { (observed(check, step, seen)) } @if !unit.is_empty() { " " (unit) }
                        ", " (parts::person(view, seen.by.as_str())) ", " (parts::moment(view, seen.at))
                    }
                }),
                ("Typed here", html! {
                    strong { (here) } @if !unit.is_empty() { " " (unit) }
                    @if !typed("note").is_empty() { br; span.quiet { (typed("note")) } }
                }),
            ]))
            @match check.state() {
                CheckState::At(_) => {
                    p { "If you saw it yourself, record it beside the other. Where the two disagree, the check goes back to this step." }
                    (second(view, check, step))
                }
                CheckState::Ended { .. } => p { "The check has ended. If what was recorded is wrong, correct it below." },
            }
            (look::actions(&look::link_button("Let it go", view.path)))
        }
    }
}

fn second(view: &View<'_>, check: &Check, step: &Step) -> Markup {
    let typed = |field: &str| view.typed.value(OBSERVE, field).unwrap_or_default();
    let scope = "second";
    let form = Form::new(view, OBSERVE, "Record it as a second observation")
        .part(&format!("{}:second", step.id))
        .hidden("check", check.code.as_str())
        .hidden("step", &step.id)
        .hidden("second", "yes");
    let note = Field::text(view, OBSERVE, "note", "Note").scope(scope).optional();
    match &step.expect {
        Expect::Seen { .. } => form.hidden("seen", typed("seen")).body(html! { (note) }),
        Expect::Number { .. } => form
            .hidden("instrument", typed("instrument"))
            .hidden("uncertainty", typed("uncertainty"))
            .body(html! {
                (super::reading::fields(view, check, step, scope, false))
                (note)
            }),
    }
}
