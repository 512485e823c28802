//! Giving runs their specimens, taking values from a file, concluding.

use crate::look;
use crate::page::View;
use crate::page::parts::{self, Field, Form};
use maud::{Markup, html};
use stonewear_lab::state::{Specimen, Study};
use stonewear_lab::study::RunStanding;

const ASSIGN: &str = "assign-study-run";
const IMPORT: &str = "import-study-values";
const CONCLUDE: &str = "conclude-study";

fn in_words(study: &Study, run: &RunStanding) -> String {
    let factors = &study.plan.value.factors;
    let levels = factors.iter().zip(&run.planned.levels);
    let levels: Vec<String> =
        levels.map(|(factor, level)| format!("{} {level}", factor.name)).collect();
    levels.join(", ")
}

/// The next run without a specimen, and the specimens that could be it.
pub(super) fn assign(view: &View<'_>, study: &Study, runs: &[RunStanding]) -> Markup {
    let plan = &study.plan.value;
    let fits = |one: &&Specimen| {
        plan.method.as_ref().is_none_or(|method| *method == one.method)
            && plan.sample.as_ref().is_none_or(|sample| *sample == one.sample)
            && view.lab.study_of_specimen(&one.code).is_none()
            && view.lab.experiment_of(&one.code).is_none()
    };
    let free: parts::Options = view
        .lab
        .specimens
        .values()
        .filter(fits)
        .map(|one| (one.code.to_string(), one.code.to_string()))
        .collect();
    let next = runs.iter().find(|run| run.specimen.is_none() && run.value.is_none());
    let numbers: parts::Options = runs
        .iter()
        .map(|run| {
            let levels = in_words(study, run);
            let there = run.specimen.as_ref().map_or_else(String::new, |one| format!(" ({one})"));
            let comma = if levels.is_empty() { "" } else { ", " };
            let number = run.planned.run;
            (number.to_string(), format!("run {number}{comma}{levels}{there}"))
        })
        .collect();
    let first = free.first().map(|(code, _)| code.clone()).unwrap_or_default();
    let chosen = next.map(|run| run.planned.run.to_string()).unwrap_or_default();
    parts::section(
        "Give a run its specimen",
        html! {
            @match next {
                Some(run) => { p { "Next is run " (run.planned.run) @if !run.planned.levels.is_empty() { ": " strong { (in_words(study, run)) } } "." } },
                None => { p { "Every run has its specimen." } },
            }
            @if free.is_empty() {
                @match &plan.sample {
                    Some(sample) => { (parts::go("Make up a specimen of its sample first", &format!("/samples/{sample}"))) },
                    None => { (parts::go("Make up a specimen first", "/samples")) },
                }
            } @else {
                (Form::new(view, ASSIGN, "It is this run").hidden("study", plan.study.as_str()).body(html! {
                    (parts::select(view, ASSIGN, "run", "Run", numbers, &chosen))
                    (parts::select(view, ASSIGN, "specimen", "Specimen", free, &first))
                    (Field::text(view, ASSIGN, "reason", "Why it replaces another").optional().hint("only where the run has a specimen"))
                }))
            }
        },
    )
}

pub(super) fn import(view: &View<'_>, study: &Study) -> Markup {
    html! {
        details open[view.typed.was_refused(IMPORT)] {
            summary { "Take values from a table" }
            p { "For runs that this laboratory has no masses of. They are marked as imported, with their document." }
            (Form::new(view, IMPORT, "Take them").hidden("study", study.plan.value.study.as_str()).body(html! {
                (Field::text(view, IMPORT, "table", "The table").lines().hint("with the columns run and loss"))
                (Field::text(view, IMPORT, "document", "Where the values are on record"))
                (Field::text(view, IMPORT, "reason", "Why they replace others").optional().hint("only where a run has a value already"))
            }))
        }
    }
}

pub(super) fn conclude(view: &View<'_>, study: &Study, can_be_analysed: bool) -> Markup {
    let code = study.plan.value.study.as_str();
    parts::section(
        "Conclude",
        html! {
            p { "The figures stay as they are today, with your name. Who releases results concludes." }
            (Form::new(view, CONCLUDE, "Record it").hidden("study", code).body(html! {
                (parts::tick_box(view, CONCLUDE, "withdraw", "Withdraw it without a conclusion"))
                (Field::text(view, CONCLUDE, "remark", "What follows from it").lines().hint("or why it is withdrawn"))
                @if !can_be_analysed { p.quiet { (look::mark(look::Tone::Edge, "not analysed")) " As it stands it can only be withdrawn." } }
            }))
        },
    )
}
