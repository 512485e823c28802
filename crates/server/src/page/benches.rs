//! The first page, to be read at arm's length: what turns now, what is asked of whoever sits here,
//! and what is not ready and why.

mod asked;
mod first_steps;
mod unready;

use super::{Page, View, parts};
use crate::look::{self, Tone};
use maud::{Markup, html};
use stonewear_lab::fact::Standing;
use stonewear_lab::ready::Readiness;
use stonewear_lab::state::Item;
use stonewear_procedure::ItemKind;

pub(super) fn page(view: &View<'_>) -> Page {
    let mills: Vec<(&Item, Vec<Readiness>)> = view
        .lab
        .items_of(ItemKind::Apparatus)
        .chain(view.lab.items_of(ItemKind::Drum))
        .filter(|item| item.standing() != Standing::Retired)
        .map(|item| (item, view.lab.readiness_of(item, view.now)))
        .collect();
    // Until the first loss is released; a laboratory that came with many has found its way.
    let is_new = view.lab.results.len() < 2 && !first_steps::is_released(view);
    let body = html! {
        @if is_new { (first_steps::section(view)) }
        @if !mills.is_empty() {
            div.benches { @for (mill, ready) in &mills { (bench(view, mill, ready)) } }
        }
        (asked::section(view))
        @if !is_new || first_steps::is_equipped(view) { (unready::section(view, &mills)) }
    };
    Page::new("Benches", body)
}

fn bench(view: &View<'_>, mill: &Item, all: &[Readiness]) -> Markup {
    let turning = view.lab.turning_in(&mill.code);
    html! {
        section.panel {
            div.step-head {
                h2 { a href={ "/equipment/" (mill.code) } { (mill.code) } " " span.quiet { (mill.name) } }
                (parts::standing(mill.standing()))
            }
            div.bench-now {
                (super::runs::wall(view, mill))
                @if let Some(run) = turning { (super::runs::time_left(view, mill, run)) }
            }
            (ready(view, all))
            @if let Some(run) = turning {
                (parts::go(&format!("To run {}", run.code), &format!("/runs/{}", run.code)))
            } @else if mill.standing() == Standing::InService {
                (parts::go("Start a run", &format!("/runs/new?apparatus={}", mill.code)))
            } @else {
                (parts::go("See what it still needs", &format!("/equipment/{}", mill.code)))
            }
        }
    }
}

/// May I test now: the methods that can be run and until when the first proof holds; of the others
/// only that they cannot be. Why stands below, once for all machines.
fn ready(view: &View<'_>, all: &[Readiness]) -> Markup {
    let name = |one: &Readiness| {
        let known = view.lab.methods.get(&one.method);
        known.map_or_else(|| one.method.to_string(), |in_use| in_use.method.designation.clone())
    };
    let names = |is_ready: bool| -> Vec<String> {
        all.iter().filter(|one| one.ready == is_ready).map(name).collect()
    };
    let (good, bad) = (names(true), names(false));
    let until = all.iter().filter(|one| one.ready).filter_map(|one| one.until).min();
    html! {
        @if !good.is_empty() {
            p {
                (look::mark(Tone::Good, format!("ready for {}", stonewear_lab::words::listed(good))))
                @if let Some(until) = until { " until " (parts::day(view, until)) }
            }
        }
        @if !bad.is_empty() {
            p {
                (look::mark(Tone::Edge, format!("not ready for {}", stonewear_lab::words::listed(bad))))
                @if !view.lab.results.is_empty() || first_steps::is_equipped(view) { " " a href="#not-ready" { "why" } }
            }
        }
    }
}
