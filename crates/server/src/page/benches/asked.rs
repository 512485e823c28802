//! What is asked of whoever sits here, then of the others, each with the one thing to do.

use crate::look::{self, Tone};
use crate::page::{View, due, parts};
use maud::{Markup, html};
use stonewear_lab::asked::{Asked, Because};
use stonewear_lab::due::{Due, DueKind, Urgency, Wanted};
use stonewear_lab::fact::Standing;
use stonewear_lab::next::Next;
use stonewear_lab::state::Item;
use stonewear_lab::{ItemCode, PersonCode};

/// How many of each kind are shown at once; the rest is folded.
const AT_ONCE: usize = 8;

/// What waits, by person. Where nobody has said who they are, everything with whom it lies.
pub(super) fn section(view: &View<'_>) -> Markup {
    let seat = view.seat.code.as_str();
    let all = view.lab.asked(view.now);
    if !view.lab.people.contains_key(seat) {
        return of_everybody(view, &all);
    }
    let (mine, others): (Vec<&Asked>, Vec<&Asked>) = all.iter().partition(|one| one.is_of(seat));
    let due = near(view, Wanted { person: Some(PersonCode::from(seat)), ..Wanted::default() });
    let name = view.lab.people.get(seat).map_or(seat, |person| person.name.as_str());
    html! {
        (parts::section(&format!("Asked of {name}"), html! {
            @if mine.is_empty() && due.is_empty() {
                p { (look::mark(Tone::Good, "nothing waits for you")) }
            } @else {
                ul.tasks {
                    @for due in &due { li { (due::brief(view, due)) } }
                    @for one in mine.iter().take(AT_ONCE) { li { (task(view, one, seat)) } }
                }
                @if mine.len() > AT_ONCE {
                    details {
                        summary { (mine.len() - AT_ONCE) " more" }
                        ul.tasks { @for one in &mine[AT_ONCE..] { li { (task(view, one, seat)) } } }
                    }
                }
            }
            (look::actions(&html! {
                (look::link_button("Receive a sample", "/samples/new"))
                (look::link_button("Everything that is due", "/due"))
            }))
            @if !others.is_empty() {
                details {
                    summary { "Asked of others: " (others.len()) }
                    ul.tasks { @for one in &others { li { (task(view, one, seat)) } } }
                }
            }
        }))
    }
}

fn of_everybody(view: &View<'_>, all: &[Asked]) -> Markup {
    let due = near(view, Wanted::default());
    if all.is_empty() && due.is_empty() {
        return parts::lead(
            "Nothing waits",
            "Every sample has its result, and every item is in service.",
            "/samples/new",
            "Receive a sample",
        );
    }
    parts::section(
        "What waits",
        html! {
            p { a href="/who" { "Say who is at the bench" } ", and what is asked of you stands first." }
            ul.tasks {
                @for due in &due { li { (due::brief(view, due)) } }
                @for one in all { li { (task(view, one, "")) } }
            }
            (parts::go("Everything that is due", "/due"))
        },
    )
}

/// What is overdue, waits or comes within a week.
fn near(view: &View<'_>, wanted: Wanted) -> Vec<Due> {
    let mut near = view.lab.due(view.now, &wanted);
    // A soak that is over is the specimen's next step, which stands here already.
    near.retain(|due| {
        due.kind != DueKind::Soak && due.urgency(view.lab, view.now) != Urgency::Later
    });
    near
}

fn task(view: &View<'_>, asked: &Asked, seat: &str) -> Markup {
    let (href, code, what) = said(view, &asked.next);
    let is_mine = asked.is_of(seat);
    html! {
        a.task href=(href) {
            b { (code) } " " span { (what) }
            @match asked.because {
                Because::Began if is_mine => span.quiet { "you began it" },
                Because::May if is_mine && asked.of.len() == 1 => span.quiet { "only you may" },
                _ if is_mine => {},
                Because::NobodyMay => { (look::mark(Tone::Edge, asked.in_words())) },
                _ => span.quiet { (asked.in_words()) },
            }
        }
    }
}

/// Where something that waits is done, the code that it is about, and what is to be done.
pub(super) fn said(view: &View<'_>, next: &Next) -> (String, String, String) {
    let lab = view.lab;
    match next {
        Next::Release { result } => {
            let loss = lab.results.get(result).and_then(|result| result.current()).map(|version| {
                match version.value.loss_percent {
                    Some(loss) => format!("release the loss of {loss} %"),
                    None => format!("release the result: {}", version.value.in_words()),
                }
            });
            (format!("/results/{result}"), result.to_string(), loss.unwrap_or_default())
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
    }
}

fn specimen_step(code: &str, what: &str) -> (String, String, String) {
    (format!("/specimens/{code}"), code.to_owned(), what.to_owned())
}

fn standing_words(view: &View<'_>, item: &ItemCode) -> String {
    let standing = view.lab.items.get(item).map_or(Standing::BeingProved, Item::standing);
    format!("{}: prove it", standing.in_words())
}
