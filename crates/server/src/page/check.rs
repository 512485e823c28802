//! A guided check: at the bench one step fills the page, at a desk all of them stand one below the
//! other.

mod conflict;
mod reading;

pub(crate) use reading::difference_in;

use super::parts::{self, Field, Form};
use super::{Page, View, attachments};
use crate::form::Typed;
use crate::look::{self, Mode, Tone};
use maud::{Markup, html};
use stonewear_lab::fact::Seen;
use stonewear_lab::state::{Check, CheckState, Noted, Observation};
use stonewear_measure::Decimal;
use stonewear_measure::balance::shown;
use stonewear_procedure::balls::mend;
use stonewear_procedure::{Expect, ItemKind, Jars, Step, expect_in_words};

const OBSERVE: &str = "observe";
const GIVE_UP: &str = "give-up-check";
/// So many steps after the one at hand can be answered at the bench while the line is down.
const AHEAD: usize = 8;

pub(super) fn page(view: &View<'_>, code: &str) -> Option<Page> {
    let check = view.lab.checks.get(code)?;
    let mode = view.seat.mode;
    let is_open = matches!(check.state(), CheckState::At(_));
    let body = html! {
        p { "Of " a.code href={ "/equipment/" (check.item) } { (check.item) } ", begun " (parts::moment(view, check.started.at))
            " by " (parts::person(view, check.started.by.as_str())) }
        @if is_open { (modes(view)) }
        (conflict::panel(view, check))
        @match (check.state(), mode) {
            (CheckState::At(_), Mode::Bench) => { (at_the_bench(view, check)) },
            (CheckState::At(_), Mode::Desk) => { (at_the_desk(view, check)) },
            (CheckState::Ended { passed }, _) => { (ended(check, passed)) },
        }
        // The script keeps the screen on, and says so here.
        @if is_open { div data-awake {} }
        // At the desk the steps stand above, each with what was seen.
        @if !is_open || mode == Mode::Bench { (parts::section("All steps", steps(view, check))) }
        (parts::go("Record of this check as PDF", &format!("/checks/{code}/record.pdf")))
        (super::corrections::of_check(view, check))
        // While it is open, the form stands at the step at hand.
        @if is_open { (parts::section("Photos and files", attachments::list(view, code))) }
        @else { (attachments::section(view, code)) }
        @if is_open { (give_up(view, check)) }
    };
    let title = format!("{} · {}", parts::capital(&check.procedure.title), check.code);
    let item = check.item.to_string();
    let path = format!("/equipment/{item}");
    Some(Page::new(title, body).below("Equipment", "/equipment").below(item, path))
}

/// The switch between bench and desk.
fn modes(view: &View<'_>) -> Markup {
    html! {
        div.modes {
            nav aria-label="How the check is shown" {
                ul {
                    @for (mode, words) in [(Mode::Bench, "Bench: one step"), (Mode::Desk, "Desk: all steps")] {
                        li { a href={ (view.path) "?mode=" (mode.as_str()) } aria-current=[(view.seat.mode == mode).then_some("true")] { (words) } }
                    }
                }
            }
        }
    }
}

/// The step at hand; those after it are there for when the line is down, and not shown till then.
fn at_the_bench(view: &View<'_>, check: &Check) -> Markup {
    let done = check.steps_done();
    html! {
        @for (number, step) in (1_usize..).zip(&check.procedure.steps).skip(done).take(1 + AHEAD) {
            (step_to_do(view, check, number, step))
        }
    }
}

/// The whole sheet.
fn at_the_desk(view: &View<'_>, check: &Check) -> Markup {
    let latest = check.latest();
    let done = check.steps_done();
    html! {
        @for (number, step) in (1_usize..).zip(&check.procedure.steps) {
            @match latest.get(step.id.as_str()) {
                Some(seen) if number <= done => (step_done(view, check, number, step, seen)),
                _ => (step_to_do(view, check, number, step)),
            }
        }
    }
}

fn frame(view: &View<'_>, check: &Check, number: usize, step: &Step) -> look::Step<'static> {
    look::Step {
        mode: view.seat.mode,
        number,
        of: check.procedure.steps.len(),
        title: step.title.clone().into(),
        instruction: step.instruction.clone().into(),
        cautions: step
            .caution
            .iter()
            .map(|one| parts::caution_of(parts::hazard_of(&one.text), &one.text, &one.source))
            .collect(),
        state: html! { span.quiet { (jars(step.jars)) } },
        body: html! {},
        why: "".into(),
        source: "".into(),
    }
}

/// A step with its form: the one at hand, or one after it.
fn step_to_do(view: &View<'_>, check: &Check, number: usize, step: &Step) -> Markup {
    let is_at_hand = number == check.steps_done() + 1;
    // What was typed for one step does not belong to another.
    let nothing = Typed::default();
    let is_for_it = view.typed.value(OBSERVE, "step").is_some_and(|typed| typed == step.id);
    let view = &View { typed: if is_for_it { view.typed } else { &nothing }, ..*view };
    let scope = if is_at_hand { OBSERVE.to_owned() } else { format!("{OBSERVE}-{}", step.id) };
    let failed = check.last_observation(&step.id).is_some_and(|seen| !seen.value.holds());
    let form = Form::new(view, OBSERVE, "Record")
        .part(&step.id)
        .hidden("check", check.code.as_str())
        .hidden("step", &step.id)
        .no_button()
        .body(answer(view, check, &scope, step, is_at_hand));
    let body = html! {
        @if failed && is_at_hand {
            p { (look::mark(Tone::Bad, "It was not as it must be")) " " (step.on_failure) }
            (mending(check, step))
        }
        @if let Some(other) = led_back_by(check, step).filter(|_| is_at_hand) {
            p { (look::mark(Tone::Bad, format!("Led back by “{}”", other.title))) " " (other.on_failure) }
        }
        // Said by the script where an answer waits on this tablet.
        p.on-failure hidden data-on-failure { (step.on_failure) }
        (form)
        (super::why::of_step(check, step))
        @if is_at_hand { (attachments::form(view, check.code.as_str(), &step.id)) }
    };
    let is_hidden = !is_at_hand && view.seat.mode == Mode::Bench;
    html! {
        div.to-do data-step=(step.id) hidden[is_hidden] { (look::Step { body, ..frame(view, check, number, step) }) }
    }
}

/// The later step that was not as it must be, and led back to this one.
fn led_back_by<'c>(check: &'c Check, step: &Step) -> Option<&'c Step> {
    let last = check.observations.last().filter(|seen| !seen.value.holds())?;
    check.procedure.steps.iter().find(|one| one.id == last.value.step && one.id != step.id)
}

/// A step that was passed, with what was seen.
fn step_done(
    view: &View<'_>,
    check: &Check,
    number: usize,
    step: &Step,
    seen: &Noted<Observation>,
) -> Markup {
    let body = html! {
        (look::facts(&[
            (&parts::capital(&expect_in_words(&step.expect)), observed(check, step, seen)),
            ("By", html! { (parts::person(view, seen.by.as_str())) ", " (parts::moment(view, seen.at)) }),
        ]))
    };
    let state = look::mark(Tone::Good, "done");
    let step = look::Step { body, state, ..frame(view, check, number, step) };
    html! { (look::Step { instruction: "".into(), cautions: Vec::new(), ..step }) }
}

fn answer(view: &View<'_>, check: &Check, scope: &str, step: &Step, is_at_hand: bool) -> Markup {
    let note = Field::text(view, OBSERVE, "note", "Note").scope(scope).optional();
    match &step.expect {
        Expect::Seen { what } => html! {
            p.expect { b { (what) } }
            (note)
            div.actions {
                button.button name="seen" value="yes" { "Yes, it is so" }
                (look::second_button("No", "seen", "no"))
            }
        },
        Expect::Number { unit, instrument, .. } => {
            html! {
                (reading::fields(view, check, step, scope, is_at_hand))
                @if let Some(kind) = instrument { (parts::item_select_in(view, OBSERVE, scope, "instrument", "Read with", *kind)) }
                details open[view.typed.problem(OBSERVE, "uncertainty").is_some()] {
                    summary { "Guard the verdict with the uncertainty of the reading" }
                    (Field::number(view, OBSERVE, "uncertainty", "Expanded uncertainty, k = 2").scope(scope).unit(unit).optional()
                        .hint("it then passes only well inside the limits: a pass is wrong in 2.5 % of cases at most (ILAC-G8:09/2019)"))
                }
                (note)
                (look::actions(&look::button("Record")))
            }
        }
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
        vec![
            html! { (number) },
            html! { (step.title) br; span.quiet { (expect_in_words(&step.expect)) } },
            html! { @if let Some(seen) = seen { (observed(check, step, seen)) } },
            html! { @if let Some(seen) = seen { (parts::person(view, seen.by.as_str())) ", " (parts::moment(view, seen.at)) } },
        ]
    });
    parts::table("Steps of this check", &["No.", "Step", "Seen", "By"], &[], rows.collect())
}

/// What was seen or read at a step, and how often.
fn observed(check: &Check, step: &Step, seen: &Noted<Observation>) -> Markup {
    let times = check.observations.iter().filter(|one| one.value.step == step.id).count();
    html! {
        @match seen.value.known() {
            Seen::AsExpected(true) => "✓ yes",
            Seen::AsExpected(false) => "✕ no",
            Seen::Number(value) => { (shown(*value)) @if !seen.value.as_read.is_empty() { " (read as " (seen.value.as_read) ")" } @if let Some(uncertainty) = seen.value.uncertainty { " ± " (uncertainty) } @if seen.value.holds() { " ✓" } @else { " ✕" } },
        }
        @if times > 1 { " " span.quiet { "(" (times) " times)" } }
        @if !seen.value.note.is_empty() { br; span.quiet { (seen.value.note) } }
    }
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
