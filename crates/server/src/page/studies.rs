//! Designed studies: planned or brought from a table, what each still needs, and what it says.

mod forms;
mod new;

pub(super) use new::new;

use super::parts;
use super::{Page, View};
use crate::look::{self, Hazard, Tone};
use maud::{Markup, PreEscaped, html};
use stonewear_lab::control::{ControlChart, Point};
use stonewear_lab::fact::Question;
use stonewear_lab::state::{Item, ReferenceLot, Specimen, Study, TestResult};
use stonewear_lab::study::{Analysis, RunStanding};
use stonewear_lab::words::counted;
use stonewear_report::{
    study_agreement_table, study_changed_since, study_differences_table, study_facts,
    study_intervals_in_words, study_makeup_table, study_means_table, study_pictures,
    study_runs_table, study_variance_table,
};

pub(super) fn list(view: &View<'_>) -> Page {
    let studies: Vec<&Study> = view.lab.studies.values().rev().collect();
    let body = html! {
        p { "Are the positions and the jars the same? Do two operators, or an old and a new machine, agree? Does a repaired machine find the reference value? A study says how many runs answer that, in which order, and afterwards what they showed." }
        @if studies.is_empty() {
            (parts::lead("No study yet", "Name what is to be compared; the number of runs follows from the difference that matters.", "/studies/new", "Plan one"))
        } @else {
            (table(view, "Studies, newest first", &studies))
            (look::actions(&look::link_button("Plan one", "/studies/new")))
        }
        (parts::go("It was carried out elsewhere: take it from a table", "/studies/new?from=table"))
    };
    Page::new("Studies", body).below("In control", "/control")
}

fn table(view: &View<'_>, caption: &str, studies: &[&Study]) -> Markup {
    let rows = studies.iter().map(|study| {
        let plan = &study.plan.value;
        vec![
            html! { a.code href=(path_of(study)) { (plan.study) } },
            html! { (plan.title) },
            html! { (plan.question.in_words()) " " (parts::capital(plan.design.in_words())) "." },
            html! { (done(view, study)) },
            standing(study),
        ]
    });
    let head = ["Study", "What it is to tell", "Question and design", "Runs", "State"];
    parts::table(caption, &head, &[], rows.collect())
}

fn path_of(study: &Study) -> String {
    format!("/studies/{}", study.plan.value.study)
}

fn done(view: &View<'_>, study: &Study) -> String {
    let runs = view.lab.study_runs(study);
    let done = runs.iter().filter(|run| run.value.is_some()).count();
    format!("{done} of {}", counted(runs.len(), "run"))
}

fn standing(study: &Study) -> Markup {
    let tone = match &study.concluded {
        None => Tone::Active,
        Some(concluded) if concluded.value.withdrawn => Tone::Plain,
        Some(_) => Tone::Good,
    };
    look::mark(tone, study.in_words())
}

pub(super) fn one(view: &View<'_>, code: &str) -> Option<Page> {
    let study = view.lab.studies.get(code)?;
    let plan = &study.plan.value;
    let base = path_of(study);
    let runs = view.lab.study_runs(study);
    let analysis = view.lab.study_analysis(study);
    let here = plan.document.is_empty();
    let body = html! {
        (facts(study, view))
        (parts::section("What it says", says(view, study, &runs, &analysis)))
        @if study.is_open() && here { (forms::assign(view, study, &runs)) }
        (parts::section("Runs in their order", html! {
            (parts::sheet_table(&study_runs_table(view.lab, study)))
            (look::actions(&html! {
                (look::link_button("Print the plan", &format!("{base}/plan.pdf")))
                (look::link_button("Take the runs as CSV", &format!("{base}/runs.csv")))
            }))
        }))
        @if study.is_open() && here { (makeup(view, study)) }
        @if study.is_open() { (forms::import(view, study)) }
        @if let Ok(found) = &analysis { (figures(study, found)) }
        (baseline(view, study, &runs))
        @if study.is_open() { (forms::conclude(view, study, analysis.is_ok())) }
    };
    Some(
        Page::new(format!("Study {}", plan.study), body)
            .lead(plan.title.clone())
            .below("In control", "/control")
            .below("Studies", "/studies"),
    )
}

fn facts(study: &Study, view: &View<'_>) -> Markup {
    let plan = &study.plan.value;
    let said: Vec<(&str, Markup)> = study_facts(view.lab, study)
        .into_iter()
        .filter(|(_, value)| !value.is_empty())
        .map(|(name, value)| (name, html! { (value) }))
        .chain([("State", standing(study))])
        .collect();
    html! {
        (look::facts(&said))
        (parts::section("Why this design", html! { ul { @for why in &plan.why { li { (why) } } } }))
    }
}

/// The verdict first: what was concluded, or what the runs say so far.
fn says(
    view: &View<'_>,
    study: &Study,
    runs: &[RunStanding],
    analysis: &Result<Analysis, String>,
) -> Markup {
    let missing = runs.iter().filter(|run| run.value.is_none()).count();
    html! {
        @if let Some(concluded) = &study.concluded {
            @for said in &concluded.value.verdict { p { strong { (said) } } }
            p {
                (standing(study)) " " (parts::moment(view, concluded.at)) ", by " (parts::person(view, concluded.by.as_str())) ": "
                (concluded.value.remark)
            }
            @for deviation in &concluded.value.deviations {
                p { (look::mark(Tone::Edge, "departure")) " " (deviation.what) ": " (deviation.reason) }
            }
        }
        @match analysis {
            Err(why) => { p.quiet { (parts::capital(why)) "." } },
            Ok(found) => {
                @if let Some(changed) = study_changed_since(study, found) {
                    p { (look::mark(Tone::Bad, "changed since")) " " (changed) }
                }
                @if study.is_open() {
                    @if missing > 0 { p.quiet { "So far, with " (counted(missing, "run")) " to come: do not stop because of it." } }
                    @for said in &found.verdict { p { strong { (said) } } }
                }
                @for note in &found.notes { p { (look::mark(Tone::Edge, "note")) " " (note) } }
                @for chart in study_pictures(study, found) {
                    figure.figure {
                        figcaption { (chart.title) }
                        div.scroll role="region" tabindex="0" aria-label=(chart.title) { (PreEscaped(chart.svg())) }
                    }
                }
                p.quiet { (study_intervals_in_words(&study.plan.value, found)) }
                (parts::sheet_table(&study_means_table(study, found)))
                (look::actions(&html! {
                    (look::link_button("Print the report", &format!("{}/report.pdf", path_of(study))))
                    (look::link_button("Take the means as CSV", &format!("{}/means.csv", path_of(study))))
                }))
            }
        }
    }
}

fn figures(study: &Study, found: &Analysis) -> Markup {
    let differences = study_differences_table(study, found);
    html! {
        details {
            summary { "The figures behind it" }
            p { (found.model) }
            @if let Some(table) = study_variance_table(found) { (parts::sheet_table(&table)) }
            @if let Some(table) = study_agreement_table(study, found) { (parts::sheet_table(&table)) }
            @if !differences.rows.is_empty() { (parts::sheet_table(&differences)) }
            @if let Some(residuals) = &found.residuals {
                p {
                    "What the factors leave: standard deviation "
                    @match residuals.deviation { Some(deviation) => { (deviation) " " (found.unit) }, None => "unknown", }
                    ", with " (counted(residuals.freedom, "degree")) " of freedom."
                    @if let Some(furthest) = residuals.furthest {
                        " Furthest off lies run " (residuals.furthest_run) ", by " (furthest) " standard deviations."
                    }
                }
            }
        }
    }
}

fn makeup(view: &View<'_>, study: &Study) -> Markup {
    let table = study_makeup_table(view.lab, study);
    html! {
        @if !table.rows.is_empty() {
            details {
                summary { "Make-up list" }
                (parts::sheet_table(&table))
                p.quiet { "The printed plan has room to write the masses." }
                (parts::caution(
                    Hazard::Turning,
                    "Nobody reaches between rollers that turn, and jars are heavy: lift one at a time.",
                    "29 CFR 1910.212(a)(4), from memory, unconfirmed",
                ))
            }
        }
    }
}

/// The results that a control chart can begin with, once the machine is known to find the value.
fn baseline(view: &View<'_>, study: &Study, runs: &[RunStanding]) -> Markup {
    let results: Vec<_> =
        runs.iter().filter_map(|run| view.lab.result_of(run.specimen.as_ref()?)).collect();
    let fits = study.plan.value.question == Question::Reference && !results.is_empty();
    let chart = results.iter().find_map(|result| view.lab.on_chart(result));
    let chart = chart.and_then(|(lot, apparatus)| view.lab.control_chart(lot, apparatus));
    html! {
        @if fits {
            (parts::section("Results for a control chart", html! {
                p { "Once the machine is qualified, these results can be the baseline of its control chart:" }
                ul { @for result in &results { li { a.code href={ "/results/" (result.code) } { (result.code) } } } }
                @match chart {
                    Some(chart) => { (parts::go(&format!("Freeze a baseline of {} on {} from them", chart.lot, chart.apparatus), &freeze_path(&chart, study, &results))) },
                    None => { (parts::go("Charts of reference aggregate", "/control")) },
                }
            }))
        }
    }
}

/// The form of a chart's baseline with these results named from the first to the last.
fn freeze_path(chart: &ControlChart, study: &Study, results: &[&TestResult]) -> String {
    let own = |point: &&Point| results.iter().any(|result| result.code.as_str() == point.name);
    let mut points = chart.points.iter().filter(own);
    let first = points.next().map_or("", |point| point.name.as_str());
    let last = points.next_back().map_or(first, |point| point.name.as_str());
    let study = &study.plan.value.study;
    format!("{}?first={first}&last={last}&study={study}#freeze", super::control::path_of(chart))
}

/// The studies of an item, on its page.
pub(super) fn of_item(view: &View<'_>, item: &Item) -> Markup {
    use stonewear_procedure::ItemKind;
    let studies: Vec<&Study> = view.lab.studies_of(&item.code).collect();
    let turns = matches!(item.kind, ItemKind::Apparatus | ItemKind::Drum);
    html! {
        @if turns || !studies.is_empty() {
            (parts::section("Studies", html! {
                @if studies.is_empty() {
                    p.quiet { "No study names it." }
                } @else {
                    (table(view, "Studies that name it, newest first", &studies))
                }
                @if turns {
                    (parts::go("Plan its qualification against a reference value", &qualification_path(view, item)))
                }
            }))
        }
    }
}

/// The plan of a qualification, against the newest lot that a document gives a value.
fn qualification_path(view: &View<'_>, item: &Item) -> String {
    let mut lots: Vec<&ReferenceLot> =
        view.lab.lots.values().filter(|lot| lot.assigned.is_some()).collect();
    lots.sort_by_key(|lot| lot.registered.position);
    let lot = lots.last().map_or_else(String::new, |lot| format!("&lot={}", lot.code));
    format!("/studies/new?question=reference&item={}{lot}", item.code)
}

/// The way to the studies, on the page of what watches the apparatus.
pub(super) fn overview(view: &View<'_>) -> Markup {
    let open: Vec<&Study> = view.lab.studies.values().rev().filter(|one| one.is_open()).collect();
    html! {
        @if !open.is_empty() { (table(view, "Open studies", &open)) }
        (parts::go("All studies: positions, jars, operators, machines, qualification", "/studies"))
    }
}

/// That a specimen is a run of a study, where it is.
pub(super) fn mark(view: &View<'_>, specimen: &Specimen) -> Markup {
    html! {
        @if let Some((study, run)) = view.lab.study_of_specimen(&specimen.code) {
            @let plan = &study.plan.value;
            div.panel role="note" {
                p {
                    (look::mark(Tone::Active, "Study")) " "
                    "Run " (run) " of " a.code href=(path_of(study)) { (plan.study) }
                    @if let Some(planned) = plan.runs.iter().find(|planned| planned.run == run) {
                        @for (factor, level) in plan.factors.iter().zip(&planned.levels) { ", " (factor.name) " " (level) }
                    }
                    "."
                }
            }
        }
    }
}
