//! Results: the loss, how it was worked out, what it stands on, who stands for it.

use super::judgement;
use super::parts::{self, Field, Form};
use super::{Page, View};
use crate::look::{self, Tone};
use maud::{Markup, html};
use std::collections::BTreeSet;
use stonewear_lab::evidence::{Link, LinkKind, Proof};
use stonewear_lab::state::{ResultVersion, TestResult};
use stonewear_method::{Confidence, MethodId};
use stonewear_picture::{EvidenceLine, LinkState};

const RELEASE: &str = "release-result";

pub(super) fn list(view: &View<'_>) -> Page {
    let methods: BTreeSet<&MethodId> =
        view.lab.results.values().map(|result| &result.method).collect();
    let shown: Vec<&TestResult> = view
        .lab
        .results
        .values()
        .rev()
        .filter(|result| parts::is_of(view, "state", state(result)))
        .filter(|result| parts::is_of(view, "method", result.method.as_str()))
        .filter(|result| {
            let sample = view.lab.samples.get(&result.sample);
            let of_sample = sample.map(|one| [one.source.as_str(), &one.client, &one.project]);
            let codes = [result.code.as_str(), result.sample.as_str()];
            let texts: Vec<&str> =
                codes.into_iter().chain(of_sample.into_iter().flatten()).collect();
            parts::has_words(view, &texts)
        })
        .collect();
    let (leaf, leaves) = parts::leaf(view, &shown);
    let rows = leaf.iter().map(|result| {
        let sample = view.lab.samples.get(&result.sample);
        let found = result.current().map(|version| headline(&version.value));
        vec![
            html! { a.code href={ "/results/" (result.code) } { (result.code) } },
            html! { a.code href={ "/samples/" (result.sample) } { (result.sample) } },
            html! { @if let Some(sample) = sample { (sample.source) } },
            html! { strong { (found.unwrap_or_default()) } },
            judgement::mark(view, result),
            html! {
                @match result.release() {
                    Some(release) => { (parts::person(view, release.by.as_str())) ", " (parts::day(view, release.at)) },
                    None => span.quiet { "to be released" },
                }
            },
        ]
    });
    let head = ["Result", "Sample", "Source", "Found", "Against its limit", "Released"];
    let doubts =
        view.lab.doubts.values().filter(|doubt| doubt.open_results().next().is_some()).count();
    let count = |is: &dyn Fn(&TestResult) -> bool| {
        view.lab.results.values().filter(|result| is(result)).count()
    };
    let states = [(TO_BE_RELEASED, "To be released"), (RELEASED, "Released")]
        .map(|(name, words)| (name, words.to_owned(), count(&|result| state(result) == name)));
    let methods = methods.into_iter().map(|id| {
        let words = parts::method(view, id.as_str());
        (id.as_str(), words, count(&|result| result.method == *id))
    });
    let body = if view.lab.results.is_empty() {
        parts::lead(
            "No result yet",
            "A loss is worked out as soon as the last mass of a sample is weighed.",
            "/samples",
            "Go to the samples",
        )
    } else {
        html! {
            @if doubts > 0 { p { (look::mark(Tone::Edge, "doubts are open")) " " a href="/doubts" { "Deal with them" } } }
            @else if !view.lab.doubts.is_empty() { p { a href="/doubts" { "Doubts of the past" } } }
            (parts::ways(&[("Proficiency", "/proficiency"), ("Rounds between laboratories", "/rounds"), ("Papers", "/papers")]))
            (parts::filters(view, "Code, source, client or works", &[
                parts::Part { name: "state", every: "Released or not", options: states.to_vec() },
                parts::Part { name: "method", every: "Every method", options: methods.collect() },
            ]))
            @if shown.is_empty() { (parts::nothing_of_it(view)) }
            @else { (parts::table_below_heading("Results, newest first", &head, &[3], rows.collect())) (leaves) }
        }
    };
    Page::new("Results", body)
}

const TO_BE_RELEASED: &str = "to-be-released";
const RELEASED: &str = "released";

/// As it stands in an address.
fn state(result: &TestResult) -> &'static str {
    if result.release().is_some() { RELEASED } else { TO_BE_RELEASED }
}

/// The loss, or the first of what a test without one gives.
fn headline(version: &ResultVersion) -> String {
    match (version.loss_percent, version.properties.first()) {
        (None, Some(first)) => first.in_words(),
        (loss, _) => loss.map(|loss| format!("{loss} %")).unwrap_or_default(),
    }
}

pub(super) fn one(view: &View<'_>, code: &str) -> Option<Page> {
    let result = view.lab.results.get(code)?;
    let version = result.current()?;
    let sample = view.lab.samples.get(&result.sample)?;
    let judged = view.lab.judgement(result);
    let worked = view.lab.outcome_of(result).ok()?;
    let lines: Vec<String> = worked.iter().flat_map(|one| one.lines.iter().cloned()).collect();
    let sure = worked.iter().map(|one| one.confidence).reduce(Confidence::less_sure)?;
    let method = view.lab.methods.get(&result.method)?.at(version.position);
    let source = format!(
        "{}; formula {}",
        method.dated(),
        view.lab.loss_of(result).map_or(sure, |loss| loss.formula_confidence).in_words()
    );
    let body = html! {
        section.panel.hero {
            @if let Some(first) = worked.first() {
                p.hero-number { (first.value) @if !first.unit.is_empty() { span.unit { " " (first.unit) } } }
            }
            div {
                p { (worked.first().map(|one| one.title.as_str()).unwrap_or_default()) " of " a href={ "/samples/" (sample.code) } { (sample.code) } ", " (sample.material) }
                p { (judgement::mark(view, result)) @if judged.is_some() { " (" (sample.limit_document) ")" } }
                @if let Some(judged) = &judged { (judgement::strip(judged)) }
                @if result.versions.len() > 1 { p { "Version " (result.version()) ", " (replaces(result)) } }
            }
        }
        (super::readings::found(&worked))
        (super::control::of_result(view, result))
        (super::doubts::of_result(view, result))
        (parts::section("How it was worked out", look::formula("Worked out", &lines, &source)))
        (judgement::section(view, result))
        (judgement::agreement(view, result))
        (release(view, result))
        (super::papers::of_result(view, result))
        (evidence(view, result))
        (parts::ways(&[("Audit extract as PDF: this result with its whole evidence", &format!("/results/{}/audit.pdf", result.code)), ("its facts as CSV", &format!("/results/{}/audit.csv", result.code))]))
        (parts::unsure(view, result))
        @for specimen in result.specimens.iter().filter_map(|code| view.lab.specimens.get(code)) {
            (parts::deviations(view, &specimen.deviations))
            @if let Some(run) = specimen.run.as_ref().and_then(|run| view.lab.runs.get(run)) {
                (parts::deviations(view, &run.deviations))
            }
        }
        (parts::deviations(view, &result.deviations))
        @if let Some(release) = result.release() { (parts::deviations(view, &release.value.deviations)) }
        (super::attachments::section(view, code))
        @if result.versions.len() > 1 { (parts::section("Earlier versions", versions(view, result))) }
    };
    Some(Page::new(format!("Result {}", result.code), body).below("Results", "/results"))
}

/// What a version that is not the first stands in place of.
fn replaces(result: &TestResult) -> String {
    let earlier = result.versions.iter().rev().skip(1);
    let released = (1..result.version())
        .rev()
        .zip(earlier)
        .find(|(_, version)| version.value.release.is_some());
    match released {
        Some((number, _)) => {
            let report = stonewear_report::report_number(result, number);
            format!("in place of report {report}, which was released")
        }
        None => "no earlier one was released".to_owned(),
    }
}

fn release(view: &View<'_>, result: &TestResult) -> Markup {
    let paper = html! {
        (parts::go(
            match (result.release(), view.lab.issued_report(result)) {
                (None, _) => "Draft of the report as PDF",
                (Some(_), None) => "Report as PDF, a copy for checking",
                (Some(_), Some(_)) => "Report as PDF",
            },
            &format!("/results/{}/report.pdf", result.code),
        ))
        @if result.current().is_some_and(|version| version.value.loss_percent.is_some()) && view.lab.loss_of(result).is_ok() {
            (parts::go("Loss as a workbook with living formulas", &format!("/results/{}/loss.xlsx", result.code)))
        }
    };
    html! {
        @match result.release() {
            Some(release) => {
                p {
                    "Released by " (parts::person(view, release.by.as_str())) ", " (parts::moment(view, release.at))
                    @if !release.value.remark.is_empty() { ": " (release.value.remark) }
                }
                (paper)
            },
            None => {
                (judgement::who_may(view, result))
                (Form::new(view, RELEASE, "Release it with my name").hidden("result", result.code.as_str()).body(html! {
                    (Field::text(view, RELEASE, "remark", "Anything that the report should say").optional())
                    (Field::text(view, RELEASE, "external", "What others did for it, and who").optional()
                        .hint("like sieving, by a named laboratory; the report says so"))
                }))
                (paper)
            },
        }
    }
}

fn evidence(view: &View<'_>, result: &TestResult) -> Markup {
    let links = view.lab.evidence(result).into_iter().map(|link| picture_of(view, link)).collect();
    look::evidence_line(&EvidenceLine { label: format!("What {} stands on", result.code), links })
}

fn picture_of(view: &View<'_>, link: Link) -> stonewear_picture::Link {
    let (state, note) = match &link.proof {
        Proof::Recorded => (LinkState::Recorded, String::new()),
        Proof::Proved { check } => (LinkState::Proved, format!("by {check}")),
        Proof::Authorised { authorisation } => {
            (LinkState::Proved, format!("authorised by {authorisation}"))
        }
        Proof::Supervised { by } => (LinkState::Recorded, format!("watched by {by}")),
        Proof::NotProved { why } => (LinkState::NotProved, why.clone()),
    };
    let href = match link.kind {
        LinkKind::Result => Some(format!("/results/{}", link.code)),
        LinkKind::Method => Some(format!("/methods/{}", link.code)),
        LinkKind::Sample => Some(format!("/samples/{}", link.code)),
        LinkKind::Specimen => Some(format!("/specimens/{}", link.code)),
        LinkKind::Run => Some(format!("/runs/{}", link.code)),
        LinkKind::Item => Some(format!("/equipment/{}", link.code)),
        LinkKind::Person => Some(format!("/people/{}", link.code)),
    };
    // A method is called by its document, not by a code of ours.
    let (code, name) = match link.kind {
        LinkKind::Method => (parts::method(view, &link.code), String::new()),
        _ => (link.code, link.name),
    };
    stonewear_picture::Link {
        kind: link.role,
        code,
        name,
        href,
        since: link.since.map(|at| parts::day_text(view, at)),
        until: link.until.map(|at| parts::day_text(view, at)),
        state,
        note,
    }
}

fn versions(view: &View<'_>, result: &TestResult) -> Markup {
    let rows = (1_usize..).zip(&result.versions).map(|(number, version)| {
        vec![
            html! { (number) },
            html! { (version.value.in_words()) },
            html! { (parts::moment(view, version.at)) ", " (parts::person(view, version.by.as_str())) },
            html! { (version.value.reason) },
            html! {
                @match &version.value.release {
                    Some(release) => {
                        (parts::person(view, release.by.as_str())) ", " (parts::day(view, release.at))
                        @if let Some(judged) = &release.value.judgement { ", " (judged.verdict.in_words()) }
                    },
                    None => "no",
                }
            },
        ]
    });
    let head = ["Version", "Found", "Worked out", "Because", "Released"];
    parts::table("Every version of this result", &head, &[1], rows.collect())
}
