//! The wear of ball charges and the use of jars: how fast, until when, and what was done to them.

use super::parts::{self, Field, Form};
use super::{Page, View};
use crate::look::{self, Hazard, Tone};
use maud::{Markup, html};
use stonewear_lab::charge::{JarUse, Wear};
use stonewear_lab::fact::{ChargeChange, Standing};
use stonewear_lab::state::Item;
use stonewear_procedure::ItemKind;
use stonewear_report::{stones_table, wear_plot, wear_table, worn_table};

const CHANGE: &str = "change-charge";

/// The part of the page of an item: of a ball charge how it wears, of a jar what it has turned.
pub(super) fn section(view: &View<'_>, item: &Item) -> Markup {
    match item.kind {
        ItemKind::BallCharge => match view.lab.wear(&item.code, view.now) {
            Some(wear) => parts::section(
                "Wear",
                html! {
                    (in_short(&wear))
                    (parts::go("Wear, forecast, balls added", &format!("/equipment/{}/wear", item.code)))
                },
            ),
            None => html! {},
        },
        ItemKind::Jar => match view.lab.jar_use(&item.code) {
            Some(used) => parts::section("Use", jar(view, &used)),
            None => html! {},
        },
        _ => html! {},
    }
}

/// The wear of a ball charge.
pub(super) fn page(view: &View<'_>, code: &str) -> Option<Page> {
    let item = view.lab.items.get(code)?;
    let wear = view.lab.wear(&item.code, view.now)?;
    let history = &wear.history;
    let (stones, worn) = (wear.stones(), view.lab.worn_shares(&item.code));
    let body = html! {
        (in_short(&wear))
        @if !history.readings.is_empty() {
            (look::plot(&wear_plot(&wear)))
        }
        (look::facts(&facts(view, &wear)))
        (parts::section("Kinds of stone", html! {
            p { (parts::capital(&stones.verdict)) "." }
            @if !stones.kinds.is_empty() { (parts::sheet_table(&stones_table(&stones))) }
        }))
        @if !worn.is_empty() {
            (parts::section("Worn balls", parts::sheet_table(&worn_table(view.lab, &worn))))
        }
        @if item.standing() != Standing::Retired { (change(view, item, &wear)) }
        (parts::section("What was done to it", changes(view, &wear)))
        @if !history.readings.is_empty() {
            (parts::section("Readings", html! {
                (parts::sheet_table(&wear_table(view.lab, &wear)))
                (look::actions(&html! {
                    (look::link_button("Print", &format!("/equipment/{code}/wear.pdf")))
                    (look::link_button("Take the readings as CSV", &format!("/equipment/{code}/wear.csv")))
                }))
            }))
        }
    };
    let page = Page::new(format!("Wear of {}", item.code), body)
        .lead(item.name.clone())
        .below("Equipment", "/equipment");
    Some(page.below(item.code.to_string(), format!("/equipment/{}", item.code)))
}

/// How fast and until when.
fn in_short(wear: &Wear) -> Markup {
    html! {
        p {
            @if wear.forecast.is_near() { (look::mark(Tone::Edge, "Look at it now")) " " }
            (parts::capital(&wear.rate_in_words())) "; " (wear.forecast_in_words()) "."
        }
    }
}

fn facts<'a>(view: &View<'_>, wear: &Wear) -> Vec<(&'a str, Markup)> {
    let history = &wear.history;
    let runs = stonewear_lab::words::counted(history.turnings.len(), "run");
    let not_counted = history.not_counted();
    let mut facts = vec![
        (
            "Turned",
            html! {
                (history.turned.normalize()) " revolutions in " (runs)
                @if not_counted > 0 { "; " (not_counted) " of them by their minutes, not counted" }
            },
        ),
        (
            "To be kept",
            html! {
                @match &wear.tolerance {
                    Some(tolerance) => { (tolerance.limits) " g: " (tolerance.source) },
                    None => "not known: it has neither run nor passed a check",
                }
            },
        ),
    ];
    if let Ok(trend) = &wear.trend {
        facts.push(("Rate rests on", html! { (trend.basis_in_words()) }));
    }
    if let Some(balls) = history.balls() {
        facts.push(("Balls", html! { (balls) ", counted since it was renewed" }));
    }
    if !history.mended_in.is_empty() {
        let checks = history.mended_in.iter().map(ToString::to_string);
        let checks = stonewear_lab::words::listed(checks);
        facts.push(("Changed in a check", html! { "in " (checks) " the mass was mended and read again, without a change on record; the rate leaves that out" }));
    }
    facts.push(("As of", html! { (parts::day(view, view.now)) }));
    facts
}

fn change(view: &View<'_>, item: &Item, wear: &Wear) -> Markup {
    let options: parts::Options = ChargeChange::ALL
        .iter()
        .map(|one| (one.as_str().to_owned(), parts::capital(one.in_words())))
        .collect();
    let limits = wear.tolerance.as_ref().map(|it| it.limits).unwrap_or_default();
    let form = Form::new(view, CHANGE, "Record it").hidden("charge", item.code.as_str()).body(html! {
        (parts::radios(view, CHANGE, "change", "What was done", options, Some(ChargeChange::Added.as_str())))
        (Field::number(view, CHANGE, "before_g", "Mass of the whole charge before").unit("g"))
        (Field::number(view, CHANGE, "after_g", "Mass of the whole charge after").unit("g").limits(limits))
        (Field::text(view, CHANGE, "balls", "How many balls").optional().hint("added or taken out, or in the new charge"))
        (parts::item_select(view, CHANGE, "balance", "Balance", ItemKind::Balance))
        (Field::text(view, CHANGE, "reason", "Reason").hint("like worn below the limit, or one ball lost"))
    });
    html! {
        details open[view.typed.was_refused(CHANGE)] {
            summary { "Record balls added, taken out or renewed" }
            (parts::caution(
                Hazard::Lifting,
                "Steel balls hurt a foot, and balls on the floor make people fall: tray with a rim, safety shoes, pick up at once. A charge of 5 kg is lifted with both hands.",
                "common practice, no published source",
            ))
            p { "Take only balls of the size of the method; look for a foreign ball where the mass went up by itself." }
            (form)
        }
    }
}

fn changes(view: &View<'_>, wear: &Wear) -> Markup {
    if wear.history.changes.is_empty() {
        return html! { p.quiet { "Nothing is on record: no balls were added, taken out or renewed." } };
    }
    let rows = wear.history.changes.iter().zip(&wear.history.changed_at).rev().map(|(change, at)| {
        vec![
            html! { (parts::day(view, change.at)) },
            html! { (change.value.in_words()) @for one in &change.value.deviations { "; deviation: " (one.what) " (" (one.reason) ")" } },
            html! { (at.normalize()) },
            html! { (change.value.reason) },
            html! { (parts::person(view, change.by.as_str())) },
        ]
    });
    let head = ["When", "What", "After revolutions", "Reason", "By"];
    parts::table("Changes, newest first", &head, &[2], rows.collect())
}

fn jar(view: &View<'_>, used: &JarUse) -> Markup {
    let runs = stonewear_lab::words::counted(used.runs, "run");
    let rows: Vec<Vec<Markup>> = used
        .bore
        .iter()
        .rev()
        .map(|one| {
            vec![
                html! { (one.turned.normalize()) },
                html! { (one.mm) },
                html! { (one.what) },
                html! { a.code href={ "/checks/" (one.check) } { (one.check) } ", " (parts::day(view, one.at)) },
            ]
        })
        .collect();
    html! {
        p {
            "It has turned " (used.turned.normalize()) " revolutions in " (runs) " since it is on record"
            @if used.not_counted > 0 { "; " (used.not_counted) " of them by their minutes, not counted" }
            @if let Some(last) = used.last { "; last on " (parts::day(view, last)) }
            "."
        }
        @if !rows.is_empty() {
            (parts::table("Its bore over its revolutions, newest first", &["Revolutions", "mm", "What", "Check"], &[0, 1], rows))
        }
    }
}
