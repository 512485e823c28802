//! Methods: every number with its source, and whether the laboratory has confirmed it.

use super::parts::{self, Field, Form};
use super::{Page, View};
use maud::{Markup, html};
use stonewear_lab::authorisation::Activity;
use stonewear_lab::state::MethodInUse;
use stonewear_method::Method;
use stonewear_method::figures::{FigureAt, figures};

const ADOPT: &str = "adopt-method";
const CONFIRM: &str = "confirm-figure";

pub(super) fn list(view: &View<'_>) -> Page {
    let rows = view.laboratory.methods().iter().map(|method| {
        let in_use = view.lab.methods.get(&method.key());
        let all = figures(in_use.map_or(method, |in_use| &in_use.method));
        let unsure = all.iter().filter(|figure| !figure.confidence.is_sure()).count();
        vec![
            html! { a href={ "/methods/" (method.key()) } { strong { (method.designation) } " " (method.edition) } },
            html! { (method.title) },
            html! { span.whole { @if in_use.is_some() { "in use" } @else { span.quiet { "not in use" } } } },
            html! { (unsure) " of " (all.len()) },
        ]
    });
    let head = ["Method", "What it is", "In use here", "Numbers to confirm"];
    let body = html! {
        (parts::table("Test methods", &head, &[3], rows.collect()))
        (parts::section("What the laboratory decides", html! {
            p { "Where methods and standards leave it open: the decision rule, where the uncertainty comes from, what follows when results differ, who releases." }
            (parts::go("Policies of the laboratory", "/policies"))
        }))
    };
    Page::new("Methods", body)
}

pub(super) fn one(view: &View<'_>, id: &str) -> Option<Page> {
    let in_use = view.lab.method_in_use(id);
    let method = match in_use {
        Some(in_use) => &in_use.method,
        None => view.laboratory.methods().iter().find(|method| method.key().answers_to(id))?,
    };
    let body = html! {
        @for note in &method.notes { p.quiet { (note) } }
        @match in_use {
            Some(in_use) => p { "In use since " (parts::day(view, in_use.adopted.at)) ", taken into use by " (parts::person(view, in_use.adopted.by.as_str())) "." },
            None => (Form::new(view, ADOPT, "Take it into use").hidden("method", method.key().as_str()).body(html! {})),
        }
        @if in_use.is_some() { (confirm(view, method)) }
        (parts::section("Every number", numbers(method)))
        @if let Some(in_use) = in_use {
            (confirmations(view, in_use))
            (super::sensitivities::section(view, in_use))
            (authorised(view, in_use))
        }
        (parts::section("Sources", html! { dl.sources { @for (key, source) in &method.sources { dt { (key) } dd { (source) } } } }))
    };
    let title = format!("{} ({})", method.designation, method.edition);
    Some(Page::new(title, body).lead(method.title.clone()).below("Methods", "/methods"))
}

/// Who is authorised for which part of the work today.
fn authorised(view: &View<'_>, in_use: &MethodInUse) -> Markup {
    let rows = Activity::ALL.map(|activity| {
        let people = view.lab.authorised_for(&in_use.id, activity, view.now);
        vec![
            html! { (activity.in_words()) },
            html! {
                @if people.is_empty() { "nobody" }
                @for (person, until) in people {
                    a href={ "/people/" (person) } { (person) }
                    @if let Some(until) = until { " until " (until) }
                    " "
                }
            },
        ]
    });
    let table = parts::table("Who is authorised today", &["To", "Who"], &[], rows.to_vec());
    parts::section("Authorised", table)
}

fn confirm(view: &View<'_>, method: &Method) -> Markup {
    let unsure: Vec<FigureAt> =
        figures(method).into_iter().filter(|figure| !figure.confidence.is_sure()).collect();
    if unsure.is_empty() {
        return html! { p { "Every number is seen in a source or confirmed by the laboratory." } };
    }
    let options: Vec<(String, String)> = unsure
        .iter()
        .map(|figure| {
            (
                figure.path.clone(),
                format!(
                    "{}: {} {} ({})",
                    figure.label,
                    figure.value,
                    figure.unit,
                    figure.confidence.in_words()
                ),
            )
        })
        .collect();
    let chosen = view.asked("figure").unwrap_or_default();
    parts::section(
        "Compare with your own copy",
        html! {
            p { (unsure.len()) " numbers are not confirmed. Page and paper say so until somebody has compared them with the laboratory's own copy of the document." }
            (Form::new(view, CONFIRM, "Confirm or correct it").hidden("method", method.key().as_str()).body(html! {
                (parts::select(view, CONFIRM, "figure", "Number", options, &chosen))
                (Field::number(view, CONFIRM, "value", "Value in your copy").optional().hint("left empty: as shown"))
                (Field::text(view, CONFIRM, "against", "Which copy").hint("like our copy of 2019, clause 8.2"))
            }))
        },
    )
}

fn numbers(method: &Method) -> Markup {
    let rows = figures(method).into_iter().map(|figure| {
        vec![
            html! { span id=(figure.path) { (figure.label) } },
            html! { strong { (figure.value) } " " (figure.unit) },
            html! { (parts::confidence(figure.confidence)) },
            html! { (figure.source) @if let Some(note) = &figure.note { br; span.quiet { (note) } } },
        ]
    });
    parts::table(
        "Numbers of this method",
        &["What", "Value", "How sure", "Source"],
        &[1],
        rows.collect(),
    )
}

fn confirmations(view: &View<'_>, in_use: &MethodInUse) -> Markup {
    let rows = in_use.confirmations.iter().rev().map(|one| {
        let to = one
            .value
            .corrected_to
            .as_ref()
            .map_or_else(|| "confirmed".to_owned(), |to| format!("corrected to {to}"));
        vec![
            html! { (one.value.figure) },
            html! { (to) },
            html! { (one.value.against) },
            html! { (parts::person(view, one.by.as_str())) ", " (parts::day(view, one.at)) },
        ]
    });
    html! {
        @if !in_use.confirmations.is_empty() {
            (parts::section("Compared so far", parts::table("Comparisons with the laboratory's own copy", &["Number", "Outcome", "Copy", "By"], &[], rows.collect())))
        }
    }
}
