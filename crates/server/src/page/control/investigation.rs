//! An investigation, step by step: each a check, or something to look at and write down.

use crate::look::{self, Hazard, Tone};
use crate::page::doubts::provable;
use crate::page::parts::{self, Field, Form};
use crate::page::{Page, View};
use maud::{Markup, html};
use stonewear_lab::control::{Step, StepKind, StepState};
use stonewear_lab::decide::items::procedures_for;
use stonewear_lab::state::Investigation;
use stonewear_procedure::ItemKind;

const FINDING: &str = "record-finding";
const CLOSE: &str = "close-investigation";
const DOUBT: &str = "open-doubt";

pub(in crate::page) fn investigation(view: &View<'_>, code: &str) -> Option<Page> {
    let investigation = view.lab.investigations.get(code)?;
    let steps = view.lab.steps_of(investigation);
    let chart = format!("/control/{}/{}", investigation.lot, investigation.apparatus);
    let last = investigation.last_in_control.as_deref();
    let body = html! {
        p.standing-line { (super::investigation_state(investigation)) }
        (look::facts(&[
            ("Result", html! { a.code href={ "/results/" (investigation.point) } { (investigation.point) } ", " (investigation.opened.value) }),
            ("Chart", html! { a href=(chart) { (investigation.lot) " on " (investigation.apparatus) } }),
            ("Last in control", html! { (last.unwrap_or("none before it")) }),
            ("Opened", html! { (parts::moment(view, investigation.opened.at)) ", " (parts::person(view, investigation.opened.by.as_str())) }),
        ]))
        (ended(view, investigation))
        (parts::section("Steps", html! {
            p { "What is quick to look at comes first. The order is common practice, no published source." }
            ol.tasks { @for step in &steps { li { (shown(view, investigation, step)) } } }
        }))
        @if investigation.is_open() {
            (parts::section("Record what was found", finding(view, investigation, &steps)))
            (parts::section("A second specimen", repeat(view, investigation)))
            (parts::section("Results in doubt", doubt(view, investigation)))
            (parts::section("Finish it", close(view, investigation)))
        }
        (crate::page::attachments::section(view, code))
    };
    Some(
        Page::new(format!("Investigation {}", investigation.code), body)
            .below("In control", "/control"),
    )
}

fn ended(view: &View<'_>, investigation: &Investigation) -> Markup {
    let Some(closed) = &investigation.closed else { return html! {} };
    let value = &closed.value;
    parts::section(
        "How it ended",
        look::facts(&[
            ("Cause", html! { (value.cause) }),
            ("What was done", html! { (value.done) }),
            ("Results since", html! { (value.past_results) }),
            (
                "In control again",
                html! { a.code href={ "/results/" (value.repeat) } { (value.repeat) } },
            ),
            (
                "Finished",
                html! { (parts::moment(view, closed.at)) ", " (parts::person(view, closed.by.as_str())) },
            ),
        ]),
    )
}

fn shown(view: &View<'_>, investigation: &Investigation, step: &Step) -> Markup {
    let mark = match &step.state {
        StepState::Open => look::mark(Tone::Plain, "open"),
        StepState::Going { .. } => look::mark(Tone::Active, "being checked"),
        StepState::Right { .. } => look::mark(Tone::Good, "as it must be"),
        StepState::Wrong { .. } => look::mark(Tone::Bad, "something was wrong"),
    };
    let turns = matches!(&step.kind, StepKind::Check { item, .. }
        if view.lab.items.get(item).is_some_and(|item| item.kind == ItemKind::Apparatus));
    html! {
        strong { (step.title) } " " (mark)
        @match &step.state {
            StepState::Right { by } | StepState::Wrong { by } => { " " span { (by) } }
            StepState::Going { check } => { " " a.code href={ "/checks/" (check) } { "Go on with " (check) } }
            StepState::Open => {}
        }
        @if investigation.is_open() {
            p { (step.ask) }
            @if turns && !step.state.is_done() {
                (parts::caution(Hazard::Turning, "Jars turn: keep the guard closed and hands away. Switch off and lock the drive before anything is opened.", "29 CFR 1910.212 and 1910.147, from memory, unconfirmed"))
            }
            (checks(view, step))
        }
    }
}

/// The checks that prove what the step is about.
fn checks(view: &View<'_>, step: &Step) -> Markup {
    let StepKind::Check { item, attribute } = &step.kind else { return html! {} };
    let Some(item) = view.lab.items.get(item) else { return html! {} };
    if matches!(step.state, StepState::Going { .. }) || view.laboratory.is_for_reading_only() {
        return html! {};
    }
    let procedures = procedures_for(view.laboratory.procedures(), item);
    let fitting = procedures
        .iter()
        .filter(|procedure| procedure.proves.contains(attribute) && procedure.stands_for.is_none());
    html! {
        @for procedure in fitting {
            form.offer method="post" action=(view.path) {
                (parts::key())
                input type="hidden" name="request" value="start-check";
                input type="hidden" name="item" value=(item.code);
                input type="hidden" name="procedure" value=(procedure.id);
                (look::button(format!("Begin the {} of {}", procedure.title, item.code)))
            }
        }
    }
}

/// Something to write down, for any step that no check is open for.
fn finding(view: &View<'_>, investigation: &Investigation, steps: &[Step]) -> Markup {
    let can_be_said = |step: &&Step| !matches!(step.state, StepState::Going { .. });
    let of_step = |step: &Step| (step.id.clone(), step.title.clone());
    let options: parts::Options = steps.iter().filter(can_be_said).map(of_step).collect();
    let next = steps.iter().find(|step| step.state == StepState::Open).or(steps.first());
    let next = next.map(|step| step.id.clone()).unwrap_or_default();
    let faults = vec![
        ("no".to_owned(), "nothing was wrong, or it was left out for a reason".to_owned()),
        ("yes".to_owned(), "something was wrong".to_owned()),
    ];
    Form::new(view, FINDING, "Record it").hidden("investigation", investigation.code.as_str()).body(
        html! {
            (parts::select(view, FINDING, "step", "Step", options, &next))
            (Field::text(view, FINDING, "finding", "What was found"))
            (parts::radios(view, FINDING, "fault", "Was something wrong?", faults, Some("no")))
        },
    )
}

fn repeat(view: &View<'_>, investigation: &Investigation) -> Markup {
    html! {
        @match view.lab.repeat_of(investigation) {
            Some(repeat) => p { (look::mark(Tone::Good, "in control again")) " " a.code href={ "/results/" (repeat) } { (repeat) } },
            None => {
                p { "Run another specimen of the lot when the cause is put right. While this is open, runs of reference aggregate alone are no departure. Only a result in control releases the apparatus." }
                (parts::go("Receive a sample of the lot", &format!("/samples/new?lot={}", investigation.lot)))
            }
        }
    }
}

/// The results since the last one in control, by the doubts that the laboratory knows.
fn doubt(view: &View<'_>, investigation: &Investigation) -> Markup {
    let Some(item) = view.lab.items.get(&investigation.apparatus) else { return html! {} };
    let last = investigation.last_in_control.as_deref().and_then(|name| {
        let chart = view.lab.control_chart(&investigation.lot, &investigation.apparatus)?;
        chart.point(name).map(|point| point.at)
    });
    let attributes = provable(view, item);
    let first = attributes.first().cloned().unwrap_or_default();
    let results = last.and_then(|at| view.lab.doubt(&item.code, &first, None, Some(at)));
    let count = results.map_or(0, |answer| answer.results.len());
    let day = last.map(|at| parts::day_text(view, at)).unwrap_or_default();
    let options = attributes.into_iter().map(|one| (one.clone(), one)).collect();
    let opened: Vec<_> = view
        .lab
        .doubts
        .values()
        .filter(|doubt| doubt.opened.position > investigation.opened.position)
        .collect();
    html! {
        @for doubt in &opened {
            p { "Opened since: " a.code href={ "/doubts/" (doubt.code) } { (doubt.code) } ", " (doubt.attribute) " of " (doubt.item) ", " (doubt.results.len()) " results" }
        }
        p {
            (count) " results were found on " (item.code)
            @if last.is_some() { " since the last reference result that was in control, on " (day) } "."
        }
        @if count > 0 {
            details open[view.typed.was_refused(DOUBT)] {
                summary { "Mark them as in doubt" }
                (Form::new(view, DOUBT, "Open the doubt").hidden("item", item.code.as_str()).hidden("since", &day).body(html! {
                    (parts::select(view, DOUBT, "attribute", "What of it turned out wrong", options, &first))
                    (Field::number(view, DOUBT, "found", "Value as found").optional().hint("known where a check found it; then the page works out how much each result can be wrong"))
                    (Field::text(view, DOUBT, "reason", "What happened").default(&format!("{}: {}", investigation.code, investigation.opened.value)))
                }))
            }
        }
    }
}

fn close(view: &View<'_>, investigation: &Investigation) -> Markup {
    Form::new(view, CLOSE, "Finish it and release the apparatus")
        .hidden("investigation", investigation.code.as_str())
        .body(html! {
            (Field::text(view, CLOSE, "cause", "Cause, or that none was found"))
            (Field::text(view, CLOSE, "done", "What was done about it"))
            (Field::text(view, CLOSE, "past_results", "What became of the results since the last one in control"))
        })
}
