//! What the laboratory's own experiments say about how the loss follows the conditions of a run.

use super::View;
use super::parts::{self, Field, Form};
use maud::{Markup, html};
use stonewear_lab::fact::Condition;
use stonewear_lab::state::MethodInUse;

const RECORD: &str = "record-sensitivity";

/// The experiments for a method, and the form that records another.
pub(super) fn section(view: &View<'_>, in_use: &MethodInUse) -> Markup {
    let rows: Vec<_> = view
        .lab
        .sensitivities
        .iter()
        .rev()
        .filter(|one| one.value.method == in_use.id)
        .map(|one| {
            vec![
                html! { (one.value.percent_of_loss) @if let Some(uncertainty) = one.value.uncertainty { " ± " (uncertainty) } },
                html! { "% of the loss " (one.value.condition.per()) },
                html! { (one.value.experiment) },
                html! { (parts::person(view, one.by.as_str())) ", " (parts::day(view, one.at)) },
            ]
        })
        .collect();
    let conditions: parts::Options = Condition::ALL
        .iter()
        .filter(|one| one.is_of(&in_use.method))
        .map(|one| (one.as_str().to_owned(), one.per().replacen("per 1", "1", 1)))
        .collect();
    // A test without a run has no conditions to follow.
    if conditions.is_empty() {
        return html! {};
    }
    let first = Condition::Revolutions.as_str();
    let body = html! {
        p { "When a check fails, the size of a doubt is worked out with these. Without an experiment the loss is taken as proportional to the revolutions (derived, not published), and what charge and temperature do to it is not known." }
        @if !rows.is_empty() {
            (parts::table("Experiments of the laboratory, newest first", &["Sensitivity, k = 2", "Meaning", "Experiment", "By"], &[0], rows))
        }
        (parts::go("Experiments: plan one, or see what they say", "/experiments"))
        details open[view.typed.was_refused(RECORD)] {
            summary { "Record a sensitivity that is on record elsewhere" }
            (Form::new(view, RECORD, "Record it").hidden("method", in_use.id.as_str()).body(html! {
                (parts::radios(view, RECORD, "condition", "The loss at", conditions, Some(first)))
                (Field::number(view, RECORD, "percent_of_loss", "changes by this much of itself").unit("%"))
                (Field::number(view, RECORD, "uncertainty", "Expanded uncertainty, k = 2").unit("%").optional())
                (Field::text(view, RECORD, "experiment", "Where the experiment is on record"))
            }))
        }
    };
    parts::section("How the loss follows the conditions", body)
}
