//! What is said of a result: against its limit, against the other losses of its sample, and who may
//! stand for it.

use super::View;
use super::parts;
use crate::look::{self, Tone};
use maud::{Markup, html};
use stonewear_lab::agreement::{Agree, Of, Pair};
use stonewear_lab::judgement::{Judgement, Uncertainty, Verdict};
use stonewear_lab::state::TestResult;
use stonewear_picture::ToleranceStrip;

/// The verdict with its sign, for lists and headings.
pub(super) fn mark(view: &View<'_>, result: &TestResult) -> Markup {
    match view.lab.judgement(result) {
        None => look::mark(Tone::Plain, "no limit"),
        Some(judgement) => {
            let words = format!("{}: {}", judgement.verdict.in_words(), judgement.requirement());
            look::mark(tone(judgement.verdict), words)
        }
    }
}

fn tone(verdict: Verdict) -> Tone {
    match verdict {
        Verdict::Conforms => Tone::Good,
        Verdict::ConformsInGuardBand | Verdict::FailsInGuardBand => Tone::Edge,
        Verdict::DoesNotConform => Tone::Bad,
        Verdict::NotDecided => Tone::Plain,
    }
}

/// The loss against its limit, with the guard band hatched and its uncertainty as a whisker.
pub(super) fn strip(judgement: &Judgement) -> Markup {
    look::strip(&ToleranceStrip {
        label: "Loss against its limit".to_owned(),
        unit: "%".to_owned(),
        lower: None,
        upper: Some(judgement.limit_percent),
        guard: judgement.guard_percent(),
        value: Some(judgement.compared_percent),
        expanded_uncertainty: judgement.expanded_percent(),
    })
}

/// How the loss was judged: by which rule, with which risk.
pub(super) fn section(view: &View<'_>, result: &TestResult) -> Markup {
    let Some(judgement) = view.lab.judgement(result) else { return html! {} };
    let limit = view.lab.samples.get(&result.sample).map(|sample| sample.limit_document.as_str());
    let uncertainty = match &judgement.uncertainty {
        Uncertainty::No { why } => html! { "not known: " (why) },
        Uncertainty::Yes { standard_percent, source, confidence } => html! {
            (standard_percent) " % standard, "
            @if let Some(expanded) = judgement.expanded_percent() { (expanded) " % expanded (k = 2)" }
            "; " (source)
            @if let Some(confidence) = confidence { " " (parts::confidence(*confidence)) }
        },
    };
    let accepted = judgement.acceptance_percent.map_or_else(
        || "not known without an uncertainty".to_owned(),
        |accepted| format!("at most {accepted} %"),
    );
    let held = if result.release().is_some() {
        "By the rule that was in force when it was released."
    } else {
        "By the rule that is in force now; it is kept with the release."
    };
    let facts = look::facts(&[
        ("Requirement", html! { (judgement.requirement()) ", " (limit.unwrap_or_default()) }),
        (
            "Compared",
            html! { (judgement.compared_percent) " %, " (judgement.comparison.in_words()) },
        ),
        ("Rule", html! { (judgement.rule.in_words()) }),
        ("Accepted", html! { (accepted) }),
        ("Uncertainty", uncertainty),
        ("Risk", html! { (judgement.risk_in_words()) }),
    ]);
    parts::section(
        "How it was judged",
        html! { (facts) p.quiet { (held) " " a href="/policies" { "Policies of the laboratory" } } },
    )
}

/// The other losses of the sample, each against the limit for the difference.
pub(super) fn agreement(view: &View<'_>, result: &TestResult) -> Markup {
    let agreement = view.lab.agreement(result);
    if agreement.pairs.is_empty() {
        return html! {};
    }
    let rows = agreement.pairs.iter().map(|pair| {
        vec![
            html! { (named(pair.of, &pair.one)) ", " (pair.one_percent) " %" },
            html! { (named(pair.of, &pair.other)) ", " (pair.other_percent) " %" },
            html! { (pair.difference_percent) },
            html! {
                @match &pair.agree {
                    Agree::Yes(limit) | Agree::No(limit) => (limit.in_words()),
                    Agree::NotKnown { .. } => span.quiet { "none" },
                }
            },
            agrees(pair),
        ]
    });
    let head = ["Loss", "Other loss", "Difference, %", "Limit of the difference", "Agree"];
    parts::section(
        "Agreement with the other losses of the sample",
        html! {
            (parts::table("Each pair against its limit", &head, &[2], rows.collect()))
            @for next in &agreement.next { p { (look::mark(Tone::Edge, "What follows")) " " (next) } }
        },
    )
}

/// The name of one side of a pair; codes lead to what they are of.
fn named(of: Of, name: &str) -> Markup {
    match of {
        Of::Specimens => html! { a.code href={ "/specimens/" (name) } { (name) } },
        Of::Results => html! { a.code href={ "/results/" (name) } { (name) } },
        Of::Laboratories => html! { (name) },
    }
}

fn agrees(pair: &Pair) -> Markup {
    match &pair.agree {
        Agree::Yes(_) => look::mark(Tone::Good, "agree"),
        Agree::No(_) => look::mark(Tone::Bad, "differ too much"),
        Agree::NotKnown { why } => html! { (look::mark(Tone::Plain, "not known")) " " (why) },
    }
}

/// Who may release it, where not everybody with the right may.
pub(super) fn who_may(view: &View<'_>, result: &TestResult) -> Markup {
    if !view.lab.wants_release_by_another() {
        return html! {};
    }
    let people = view.lab.may_release(result);
    html! {
        p {
            "Who tested does not release here. "
            @if people.is_empty() { "Nobody else has the right: have it granted to somebody who did not test." }
            @else {
                "May release: "
                @for (index, person) in people.iter().enumerate() {
                    @if index > 0 { ", " }
                    (parts::person(view, person.code.as_str()))
                }
            }
        }
    }
}
