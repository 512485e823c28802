//! Readings: whatever a method reads of a specimen beside its masses before and after.

use super::Desk;
use super::corrections::judge_resolution;
use super::form::{Form, code};
use crate::authorisation::Activity;
use crate::code::ItemCode;
use crate::fact::{Fact, ReadingTaken, Right};
use crate::refusal::Refusal;
use crate::request::TakeReading;
use crate::state::{Specimen, TakenReading};
use stonewear_measure::Decimal;
use stonewear_method::model::{Of, When};
use stonewear_method::work_out::contradiction;
use stonewear_method::{Grading, Method, Reading};
use stonewear_procedure::ItemKind;

/// Beyond it a reading is a slip of the hand, whatever its unit.
const GREATEST: Decimal = Decimal::from_parts(100_000, 0, 0, false, 0);

impl Desk<'_> {
    pub(super) fn take_reading(&self, request: &TakeReading) -> Result<Vec<Fact>, Refusal> {
        self.person_who_may(Right::Test)?;
        let mut form = Form::with_reason(&request.deviation);
        let Some(specimen) = self.specimen(&mut form, &request.specimen) else {
            return form.refuse();
        };
        let Some((method, grading)) = self.rules(&mut form, specimen) else { return form.refuse() };
        let Some(reading) = reading_of(&mut form, method, &request.reading) else {
            return form.refuse();
        };
        self.judge_when(&mut form, specimen, method, reading);
        self.judge_authorised(&mut form, method, Activity::of_reading(reading.when));
        let instrument = self.read_with(&mut form, method, reading, &request.instrument);
        let reason = form.optional("reason", &request.reason);
        let taken = values(&mut form, specimen, grading, reading, &request.values, &reason);
        if self.lab.result_of(&specimen.code).is_some() && reason.is_empty() {
            let message = format!("a result already stands on {}", specimen.code);
            let hint = "give the reason; the result is worked out again, and the former is kept";
            form.wrong("reason", "replaces-record", message, hint);
        }
        let mut changed = specimen.clone();
        for one in &taken {
            let key = Specimen::reading_key(&reading.name, one.fraction);
            let note = TakenReading {
                value: one.value,
                as_read: String::new(),
                instrument: None,
                reason: String::new(),
            };
            changed.readings.entry(key).or_default().push(self.would_note(note));
        }
        if let Err(error) = contradiction(method, grading, &changed.input()) {
            form.wrong("values", "reading-impossible", error.to_string(), "read it again");
        }
        let mut deviations = Some(form.deviations()?);
        let follows = self.result_following(&changed, &reason)?;
        // The departures of one request are recorded once, with its first value.
        let facts = taken.into_iter().map(|one| {
            Fact::ReadingTaken(ReadingTaken {
                specimen: specimen.code.clone(),
                reading: reading.name.clone(),
                fraction: one.fraction,
                value: one.value,
                as_read: one.as_read,
                instrument: instrument.clone(),
                reason: reason.clone(),
                deviations: deviations.take().unwrap_or_default(),
            })
        });
        Ok(facts.chain(follows).collect())
    }

    /// A reading of a run belongs before, into or after it.
    fn judge_when(&self, form: &mut Form, specimen: &Specimen, method: &Method, reading: &Reading) {
        if !method.vessel.turns() {
            return;
        }
        let run = specimen.run.as_ref().and_then(|run| self.lab.runs.get(run));
        match (reading.when, run) {
            (When::During | When::After, None) => {
                let message = format!("{} has not been run", specimen.code);
                form.wrong("specimen", "specimen-not-run", message, "start its run first");
            }
            (When::After, Some(run)) if run.stopped.is_none() => {
                let message = format!("the run {} of {} has not ended", run.code, specimen.code);
                form.wrong("specimen", "run-not-ended", message, "record how it ended first");
            }
            _ => {}
        }
    }

    /// What it is read with, where the method says with what kind of item.
    fn read_with(
        &self,
        form: &mut Form,
        method: &Method,
        reading: &Reading,
        typed: &str,
    ) -> Option<ItemCode> {
        let kind: Option<ItemKind> = reading.read_with.as_ref().and_then(|kind| kind.parse().ok());
        match kind {
            Some(kind) => {
                let item = form.item(self, "instrument", typed, kind, |_| true);
                if let Some(balance) = item.filter(|_| kind == ItemKind::Balance) {
                    let weigh_to_g = method.specimen.weigh_to_g.value;
                    judge_resolution(form, "instrument", balance, weigh_to_g);
                }
                code(item)
            }
            None if typed.trim().is_empty() => None,
            None => {
                let message = format!("the method names no instrument for “{}”", reading.title);
                form.wrong("instrument", "instrument-not-wanted", message, "leave it empty");
                None
            }
        }
    }
}

fn reading_of<'m>(form: &mut Form, method: &'m Method, typed: &str) -> Option<&'m Reading> {
    let found = method.reading(typed.trim());
    if found.is_none() {
        let message = format!("{} has no reading “{}”", method.designation, typed.trim());
        let known = method.readings.iter().map(|reading| reading.name.clone());
        let known = crate::words::listed(known);
        let hint = if known.is_empty() {
            "it reads nothing beside the masses before and after".to_owned()
        } else {
            format!("known: {known}")
        };
        form.wrong("reading", "reading-unknown", message, hint);
    }
    found
}

/// One value of a reading.
struct Taken {
    fraction: Option<usize>,
    value: Decimal,
    /// What was typed or printed, where that was not the number itself; else empty.
    as_read: String,
}

/// The values that are new, each judged, with the fraction that it is of.
fn values(
    form: &mut Form,
    specimen: &Specimen,
    grading: &Grading,
    reading: &Reading,
    typed: &[String],
    reason: &str,
) -> Vec<Taken> {
    let places = match reading.of {
        Of::Specimen => 1,
        Of::Fraction => grading.fractions.len(),
    };
    if typed.len() > places {
        let message = format!("{} values are given; the method reads {places}", typed.len());
        form.wrong("values", "input-too-many", message, "one a fraction, coarsest first");
    }
    let mut taken = Vec::new();
    for (index, typed) in typed.iter().take(places).enumerate() {
        if typed.trim().is_empty() {
            continue;
        }
        let field = format!("values.{index}");
        let read = if reading.unit == "g" {
            form.grams(&field, typed)
        } else {
            form.number(&field, typed).map(|value| (value, String::new()))
        };
        let Some((value, as_read)) = read else { continue };
        let most = if reading.unit == "%" { Decimal::ONE_HUNDRED } else { GREATEST };
        if value < Decimal::ZERO || value > most {
            let message = format!("{value} {} cannot be", reading.unit);
            let hint = format!("it must be from 0 to {most} {}", reading.unit);
            form.wrong(&field, "input-impossible", message, hint.trim_end());
            continue;
        }
        if let Some(wanted) = &reading.wanted {
            let limits = wanted.limits();
            form.within(&field, "reading", &reading.title, value, &reading.unit, limits);
        }
        let fraction = (reading.of == Of::Fraction).then_some(index);
        let former = specimen.reading(&reading.name, fraction);
        if former == Some(value) {
            continue;
        }
        if let (Some(former), true) = (former, reason.is_empty()) {
            let message = format!("{former} {} is already recorded here", reading.unit);
            let hint = "give the reason for replacing it; the former value is kept";
            form.wrong(&field, "replaces-record", message, hint);
        }
        taken.push(Taken { fraction, value, as_read });
    }
    if taken.is_empty() && !form.is_hopeless() {
        form.wrong("values", "input-missing", "no new value is given", "read at least one");
    }
    taken
}
