//! The forms about reference aggregate and charts.

use crate::page::View;
use crate::page::parts::{self, Field, Form, Options};
use maud::{Markup, html};
use stonewear_lab::ItemCode;
use stonewear_lab::control::ControlChart;
use stonewear_lab::fact::EventKind;
use stonewear_lab::state::{Item, ReferenceLot, Sample};
use stonewear_procedure::ItemKind;

const REGISTER: &str = "register-lot";
const LINK: &str = "link-sample";
const COUNT: &str = "count-stock";
const IMPORT: &str = "import-reference";
const FREEZE: &str = "freeze-baseline";
const TAKE_OVER: &str = "take-over-lot";
const NOTE: &str = "note-event";

/// How many results can be left out in one form.
const EXCLUSIONS: usize = 3;

pub(super) fn register(view: &View<'_>) -> Markup {
    let methods: Options = view
        .lab
        .methods
        .values()
        .map(|in_use| {
            let method = &in_use.method;
            let words = method.dated();
            (in_use.id.to_string(), words)
        })
        .collect();
    let first = methods.first().map(|(id, _)| id.clone()).unwrap_or_default();
    if methods.is_empty() {
        return parts::lead(
            "No method is in use yet",
            "A lot is for one method and one of its gradings.",
            "/methods",
            "Take a method into use",
        );
    }
    let text = |name: &str, label: &str| Field::text(view, REGISTER, name, label);
    let number = |name: &str, label: &str| Field::number(view, REGISTER, name, label);
    Form::new(view, REGISTER, "Register the lot").body(html! {
        (text("lot", "Code marked on its bin").hint("up to 16 letters and digits, like RA-2").focus())
        (text("name", "What people call it"))
        (text("source", "Where the material comes from"))
        (parts::select(view, REGISTER, "method", "Method", methods, &first))
        (text("grading", "Grading").hint("as the method names it, like 19.0"))
        (number("stock_g", "How much there is").unit("g").hint("or as the balance shows it, like 60 kg"))
        (text("received_on", "Arrived on").date().optional().hint("left empty, today"))
        fieldset {
            legend { "Assigned value, where a document gives one" }
            (number("assigned_percent", "Loss").unit("%").optional())
            (number("expanded_percent", "Its expanded uncertainty (k = 2)").unit("% loss").optional())
            (text("document", "Document").optional())
        }
    })
}

pub(super) fn link(view: &View<'_>, sample: &Sample, is_linked: bool) -> Markup {
    let lots: Options = view
        .lab
        .lots
        .values()
        .rev()
        .map(|lot| (lot.code.to_string(), format!("{}, {}", lot.code, lot.name)))
        .collect();
    let first = lots.first().map(|(code, _)| code.clone()).unwrap_or_default();
    let form = Form::new(view, LINK, "It is of this lot")
        .hidden("sample", sample.code.as_str())
        .body(html! {
            (parts::select(view, LINK, "lot", "Lot", lots, &first))
            @if is_linked { (Field::text(view, LINK, "reason", "Why it is of another lot")) }
        });
    html! {
        @if is_linked {
            details open[view.typed.was_refused(LINK)] { summary { "It is of another lot" } (form) }
        } @else {
            (form)
        }
    }
}

pub(super) fn count(view: &View<'_>, lot: &ReferenceLot) -> Markup {
    html! {
        details open[view.typed.was_refused(COUNT)] {
            summary { "Record what is left" }
            (Form::new(view, COUNT, "Record it").hidden("lot", lot.code.as_str()).body(html! {
                (Field::number(view, COUNT, "stock_g", "What is left").unit("g").hint("or as the balance shows it, like 31.4 kg"))
                (Field::text(view, COUNT, "reason", "Why it is not what the specimens left"))
            }))
        }
    }
}

/// The machines that tests are run in.
fn machines(view: &View<'_>) -> Options {
    [ItemKind::Apparatus, ItemKind::Drum]
        .into_iter()
        .flat_map(|kind| view.lab.items_of(kind))
        .map(|item| (item.code.to_string(), format!("{}, {}", item.code, item.name)))
        .collect()
}

pub(super) fn import(view: &View<'_>, lot: &ReferenceLot) -> Markup {
    let machines = machines(view);
    let last = machines.last().map(|(code, _)| code.clone()).unwrap_or_default();
    html! {
        details open[view.typed.was_refused(IMPORT)] {
            summary { "Take over past results from a table" }
            (Form::new(view, IMPORT, "Take them over").hidden("lot", lot.code.as_str()).body(html! {
                p { "Columns " code { "date" } " and " code { "loss" } ", and where known " code { "operator" } " and " code { "note" } ". All rows are taken over, or none. They stay marked as taken over." }
                (parts::select(view, IMPORT, "apparatus", "Apparatus on which they were found", machines, &last))
                (Field::text(view, IMPORT, "document", "Where they come from").hint("like our control book of 2025"))
                (Field::text(view, IMPORT, "table", "The table").lines())
            }))
        }
    }
}

pub(super) fn freeze(view: &View<'_>, chart: &ControlChart) -> Markup {
    let text = |name: &str, label: &str| Field::text(view, FREEZE, name, label);
    let points: Vec<&str> = chart.points.iter().map(|point| point.name.as_str()).collect();
    let (first, last) =
        (points.first().copied().unwrap_or_default(), points.last().copied().unwrap_or_default());
    let named = |name: &str, otherwise: &str| view.asked(name).unwrap_or(otherwise.to_owned());
    let study = view.asked("study");
    let grounds = study.as_ref().map(|code| format!("the runs of the qualification {code}"));
    let has_assigned = view.lab.lots.get(&chart.lot).is_some_and(|lot| lot.assigned.is_some());
    let option = |value: &str, words: &str| (value.to_owned(), words.to_owned());
    let mut centres = vec![option("mean", "the mean of the results")];
    if has_assigned {
        centres.push(option("assigned", "the assigned value of the lot"));
    }
    centres.push(option("stated", "a number from a document"));
    let spreads = vec![
        option("moving-range", "the moving ranges of the results"),
        option("standard-deviation", "the standard deviation of the results"),
        option("stated", "a number from a document"),
    ];
    html! {
        details #freeze open[view.typed.was_refused(FREEZE) || chart.baseline.is_none() || study.is_some()] {
            summary { @if chart.baseline.is_none() { "Freeze a baseline" } @else { "Freeze another baseline" } }
            (Form::new(view, FREEZE, "Freeze it")
                .hidden("lot", chart.lot.as_str()).hidden("apparatus", chart.apparatus.as_str())
                .body(html! {
                div.pair {
                    (text("first", "First result").default(&named("first", first)))
                    (text("last", "Last result").default(&named("last", last)))
                }
                @for n in 0..EXCLUSIONS {
                    div.pair {
                        (text(&format!("excluded.{n}.point"), "Left out").optional())
                        (text(&format!("excluded.{n}.reason"), "Because").optional())
                    }
                }
                (parts::radios(view, FREEZE, "centre", "Centre", centres, Some("mean")))
                (Field::number(view, FREEZE, "stated_centre", "Centre, where it is from a document").unit("%").optional())
                (parts::radios(view, FREEZE, "spread", "Standard deviation", spreads, Some("moving-range")))
                (Field::number(view, FREEZE, "stated_sigma", "Standard deviation, where it is from a document").unit("% loss").optional())
                (text("document", "That document").optional())
                (text("reason", "On what grounds these results").default(&grounds.unwrap_or_default()))
            }))
        }
    }
}

pub(super) fn take_over(
    view: &View<'_>,
    new: &ReferenceLot,
    old: &str,
    apparatus: &ItemCode,
) -> Markup {
    Form::new(view, TAKE_OVER, "The new lot takes its place")
        .hidden("lot", new.code.as_str())
        .hidden("replaces", old)
        .hidden("apparatus", apparatus.as_str())
        .body(html! {
            (Field::text(view, TAKE_OVER, "reason", "What is concluded from the step"))
        })
}

/// What happened to an item, for its charts.
pub(super) fn event(view: &View<'_>, item: &Item) -> Markup {
    if !matches!(item.kind, ItemKind::Apparatus | ItemKind::Drum | ItemKind::BallCharge) {
        return html! {};
    }
    let kinds: Options =
        EventKind::ALL.map(|kind| (kind.name().to_owned(), kind.in_words().to_owned())).to_vec();
    let noted = view.lab.events.get(&item.code);
    html! {
        (parts::section("Events", html! {
            @if let Some(noted) = noted {
                ul { @for one in noted.iter().rev() {
                    li { (one.value.on) ": " (one.value.what.in_words()) ", " (one.value.note) " (" (parts::person(view, one.by.as_str())) ")" }
                } }
            }
            details open[view.typed.was_refused(NOTE)] {
                summary { "Note an event that its charts should show" }
                (Form::new(view, NOTE, "Note it").hidden("item", item.code.as_str()).body(html! {
                    (parts::radios(view, NOTE, "what", "What", kinds, Some("repaired")))
                    (Field::text(view, NOTE, "on", "On which day").date().optional().hint("left empty, today"))
                    (Field::text(view, NOTE, "note", "In words"))
                }))
            }
        }))
    }
}
