//! What a method reads beside the masses before and after, as fields: made from the method, so
//! that a new one needs no new page.

use super::View;
use super::parts::{self, Field, Form};
use crate::look::{self, Tone};
use maud::{Markup, html};
use stonewear_lab::next::Next;
use stonewear_lab::state::{Run, Specimen};
use stonewear_measure::{Decimal, Limits, balance};
use stonewear_method::model::{Of, Vessel, When};
use stonewear_method::{Grading, Method, Reading, Toleranced, Worked};
use stonewear_procedure::ItemKind;

const TAKE: &str = "take-reading";

/// The reading that the page asks for: the one that was refused or chosen, or else the next.
pub(super) fn current<'m>(
    view: &View<'_>,
    method: &'m Method,
    next: Option<&Next>,
) -> Option<&'m Reading> {
    let refused = view.typed.value(TAKE, "reading").map(str::to_owned);
    let chosen = refused.or_else(|| view.asked("reading"));
    let due = match next {
        Some(Next::TakeReading { reading, .. }) => Some(reading.clone()),
        _ => None,
    };
    method.reading(&chosen.or(due)?)
}

/// The form of one reading.
pub(super) fn take(
    view: &View<'_>,
    specimen: &Specimen,
    vessel: Vessel,
    grading: &Grading,
    reading: &Reading,
) -> Markup {
    let form = Form::new(view, TAKE, "Record the reading")
        .hidden("specimen", specimen.code.as_str())
        .hidden("reading", &reading.name);
    let wanted = reading.wanted.as_ref();
    let limits = wanted.map(Toleranced::limits).unwrap_or_default();
    let wanted = wanted.map(ToString::to_string).unwrap_or_default();
    let field = |index: usize, label: &str, recorded| {
        let field = Field::number(view, TAKE, &format!("values.{index}"), label)
            .unit(&reading.unit)
            .wanted(&wanted)
            .limits(limits)
            .bench()
            .value_or(recorded);
        if index == 0 { field.focus() } else { field }
    };
    let places = places(grading, reading);
    let is_recorded = places.iter().any(|place| specimen.reading(&reading.name, *place).is_some());
    let has_result = view.lab.result_of(&specimen.code).is_some();
    let kind = reading.read_with.as_ref().and_then(|kind| kind.parse::<ItemKind>().ok());
    form.body(html! {
        h2 { (parts::capital(&reading.title)) }
        @if vessel == Vessel::Bath {
            (parts::caution(look::Hazard::Hot, "Salt solution irritates and the oven is hot: goggles and gloves on, let it cool before weighing. Keep the solution away from the mains. ", "common practice, no published source"))
        }
        @if vessel == Vessel::Drum && reading.when == When::During {
            (parts::caution(look::Hazard::Turning, "Lock the drive out and keep the key before opening the drum; balls and dust come out with the stone. ", "29 CFR 1910.147, from memory, unconfirmed"))
        }
        @if let Some(revolutions) = &reading.revolutions {
            p.step-do {
                "After " (revolutions.value) " revolutions, with the drive locked out. Then the whole goes back, fines too, and the run goes on."
            }
        }
        @for place in places {
            @let label = place.map_or_else(|| parts::capital(&reading.title), |index| size(grading, index));
            (field(place.unwrap_or_default(), &label, specimen.reading(&reading.name, place)))
        }
        @if let Some(kind) = kind {
            (parts::item_select(view, TAKE, "instrument", &parts::capital(kind.in_words()), kind))
        }
        @if is_recorded || has_result { (Field::text(view, TAKE, "reason", "Why what is recorded is replaced")) }
    })
}

/// Links to the other readings of the method.
pub(super) fn choose(
    view: &View<'_>,
    specimen: &Specimen,
    method: &Method,
    current: Option<&Reading>,
) -> Markup {
    let others = method
        .readings
        .iter()
        .filter(|reading| current.is_none_or(|current| current.name != reading.name));
    let others: Vec<&Reading> = others.filter(|one| can_be_taken(method, specimen, one)).collect();
    html! {
        @if !others.is_empty() {
            details open[current.is_none() && view.lab.result_of(&specimen.code).is_none()] {
                summary { "Other readings" }
                ul { @for reading in others { li {
                    a href={ "/specimens/" (specimen.code) "?reading=" (reading.name) } { (reading.title) }
                } } }
            }
        }
    }
}

/// What can be read while or after a specimen turns is not offered before.
fn can_be_taken(method: &Method, specimen: &Specimen, reading: &Reading) -> bool {
    !method.vessel.turns() || reading.when == When::Before || specimen.run.is_some()
}

/// What is read of the specimens of a run while it lasts.
pub(super) fn of_run(view: &View<'_>, run: &Run) -> Markup {
    let specimens = run.placed.iter().filter_map(|one| view.lab.specimens.get(&one.specimen));
    html! {
        @for specimen in specimens {
            @if let Some((method, _)) = view.lab.rules_of(specimen) {
                @for reading in method.readings.iter().filter(|one| one.when == When::During) {
                    @match specimen.reading(&reading.name, None) {
                        Some(value) => p { (specimen.code) ": " (reading.title) " " strong { (value) " " (reading.unit) } },
                        None => (parts::go(
                            &format!("{}: {}", specimen.code, reading.title),
                            &format!("/specimens/{}?reading={}", specimen.code, reading.name),
                        )),
                    }
                }
            }
        }
    }
}

/// Every reading with all that it replaced, struck through, and why.
pub(super) fn record(
    view: &View<'_>,
    specimen: &Specimen,
    method: &Method,
    grading: &Grading,
) -> Markup {
    let mut rows: Vec<Vec<Markup>> = Vec::new();
    for reading in &method.readings {
        for place in places(grading, reading) {
            let key = Specimen::reading_key(&reading.name, place);
            let taken = specimen.readings.get(&key).map(Vec::as_slice).unwrap_or_default();
            let Some((last, former)) = taken.split_last() else { continue };
            let size = place.map(|index| format!(", {}", size(grading, index)));
            rows.push(vec![
                html! { (parts::capital(&reading.title)) (size.unwrap_or_default()) },
                html! { @if let Some(wanted) = &reading.wanted { (wanted.to_string().replace(' ', "\u{a0}")) "\u{a0}" (reading.unit) } },
                html! {
                    @for old in former { s { (shown(reading, old.value.value)) } " " }
                    strong { (shown(reading, last.value.value)) } "\u{a0}" (reading.unit)
                    @if !last.value.as_read.is_empty() { br; span.quiet { "read as " (last.value.as_read) } }
                },
                html! {
                    (parts::person(view, last.by.as_str())) ", " (parts::moment(view, last.at))
                    @if let Some(instrument) = &last.value.instrument { ", with " (instrument) }
                    @if !last.value.reason.is_empty() { "; replaced: " (last.value.reason) }
                },
            ]);
        }
    }
    let head = ["Reading", "Wanted", "Read", "By"];
    html! {
        @if !rows.is_empty() { (parts::table("Readings of this specimen", &head, &[1, 2], rows)) }
    }
}

/// Everything that a result gives, where that is more than one value.
pub(super) fn found(worked: &[Worked]) -> Markup {
    let rows = worked.iter().map(|one| {
        vec![
            html! { (parts::capital(&one.title)) },
            html! { strong { (one.with_unit().replace(' ', "\u{a0}")) } },
            html! {
                @if let Some(most) = one.at_most {
                    @if Limits::at_most(most).hold(one.value) { (look::mark(Tone::Good, format!("at most {most}"))) }
                    @else { (look::mark(Tone::Edge, format!("more than {most}"))) }
                }
            },
            html! { (one.confidence.in_words()) },
        ]
    });
    let head = ["What", "Value", "The method calls good", "How sure the formula is"];
    html! {
        @if worked.len() > 1 { (parts::table("What was found", &head, &[1], rows.collect())) }
    }
}

/// What is read once has one place, what is read of each size as many as there are.
fn places(grading: &Grading, reading: &Reading) -> Vec<Option<usize>> {
    match reading.of {
        Of::Specimen => vec![None],
        Of::Fraction => (0..grading.fractions.len()).map(Some).collect(),
    }
}

/// A mass as balances show it; any other value as it was read.
fn shown(reading: &Reading, value: Decimal) -> Decimal {
    if reading.unit == "g" { balance::shown(value) } else { value }
}

fn size(grading: &Grading, index: usize) -> String {
    grading.fractions.get(index).map_or_else(String::new, |fraction| {
        format!("{} to {} mm", fraction.passing_mm.value, fraction.retained_mm.value)
    })
}
