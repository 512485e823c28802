//! Experiments: planned or brought from a table, what each still needs, and what it says.

use super::parts::{self, Field, Form};
use super::{Page, View};
use crate::look::{self, Hazard, Tone};
use maud::{Markup, html};
use stonewear_lab::experiment::Analysis;
use stonewear_lab::fact::Condition;
use stonewear_lab::state::{Experiment, MethodInUse, Specimen};
use stonewear_report::{experiment_plot, experiment_table};

const PLAN: &str = "plan-experiment";
const IMPORT: &str = "import-experiment";
const ASSIGN: &str = "assign-to-experiment";
const LEAVE_OUT: &str = "leave-out-of-experiment";
const RECORD: &str = "record-sensitivity";

/// Levels that the form has room for.
const LEVELS: usize = 6;

pub(super) fn list(view: &View<'_>) -> Page {
    let rows: Vec<Vec<Markup>> = view
        .lab
        .experiments
        .values()
        .rev()
        .map(|one| {
            vec![
                html! { a.code href={ "/experiments/" (one.code) } { (one.code) } },
                html! { (one.title) },
                html! { (parts::method(view, one.method.as_str())) ", " (one.condition.level()) },
                html! { (done(view, one)) },
            ]
        })
        .collect();
    let methods: Vec<&MethodInUse> = of_runs(view).collect();
    let body = html! {
        p { "How much of the loss follows the revolutions, the charge and the water, by the laboratory's own runs at other levels than the method's. When a check fails, the size of a doubt is worked out with it." }
        @if rows.is_empty() {
            p.quiet { "No experiment yet." }
        } @else {
            (parts::table_below_heading("Experiments, newest first", &["Experiment", "What it is to tell", "Method and condition", "State"], &[], rows))
        }
        @if methods.is_empty() {
            (parts::lead("No method with runs is in use", "An experiment is about a method that weighs before and after a run.", "/methods", "Take one into use"))
        } @else {
            (parts::section("Begin one", look::actions(&html! {
                @for one in &methods {
                    (look::link_button(format!("Plan one for {}", one.method.dated()), &format!("/experiments/new?method={}", one.id)))
                }
            })))
        }
    };
    Page::new("Experiments", body).below("Methods", "/methods")
}

/// The methods in use of which an experiment can be made.
fn of_runs<'a>(view: &'a View<'_>) -> impl Iterator<Item = &'a MethodInUse> {
    view.lab
        .methods
        .values()
        .filter(|one| one.method.vessel.turns() && one.method.weighs_before_and_after())
}

fn done(view: &View<'_>, experiment: &Experiment) -> String {
    let losses = view.lab.experiment_losses(experiment).len();
    format!("{losses} of {} losses", experiment.runs.len())
}

pub(super) fn new(view: &View<'_>) -> Option<Page> {
    let typed = [PLAN, IMPORT].into_iter().find_map(|form| view.typed.value(form, "method"));
    let method = typed.map(str::to_owned).or_else(|| view.asked("method")).unwrap_or_default();
    let in_use = of_runs(view).find(|one| one.id.answers_to(&method))?;
    let body = html! {
        (plan(view, in_use))
        details open[view.typed.was_refused(IMPORT)] {
            summary { "It was done already: take the losses from a table" }
            (import(view, in_use))
        }
    };
    let title = format!("An experiment for {}", in_use.method.dated());
    Some(Page::new(title, body).below("Methods", "/methods").below("Experiments", "/experiments"))
}

fn conditions(in_use: &MethodInUse) -> parts::Options {
    let all = Condition::ALL.into_iter().filter(|one| one.is_of(&in_use.method));
    all.map(|one| (one.as_str().to_owned(), parts::capital(one.level()))).collect()
}

fn gradings(in_use: &MethodInUse) -> parts::Options {
    let all = in_use.method.gradings.iter();
    all.map(|one| (one.name.clone(), format!("{}: {}", one.name, one.applies.value))).collect()
}

fn plan(view: &View<'_>, in_use: &MethodInUse) -> Markup {
    let drawn = (uuid::Uuid::new_v4().as_u128() as u32).to_string();
    let seed = view.typed.value(PLAN, "seed").map_or(drawn, str::to_owned);
    let first = in_use.method.gradings.first().map(|one| one.name.clone()).unwrap_or_default();
    let revolutions = Condition::Revolutions.as_str();
    html! {
        p { "Choose levels on both sides of what the method says, and run each at least twice: without repeats nobody can tell whether a line fits. All specimens of one well-mixed sample." }
        (Form::new(view, PLAN, "Plan it").at(format!("/experiments/new?method={}", in_use.id)).hidden("method", in_use.id.as_str()).body(html! {
            (Field::text(view, PLAN, "title", "What it is to tell").hint("like loss over revolutions, dolerite").focus())
            (parts::radios(view, PLAN, "condition", "What is varied", conditions(in_use), Some(revolutions)))
            (parts::select(view, PLAN, "grading", "Grading", gradings(in_use), &first))
            (Field::text(view, PLAN, "sample", "Sample").optional().hint("all specimens are of it"))
            @for n in 0..LEVELS {
                (Field::number(view, PLAN, &format!("levels.{n}"), &format!("Level {}", n + 1)).optional())
            }
            (Field::number(view, PLAN, "replicates", "Runs at each level").default("2"))
            (Field::text(view, PLAN, "seed", "Seed of the order").default(&seed).hint("drawn by chance; kept, so that anybody can draw the order again"))
        }))
        (parts::caution(
            Hazard::Turning,
            "A run beyond the method's count is longer: nobody reaches between rollers that turn. Water is not heated above what hands bear.",
            "29 CFR 1910.212(a)(4), from memory, unconfirmed",
        ))
    }
}

fn import(view: &View<'_>, in_use: &MethodInUse) -> Markup {
    let first = in_use.method.gradings.first().map(|one| one.name.clone()).unwrap_or_default();
    let revolutions = Condition::Revolutions.as_str();
    Form::new(view, IMPORT, "Record it").at(format!("/experiments/new?method={}", in_use.id)).hidden("method", in_use.id.as_str()).body(html! {
        (Field::text(view, IMPORT, "title", "What it is to tell"))
        (parts::radios(view, IMPORT, "condition", "What was varied", conditions(in_use), Some(revolutions)))
        (parts::select(view, IMPORT, "grading", "Grading", gradings(in_use), &first))
        (Field::text(view, IMPORT, "table", "The table").lines().hint("with the columns level and loss; all rows or none"))
        (Field::text(view, IMPORT, "source", "Where the figures are on record"))
    })
}

pub(super) fn one(view: &View<'_>, code: &str) -> Option<Page> {
    let experiment = view.lab.experiments.get(code)?;
    let analysis = view.lab.experiment_analysis(experiment);
    let body = html! {
        (look::facts(&[
            ("Varied", html! { (experiment.condition.level()) }),
            ("Method", html! { (parts::method_link(view, &experiment.method)) ", grading " (experiment.grading) }),
            ("Sample", html! { @match &experiment.sample { Some(sample) => a.code href={ "/samples/" (sample) } { (sample) }, None => "not named" } }),
            ("Runs", html! { (runs(experiment)) }),
            ("Begun", html! { (parts::day(view, experiment.begun.at)) ", by " (parts::person(view, experiment.begun.by.as_str())) }),
        ]))
        (parts::section("What the losses say", match &analysis {
            Ok(analysis) => says(view, experiment, analysis),
            Err(why) => html! { p.quiet { "Nothing is fitted yet: " (why) "." } },
        }))
        @if !experiment.is_imported() { (assign(view, experiment)) }
        (parts::section("Runs in their order", html! {
            (parts::sheet_table(&experiment_table(view.lab, experiment)))
            (look::actions(&html! {
                (look::link_button("Print", &format!("/experiments/{code}/sheet.pdf")))
                (look::link_button("Take the runs as CSV", &format!("/experiments/{code}/runs.csv")))
            }))
        }))
        (leave_out(view, experiment))
    };
    let page = Page::new(format!("Experiment {}", experiment.code), body)
        .lead(experiment.title.clone())
        .below("Methods", "/methods");
    Some(page.below("Experiments", "/experiments"))
}

fn runs(experiment: &Experiment) -> String {
    match (experiment.replicates, experiment.seed) {
        (Some(replicates), Some(seed)) => format!(
            "{} at {} levels, {replicates} each, in an order drawn from the seed {seed}",
            experiment.runs.len(),
            experiment.levels.len()
        ),
        _ => format!("{} from a table: {}", experiment.runs.len(), experiment.source),
    }
}

fn says(view: &View<'_>, experiment: &Experiment, analysis: &Analysis) -> Markup {
    html! {
        p { strong { (parts::capital(&analysis.sensitivity_in_words())) "." } }
        p { "Fitted: " (analysis.model.in_words()) "; " (analysis.why) "." }
        (look::plot(&experiment_plot(experiment, analysis)))
        @if let Some((value, expanded)) = analysis.sensitivity.as_ref().ok().and_then(|found| found.recorded) {
            @let name = experiment.name();
            @if view.lab.sensitivities.iter().any(|one| one.value.experiment == name && one.value.percent_of_loss == value && one.value.uncertainty == Some(expanded)) {
                p { (look::mark(Tone::Good, "recorded")) " Doubts are worked out with it." }
            } @else {
                p { "It is a proposal until it is recorded; then doubts are worked out with it." }
                (Form::new(view, RECORD, "Record this sensitivity")
                    .hidden("condition", experiment.condition.as_str())
                    .hidden("method", experiment.method.as_str())
                    .hidden("percent_of_loss", &value.to_string())
                    .hidden("uncertainty", &expanded.to_string())
                    .hidden("experiment", &name)
                    .body(html! {}))
            }
        }
    }
}

/// The next run without a specimen, and the specimens that could be it.
fn assign(view: &View<'_>, experiment: &Experiment) -> Markup {
    let fits = |one: &&Specimen| {
        one.method == experiment.method
            && one.grading == experiment.grading
            && one.run.is_none()
            && experiment.sample.as_ref().is_none_or(|sample| *sample == one.sample)
            && view.lab.experiment_of(&one.code).is_none()
    };
    let free: parts::Options = view
        .lab
        .specimens
        .values()
        .filter(fits)
        .map(|one| (one.code.to_string(), one.code.to_string()))
        .collect();
    let next =
        experiment.runs.iter().find(|run| run.specimens.is_empty() && run.left_out.is_none());
    let numbers: parts::Options = experiment
        .runs
        .iter()
        .map(|run| {
            (
                run.number.to_string(),
                format!("run {}, {} {}", run.number, run.level, experiment.condition.unit()),
            )
        })
        .collect();
    let first = free.first().map(|(code, _)| code.clone()).unwrap_or_default();
    let chosen = next.map(|run| run.number.to_string()).unwrap_or_default();
    parts::section(
        "Give a run its specimen",
        html! {
            @match next {
                Some(run) => p { "Next is run " (run.number) ", at " strong { (run.level) " " (experiment.condition.unit()) } "." },
                None => p { "Every run has its specimen." },
            }
            @if next.is_some() { p { "Its specimen then runs by the rules of the method with this level, without a deviation, and gives no result of its sample, ever." } }
            @if free.is_empty() && next.is_some() {
                p.quiet { "No specimen that fits waits for its run: make one up first." }
            } @else if !free.is_empty() {
                (Form::new(view, ASSIGN, "It is the specimen of this run").hidden("experiment", experiment.code.as_str()).body(html! {
                    (parts::select(view, ASSIGN, "specimen", "Specimen", free, &first))
                    (parts::select(view, ASSIGN, "run", "Run", numbers, &chosen))
                    (Field::text(view, ASSIGN, "reason", "Reason").optional().hint("needed where the run has a specimen already"))
                }))
            }
        },
    )
}

fn leave_out(view: &View<'_>, experiment: &Experiment) -> Markup {
    let numbers: parts::Options = experiment
        .runs
        .iter()
        .filter(|run| run.left_out.is_none())
        .map(|run| {
            (
                run.number.to_string(),
                format!("run {}, {} {}", run.number, run.level, experiment.condition.unit()),
            )
        })
        .collect();
    let first = numbers.first().map(|(number, _)| number.clone()).unwrap_or_default();
    html! {
        @if !numbers.is_empty() {
            details open[view.typed.was_refused(LEAVE_OUT)] {
                summary { "Leave a run out of the fit" }
                p { "For what went wrong in the run, never for a loss that looks odd. It stays on record with the reason." }
                (Form::new(view, LEAVE_OUT, "Leave it out").hidden("experiment", experiment.code.as_str()).body(html! {
                    (parts::select(view, LEAVE_OUT, "run", "Run", numbers, &first))
                    (Field::text(view, LEAVE_OUT, "reason", "What went wrong"))
                }))
            }
        }
    }
}

/// That a specimen is one of an experiment, where it is.
pub(super) fn mark(view: &View<'_>, specimen: &Specimen) -> Markup {
    html! {
        @if let Some((experiment, run)) = view.lab.experiment_of(&specimen.code) {
            div.panel role="note" {
                p {
                    (look::mark(Tone::Active, "Experiment")) " "
                    "Run " (run.number) " of " a.code href={ "/experiments/" (experiment.code) } { (experiment.code) }
                    ", at " (run.level) " " (experiment.condition.unit()) ". It gives no result of its sample."
                }
            }
        }
    }
}
