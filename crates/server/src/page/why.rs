//! Why a step is done, where its figures come from, and what to do when it fails: one touch away.

use super::parts;
use maud::{Markup, html};
use stonewear_lab::state::Check;
use stonewear_method::Method;
use stonewear_method::figures::figures;
use stonewear_method::model::Grading;
use stonewear_procedure::{Expect, Step};

/// What stands folded beside the instruction of a step.
pub(super) fn of_step(check: &Check, step: &Step) -> Markup {
    let limits = match &step.expect {
        Expect::Number { source, .. } => source.as_str(),
        Expect::Seen { .. } => "",
    };
    html! {
        details.why {
            summary { "Why this step, and if it fails" }
            @if !step.why.is_empty() {
                p { (step.why) " " span.quiet { "Common practice, no published source." } }
            }
            @if !limits.is_empty() {
                p { b { "Where the limits come from: " } (spelled_out(check, limits)) }
            }
            p { b { "If it is not so: " } (step.on_failure) }
        }
    }
}

/// A source with the keys in it spelled out.
pub(super) fn spelled_out(check: &Check, source: &str) -> String {
    let known = check.procedure.sources.iter().filter(|(key, _)| source.contains(key.as_str()));
    let spelled: Vec<String> = known.map(|(key, words)| format!("{key}: {words}")).collect();
    if spelled.is_empty() {
        source.to_owned()
    } else {
        format!("{source} – {}", spelled.join("; "))
    }
}

/// Where the figures of a form come from: those of the method whose names begin so, and those of
/// the grading after the names in `of_grading`.
pub(super) fn of_figures(
    method: &Method,
    grading: &Grading,
    begins: &[&str],
    of_grading: &[&str],
) -> Markup {
    let within = format!("grading.{}.", grading.name);
    let all: Vec<_> = figures(method)
        .into_iter()
        .filter(|one| match one.path.strip_prefix(&within) {
            Some(rest) => of_grading.iter().any(|begin| rest.starts_with(begin)),
            None => begins.iter().any(|begin| one.path.starts_with(begin)),
        })
        .collect();
    if all.is_empty() {
        return html! {};
    }
    html! {
        details.why {
            summary { "Where these numbers come from" }
            dl.facts {
                @for one in &all {
                    dt { (one.label) }
                    dd {
                        strong { (one.value) " " (one.unit) } " " (parts::confidence(one.confidence))
                        @if !one.source.is_empty() { br; span.quiet { (in_full(method, &one.source)) } }
                    }
                }
            }
            p { a href={ "/methods/" (method.key()) } { "Every number of " (method.designation) } }
        }
    }
}

/// Sources of a method spelled out: what the file says of each key.
fn in_full(method: &Method, source: &str) -> String {
    let keys = source.split(',').map(str::trim);
    let said = keys.map(|key| match method.sources.get(key) {
        Some(words) => format!("{key}: {words}"),
        None => key.to_owned(),
    });
    said.collect::<Vec<_>>().join("; ")
}
