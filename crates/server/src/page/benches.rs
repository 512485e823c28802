//! The first page: what turns now, and what waits to be done.

use super::{Page, View, parts};
use crate::look::{self, Tone};
use maud::{Markup, html};
use stonewear_lab::ItemCode;
use stonewear_lab::fact::Standing;
use stonewear_lab::next::Next;
use stonewear_lab::state::Item;
use stonewear_procedure::ItemKind;

pub(super) fn page(view: &View<'_>) -> Page {
    let mills: Vec<&Item> = view
        .lab
        .items_of(ItemKind::Apparatus)
        .chain(view.lab.items_of(ItemKind::Drum))
        .filter(|item| item.standing() != Standing::Retired)
        .collect();
    let body = html! {
        div.benches {
            @for mill in mills { (bench(view, mill)) }
        }
        (super::due::short(view))
        @if view.lab.results.is_empty() { (first_steps(view)) }
        @else { (parts::section("Next", waiting(view))) }
    };
    Page::new("Benches", body)
}

/// A laboratory without a result yet is led by the hand, step by step, to its first one.
fn first_steps(view: &View<'_>) -> Markup {
    let lab = view.lab;
    let in_service = |kind| lab.in_service(kind).next().is_some();
    let steps = [
        (
            in_service(ItemKind::Apparatus),
            "Register the apparatus, pass its function check, put it into service",
            "/equipment/new?kind=apparatus",
        ),
        (in_service(ItemKind::Balance), "The same for the balance", "/equipment/new?kind=balance"),
        (
            in_service(ItemKind::Sieve),
            "The same for the sieve of your method",
            "/equipment/new?kind=sieve",
        ),
        (in_service(ItemKind::Jar), "The same for a jar", "/equipment/new?kind=jar"),
        (
            in_service(ItemKind::BallCharge),
            "The same for its ball charge",
            "/equipment/new?kind=ball-charge",
        ),
        (!lab.samples.is_empty(), "Receive a sample", "/samples/new"),
        (!lab.specimens.is_empty(), "Make up a specimen, weigh it and run it", "/samples"),
        (false, "Weigh what is left: the loss is there", "/samples"),
    ];
    let next = steps.iter().find(|(done, ..)| !done);
    let started = lab.next();
    let empty = look::Empty {
        heading: "The way to your first loss".into(),
        words: "Each step leads to the next. What you begin waits for you on this page.".into(),
        steps: steps
            .iter()
            .map(|(done, words, _)| look::StepAhead { words: (*words).into(), is_done: *done })
            .collect(),
        action: html! {
            @if let (Some((_, words, href)), true) = (next, started.is_empty()) { (look::link_button(*words, href)) }
        },
    };
    html! {
        (empty)
        @if !started.is_empty() {
            (parts::section("Begun", waiting(view)))
            @if let Some((_, words, href)) = next { (parts::go(words, href)) }
        }
    }
}

fn bench(view: &View<'_>, mill: &Item) -> Markup {
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
            (ready(view, mill))
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

/// May I test now, and if not, what is missing.
fn ready(view: &View<'_>, mill: &Item) -> Markup {
    let all = view.lab.readiness_of(mill, view.now);
    html! {
        ul.tasks {
            @for one in &all {
                @let name = view.lab.methods.get(&one.method).map_or("", |in_use| in_use.method.designation.as_str());
                li {
                    @if one.ready {
                        p {
                            (look::mark(Tone::Good, format!("ready for {name}")))
                            @if let Some(until) = one.until { " until " (parts::day(view, until)) }
                        }
                    } @else {
                        p { (look::mark(Tone::Edge, format!("not ready for {name}"))) }
                        ul { @for lack in &one.lacks { li { (lack.what) ": " (lack.why) "; " (lack.mend) } } }
                    }
                    @if !one.warnings.is_empty() {
                        p { (look::mark(Tone::Edge, "wants doing")) }
                        ul { @for soon in &one.warnings { li { (soon.what) ": " (soon.why) "; " (soon.mend) } } }
                    }
                }
            }
        }
    }
}

/// What waits, each with the one thing to do.
fn waiting(view: &View<'_>) -> Markup {
    let all = view.lab.next();
    if all.is_empty() {
        return parts::lead(
            "Nothing waits",
            "Every sample has its result, and every item is in service.",
            "/samples/new",
            "Receive a sample",
        );
    }
    html! {
        ul.tasks {
            @for next in &all { li { (one(view, next)) } }
        }
        (parts::go("Receive a sample", "/samples/new"))
    }
}

fn one(view: &View<'_>, next: &Next) -> Markup {
    let lab = view.lab;
    let (href, code, what) = match next {
        Next::Release { result } => {
            let loss = lab.results.get(result).and_then(|result| result.current()).map(|version| {
                match version.value.loss_percent {
                    Some(loss) => format!("release the loss of {loss} %"),
                    None => format!("release the result: {}", version.value.in_words()),
                }
            });
            let what = loss.unwrap_or_default();
            (format!("/results/{result}"), result.to_string(), what)
        }
        Next::StopRun { run } => {
            (format!("/runs/{run}"), run.to_string(), "record how the run ended".to_owned())
        }
        Next::WeighAfter { specimen } => specimen_step(specimen.as_str(), "weigh after the run"),
        Next::StartRun { specimen } => (
            format!("/runs/new?specimen={specimen}"),
            specimen.to_string(),
            "start its run".to_owned(),
        ),
        Next::WeighBefore { specimen } => specimen_step(specimen.as_str(), "weigh before the run"),
        Next::TakeReading { specimen, reading } => {
            let known = lab.specimens.get(specimen).and_then(|one| lab.rules_of(one));
            let title = known
                .and_then(|(method, _)| method.reading(reading))
                .map_or(reading.as_str(), |reading| reading.title.as_str());
            specimen_step(specimen.as_str(), &format!("read: {title}"))
        }
        Next::MakeUp { specimen } => specimen_step(specimen.as_str(), "weigh in its fractions"),
        Next::BeginSpecimen { sample } => {
            (format!("/samples/{sample}"), sample.to_string(), "make up a specimen".to_owned())
        }
        Next::GoOn { check } => {
            let item = lab.checks.get(check).map(|check| check.item.clone());
            let of = item.map(|item| format!(" of {item}")).unwrap_or_default();
            (format!("/checks/{check}"), check.to_string(), format!("go on with the check{of}"))
        }
        Next::Prove { item } => {
            (format!("/equipment/{item}"), item.to_string(), standing_words(view, item))
        }
    };
    html! { a.task href=(href) { b { (code) } " " span { (what) } } }
}

fn specimen_step(code: &str, what: &str) -> (String, String, String) {
    (format!("/specimens/{code}"), code.to_owned(), what.to_owned())
}

fn standing_words(view: &View<'_>, item: &ItemCode) -> String {
    let standing = view.lab.items.get(item).map_or(Standing::BeingProved, Item::standing);
    format!("{}: prove it", standing.in_words())
}
