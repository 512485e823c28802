//! Methods: every number with its source, and whether the laboratory has confirmed it.

use super::parts::{self, Field, Form};
use super::{Page, View};
use maud::{Markup, html};
use stonewear_lab::authorisation::Activity;
use stonewear_lab::state::MethodInUse;
use stonewear_method::Method;
use stonewear_method::figures::{FigureAt, figures};
use stonewear_method::model::Vessel;

const ADOPT: &str = "adopt-method";
const CONFIRM: &str = "confirm-figure";

pub(super) fn list(view: &View<'_>) -> Page {
    let all = view.laboratory.methods();
    let is_used = |method: &&Method| view.lab.methods.contains_key(&method.key());
    let used: Vec<&Method> = all.iter().filter(is_used).collect();
    let others = |is_wet: bool| -> Vec<&Method> {
        let is_it = |method: &&Method| (method.vessel == Vessel::JarMill) == is_wet;
        all.iter().filter(|method| !is_used(method)).filter(is_it).collect()
    };
    let body = html! {
        @if !used.is_empty() { (parts::section("In use here", table(view, "Methods in use here", used.clone()))) }
        (folded(view, "Wet attrition in a jar, not in use", others(true), used.is_empty()))
        (folded(view, "Tests that go with it, not in use", others(false), false))
        (parts::section("What the laboratory decides", html! {
            p { "Where methods and standards leave it open: the decision rule, where the uncertainty comes from, what follows when results differ, who releases." }
            (parts::go("Policies of the laboratory", "/policies"))
        }))
    };
    Page::new("Methods", body)
}

fn folded(view: &View<'_>, words: &str, methods: Vec<&Method>, is_open: bool) -> Markup {
    html! {
        @if !methods.is_empty() {
            details open[is_open] {
                summary { h2 { (words) " (" (methods.len()) ")" } }
                (table(view, words, methods))
            }
        }
    }
}

/// Methods by their documents, wet attrition before the others, the newest edition first.
fn table(view: &View<'_>, caption: &str, mut methods: Vec<&Method>) -> Markup {
    methods.sort_by(|one, other| {
        let is_dry = |method: &Method| method.vessel != Vessel::JarMill;
        (is_dry(one).cmp(&is_dry(other)))
            .then(one.designation.cmp(&other.designation))
            .then(other.edition.cmp(&one.edition))
    });
    let rows = methods.into_iter().map(|method| {
        let in_use = view.lab.methods.get(&method.key());
        let all = figures(in_use.map_or(method, |in_use| &in_use.method));
        let unsure = all.iter().filter(|figure| !figure.confidence.is_sure()).count();
        vec![
            html! { a href={ "/methods/" (method.key()) } { strong { (method.dated()) } } },
            html! { (method.title) },
            html! { (unsure) " of " (all.len()) },
        ]
    });
    let head = ["Method", "What it is", "Numbers to confirm"];
    parts::table_below_heading(caption, &head, &[2], rows.collect())
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
    Some(Page::new(method.dated(), body).lead(method.title.clone()).below("Methods", "/methods"))
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
    let table =
        parts::table_below_heading("Who is authorised today", &["To", "Who"], &[], rows.to_vec());
    parts::section("Authorised", table)
}

fn confirm(view: &View<'_>, method: &Method) -> Markup {
    let unsure: Vec<FigureAt> =
        figures(method).into_iter().filter(|figure| !figure.confidence.is_sure()).collect();
    if unsure.is_empty() {
        return html! { p { "Every number is seen in a source or confirmed by the laboratory." } };
    }
    parts::section(
        "Compare with your own copy",
        html! {
            p { (unsure.len()) " numbers are not confirmed. Page and paper say so until somebody has compared them with the laboratory's own copy of the document." }
            details open[view.typed.was_refused(CONFIRM)] {
            summary { "Compare " (unsure.len()) " numbers in one sitting" }
            (Form::new(view, CONFIRM, "Record what was compared").hidden("method", method.key().as_str()).body(html! {
                (Field::text(view, CONFIRM, "against", "Which copy").hint("like our copy of 2019; a number may have a clause of its own below"))
                p { "Tick what your copy says the same of, and write what it says otherwise. What is left as it is stays unconfirmed." }
                ul.compare { @for (index, figure) in unsure.iter().enumerate() { li { div.row role="group" aria-label=(figure.label) { (row(view, index, figure)) } } } }
            }))
            }
        },
    )
}

/// One number to be compared: as it is known, and what the laboratory's own copy says.
fn row(view: &View<'_>, index: usize, figure: &FigureAt) -> Markup {
    let name = |field: &str| format!("more.{index}.{field}");
    html! {
        div {
            p { (figure.label) ": " b.whole { (figure.value) " " (figure.unit) } }
            p.quiet { (figure.confidence.in_words()) }
        }
        input type="hidden" name=(name("figure")) value=(figure.path);
        (parts::tick_box(view, CONFIRM, &name("same"), "The same in our copy"))
        (Field::number(view, CONFIRM, &name("value"), "Otherwise").unit(figure.unit).optional())
        (Field::text(view, CONFIRM, &name("against"), "Clause of its own").optional())
    }
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
