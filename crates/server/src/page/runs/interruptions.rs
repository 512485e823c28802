//! Runs that are interrupted and resumed.

use super::super::View;
use super::super::parts::{self, Field, Form};
use super::in_jars;
use maud::{Markup, html};
use stonewear_lab::state::Run;
use stonewear_procedure::Apparatus;
use stonewear_procedure::apparatus::AfterPowerLoss;

const INTERRUPT: &str = "interrupt-run";
const RESUME: &str = "resume-run";

fn apparatus<'a>(view: &'a View<'_>, run: &Run) -> Option<&'a Apparatus> {
    view.lab.items.get(&run.apparatus)?.apparatus.as_ref()
}

/// The form that says that the jars or the drum stand before their time.
pub(super) fn interrupt(view: &View<'_>, run: &Run) -> Markup {
    let counts = apparatus(view, run).is_none_or(Apparatus::has_counter);
    let button = if in_jars(run) { "The jars stand" } else { "The drum stands" };
    html! {
        details open[view.typed.was_refused(INTERRUPT)] {
            summary { "It was interrupted" }
            (Form::new(view, INTERRUPT, button).hidden("run", run.code.as_str()).body(html! {
                p { "What turned so far is kept; resumed, the run goes on to the wanted count." }
                @if counts { (Field::number(view, INTERRUPT, "revolutions", "Revolutions shown").bench()) }
                (Field::number(view, INTERRUPT, "minutes", "Minutes turned since it last began to turn").unit("min").bench())
                (Field::text(view, INTERRUPT, "reason", "What happened"))
            }))
        }
    }
}

/// The form that lets them turn again.
pub(super) fn resume(view: &View<'_>, run: &Run) -> Markup {
    let mill = apparatus(view, run);
    let counts = mill.is_none_or(Apparatus::has_counter);
    let is_kept = mill.is_some_and(|mill| mill.after_power_loss == AfterPowerLoss::CountKept);
    let shown = run.interruptions.last().and_then(|last| last.value.revolutions);
    let left = run.revolutions_so_far().map(|so_far| run.revolutions_wanted - so_far);
    let button = if in_jars(run) { "The jars turn again" } else { "The drum turns again" };
    Form::new(view, RESUME, button).hidden("run", run.code.as_str()).body(html! {
        p.step-do {
            "The run is interrupted."
            @if let Some(left) = left { " Still wanted: " strong { (left) " revolutions" } "." }
        }
        @if counts {
            (Field::number(view, RESUME, "counter", "The counter shows now").bench().optional()
                .value_or(shown.filter(|_| is_kept))
                .hint("left empty: it begins at zero again"))
        }
    })
}

/// Every interruption so far.
pub(super) fn list(view: &View<'_>, run: &Run) -> Markup {
    html! {
        @for one in &run.interruptions {
            p.quiet {
                "Interrupted " (parts::moment(view, one.at)) " by " (parts::person(view, one.by.as_str()))
                @if let Some(count) = one.value.revolutions { " at " (count) " on the counter" }
                @if let Some(minutes) = one.value.minutes { ", after " (minutes) " min" }
                ": " (one.value.reason)
                @if let Some(resumed) = &one.value.resumed {
                    "; turning again " (parts::moment(view, resumed.at)) ", counter at " (resumed.value)
                }
            }
        }
    }
}
