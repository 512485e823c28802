//! Drying to constant mass, and the clock of the soak.

use super::View;
use super::parts::{self, Field, Form};
use crate::look::{self, Tone};
use maud::{Markup, html};
use stonewear_lab::drying::Constancy;
use stonewear_lab::fact::Stage;
use stonewear_lab::state::Specimen;
use stonewear_method::Method;
use stonewear_procedure::ItemKind;

const DRYING: &str = "weigh-drying";
const SOAK: &str = "start-soak";

/// Whether a series of drying weighings has come to constant mass: then it need not be typed again.
pub(super) fn is_constant(view: &View<'_>, specimen: &Specimen, stage: Stage) -> bool {
    view.lab.constancy(specimen, stage) == Some(Constancy::Constant)
}

/// The weighings so far, what they say, and the form for the next.
pub(super) fn section(
    view: &View<'_>,
    specimen: &Specimen,
    method: &Method,
    stage: Stage,
) -> Markup {
    let rows: Vec<_> = specimen
        .drying_at(stage)
        .map(|one| {
            vec![
                html! { (parts::moment(view, one.at)) },
                html! { (one.value.mass_g) },
                html! { (parts::person(view, one.by.as_str())) ", on " (one.value.balance)
                @if let Some(oven) = &one.value.oven { ", from " (oven) } },
            ]
        })
        .collect();
    let verdict = view.lab.constancy(specimen, stage).filter(|_| !rows.is_empty());
    let is_open = !rows.is_empty() || view.typed.was_refused(DRYING);
    html! {
        details open[is_open] {
            summary { "Weigh it while it dries" }
            p {
                "Constant means: at most " (method.drying.constant_within_percent.value) " % lost between two weighings at least "
                (method.drying.weighings_apart_h.value) " h apart. A specimen that was dried for a time that is proved to be enough needs no series."
            }
            @if let Some(verdict) = &verdict {
                p { (look::mark(if *verdict == Constancy::Constant { Tone::Good } else { Tone::Edge }, verdict.to_string())) }
            }
            @if !rows.is_empty() {
                (parts::table("Weighings while it dried", &["When", "Mass, g", "By"], &[1], rows))
            }
            @if verdict != Some(Constancy::Constant) {
                (Form::new(view, DRYING, "Record this weighing").hidden("specimen", specimen.code.as_str()).body(html! {
                    (Field::number(view, DRYING, "mass_g", "Mass now").unit("g").bench())
                    (parts::item_select(view, DRYING, "balance", "Balance", ItemKind::Balance))
                    (parts::item_if_there_is_one(view, DRYING, "oven", "Oven", ItemKind::Oven))
                }))
            }
        }
    }
}

/// Since when a specimen lies in its water, or the button that starts the clock.
pub(super) fn soak(view: &View<'_>, specimen: &Specimen, method: &Method) -> Markup {
    let Some(rule) = &method.soak else { return html! {} };
    let least = rule.hours_at_least.value;
    html! {
        @match &specimen.soak {
            Some(soak) => {
                @let minutes = view.now.duration_since(soak.at).as_mins().max(0);
                p {
                    "In its water since " (parts::moment(view, soak.at)) ", for "
                    strong { (minutes / 60) " h " (minutes % 60) " min" } "; the method wants at least " (least) " h."
                }
            },
            None if !least.is_zero() => {
                (Form::new(view, SOAK, "It lies in its water now").hidden("specimen", specimen.code.as_str()).body(html! {
                    p { "The method wants a soak of at least " (least) " h. Started here, its length is read off the clock when the run starts." }
                }))
            },
            None => {},
        }
    }
}
