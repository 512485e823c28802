//! A guided check: one step at a time, the whole of it below.

use super::parts::{self, Field, Form};
use super::{Page, View, attachments};
use crate::form::Typed;
use crate::look::{self, Tone};
use maud::{Markup, html};
use stonewear_lab::fact::Seen;
use stonewear_lab::state::{Check, CheckState};
use stonewear_measure::Decimal;
use stonewear_measure::balance::shown;
use stonewear_procedure::balls::mend;
use stonewear_procedure::{Expect, ItemKind, Jars, Step, expect_in_words};

const OBSERVE: &str = "observe";
const GIVE_UP: &str = "give-up-check";

pub(super) fn page(view: &View<'_>, code: &str) -> Option<Page> {
    let check = view.lab.checks.get(code)?;
    let body = html! {
        p { "Of " a.code href={ "/equipment/" (check.item) } { (check.item) } ", begun " (parts::moment(view, check.started.at))
            " by " (parts::person(view, check.started.by.as_str())) }
        @match check.state() {
            CheckState::At(step) => { (at_step(view, check, step)) },
            CheckState::Ended { passed } => { (ended(check, passed)) },
        }
        (parts::section("All steps", steps(view, check)))
        (parts::go("Record of this check as PDF", &format!("/checks/{code}/record.pdf")))
        (super::corrections::of_check(view, check))
        @match check.state() {
            // The form stands at the step at hand.
            CheckState::At(_) => (parts::section("Photos and files", attachments::list(view, code))),
            CheckState::Ended { .. } => (attachments::section(view, code)),
        }
        @if let CheckState::At(_) = check.state() { (give_up(view, check)) }
    };
    let title = format!("{} · {}", parts::capital(&check.procedure.title), check.code);
    let item = check.item.to_string();
    let path = format!("/equipment/{item}");
    Some(Page::new(title, body).below("Equipment", "/equipment").below(item, path))
}

fn at_step(view: &View<'_>, check: &Check, step: &Step) -> Markup {
    // What was typed for a step that another tablet has done meanwhile does not belong here.
    let nothing = Typed::default();
    let is_for_this_step = view.typed.value(OBSERVE, "step").is_none_or(|typed| typed == step.id);
    let view = &View { typed: if is_for_this_step { view.typed } else { &nothing }, ..*view };
    let failed = check.last_observation(&step.id).is_some_and(|seen| !seen.value.holds());
    html! {
        section class="panel step bench" {
            p.step-count { "Step " (check.steps_done() + 1) " of " (check.procedure.steps.len()) " · " (jars(step.jars)) }
            h2 { (step.title) }
            p.step-do { (step.instruction) }
            @if let Some(caution) = &step.caution { (parts::caution(parts::hazard_of(&caution.text), &caution.text, &caution.source)) }
            @if failed {
                p { (look::mark(Tone::Bad, "It was not as it must be")) " " (step.on_failure) }
                (mending(check, step))
            }
            (Form::new(view, OBSERVE, "Record").hidden("check", check.code.as_str()).hidden("step", &step.id).no_button().body(answer(view, step)))
            (super::why::of_step(check, step))
            (attachments::form(view, check.code.as_str(), &step.id))
        }
    }
}

fn answer(view: &View<'_>, step: &Step) -> Markup {
    match &step.expect {
        Expect::Seen { what } => html! {
            p.expect { b { (what) } }
            (Field::text(view, OBSERVE, "note", "Note").optional())
            div.actions {
                button.button name="seen" value="yes" { "Yes, it is so" }
                (look::second_button("No", "seen", "no"))
            }
        },
        Expect::Number { what, unit, limits, instrument, .. } => html! {
            (Field::number(view, OBSERVE, "seen", what).unit(unit).limits(*limits).bench().focus())
            @if let Some(kind) = instrument { (parts::item_select(view, OBSERVE, "instrument", "Read with", *kind)) }
            details open[view.typed.problem(OBSERVE, "uncertainty").is_some()] {
                summary { "Guard the verdict with the uncertainty of the reading" }
                (Field::number(view, OBSERVE, "uncertainty", "Expanded uncertainty, k = 2").unit(unit).optional()
                    .hint("it then passes only well inside the limits: a pass is wrong in 2.5 % of cases at most (ILAC-G8:09/2019)"))
            }
            (Field::text(view, OBSERVE, "note", "Note").optional())
            (look::actions(&look::button("Record")))
        },
    }
}

/// For a ball charge that is too light or too heavy: how many balls mend it.
fn mending(check: &Check, step: &Step) -> Markup {
    let seen = check.last_observation(&step.id).map(|seen| seen.value.known());
    let (Some(Seen::Number(charge_g)), Expect::Number { limits, .. }) = (seen, &step.expect) else {
        return html! {};
    };
    let is_charge = check.procedure.proves_kind == ItemKind::BallCharge
        && check.procedure.proves.iter().any(|proved| proved == "mass");
    let sizes = [Decimal::new(95, 1), Decimal::TEN];
    let mendings: Vec<_> =
        sizes.into_iter().filter_map(|diameter_mm| mend(*charge_g, *limits, diameter_mm)).collect();
    html! {
        @if is_charge && !mendings.is_empty() {
            ul { @for mending in &mendings { li { (mending) } } }
            p.quiet { "The mass of a ball is derived from its diameter and the density of steel (7.8 g/cm³, from memory, unconfirmed): weigh the charge again." }
        }
    }
}

fn jars(jars: Jars) -> &'static str {
    match jars {
        Jars::Out => "no jar in the machine",
        Jars::In => "jars in the machine",
        Jars::NotInvolved => "on the bench",
    }
}

fn ended(check: &Check, passed: bool) -> Markup {
    let reason = check.ended.as_ref().map(|ended| ended.value.reason.clone()).unwrap_or_default();
    html! {
        p { @if passed { (look::mark(Tone::Good, "passed")) } @else { (look::mark(Tone::Bad, "not passed")) } @if !reason.is_empty() { " " (reason) } }
        (parts::go(&format!("On with {}", check.item), &format!("/equipment/{}", check.item)))
    }
}

fn steps(view: &View<'_>, check: &Check) -> Markup {
    let latest = check.latest();
    let rows = (1_usize..).zip(&check.procedure.steps).map(|(number, step)| {
        let seen = latest.get(step.id.as_str());
        let times = check.observations.iter().filter(|one| one.value.step == step.id).count();
        vec![
            html! { (number) },
            html! { (step.title) br; span.quiet { (expect_in_words(&step.expect)) } },
            html! {
                @if let Some(seen) = seen {
                    @match seen.value.known() {
                        Seen::AsExpected(true) => "✓ yes",
                        Seen::AsExpected(false) => "✕ no",
                        Seen::Number(value) => { (shown(*value)) @if !seen.value.as_read.is_empty() { " (read as " (seen.value.as_read) ")" } @if let Some(uncertainty) = seen.value.uncertainty { " ± " (uncertainty) } @if seen.value.holds() { " ✓" } @else { " ✕" } },
                    }
                    @if times > 1 { " " span.quiet { "(" (times) " times)" } }
                    @if !seen.value.note.is_empty() { br; span.quiet { (seen.value.note) } }
                }
            },
            html! { @if let Some(seen) = seen { (parts::person(view, seen.by.as_str())) ", " (parts::moment(view, seen.at)) } },
        ]
    });
    parts::table("Steps of this check", &["No.", "Step", "Seen", "By"], &[], rows.collect())
}

fn give_up(view: &View<'_>, check: &Check) -> Markup {
    html! {
        details open[view.typed.was_refused(GIVE_UP)] {
            summary { "It cannot be passed" }
            (Form::new(view, GIVE_UP, "End the check and hold the item").hidden("check", check.code.as_str()).body(html! {
                (Field::text(view, GIVE_UP, "reason", "Why"))
            }))
        }
    }
}
