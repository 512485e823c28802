//! The chain of custody: handing samples over, storing, splitting, returning, disposing of them.

use super::Desk;
use super::form::Form;
use crate::fact::{CustodyStep, Fact, Holder, Right, SampleHandedOver};
use crate::refusal::Refusal;
use crate::request::HandOverSample;
use crate::state::Sample;

/// No laboratory gives longer initials; what is longer is a name.
const LONGEST_INITIALS: usize = 4;

impl Desk<'_> {
    pub(super) fn hand_over_sample(&self, request: &HandOverSample) -> Result<Vec<Fact>, Refusal> {
        self.person_who_may(Right::Test)?;
        let mut form = Form::new();
        let sample = self.sample(&mut form, &request.sample);
        let to = self.holder(&mut form, &request.to);
        let place = form.optional("place", &request.place);
        let condition = form.optional("condition", &request.condition);
        let note = form.optional("note", &request.note);
        let step = custody_step(&mut form, &request.step, to.is_some());
        let (Some(sample), Some(step)) = (sample, step) else { return form.refuse() };
        if let Some(gone) = sample.gone() {
            let day = self.lab.local(gone.at).date();
            let message = format!("{} was {} on {day}", sample.code, gone.value.step.in_words());
            form.wrong("sample", "sample-gone", message, "nothing of it is here any longer");
            return form.refuse();
        }
        what_a_step_needs(&mut form, step, to.as_ref(), &place, &note);
        let stays = to.as_ref().is_none_or(|to| *to == sample.holder());
        let says_nothing = place.as_str() == sample.kept_at() && condition.is_empty();
        if stays && says_nothing && matches!(step, CustodyStep::HandedOver | CustodyStep::Stored) {
            let message = format!("{} has {} already", sample.holder(), sample.code);
            form.wrong("to", "custody-unchanged", message, "nothing is to be recorded");
        }
        form.facts(vec![Fact::SampleHandedOver(SampleHandedOver {
            sample: sample.code.clone(),
            step,
            to,
            place,
            condition,
            note,
        })])
    }

    /// Somebody of the laboratory by their initials, or somebody outside by name.
    fn holder(&self, form: &mut Form, typed: &str) -> Option<Holder> {
        let name = form.optional("to", typed);
        if name.is_empty() {
            return None;
        }
        if let Some(person) = self.lab.people.get(name.to_uppercase().as_str()) {
            return Some(Holder::Person(person.code.clone()));
        }
        if name.chars().count() <= LONGEST_INITIALS {
            let message = format!("nobody here has the initials {name}");
            let hint = format!(
                "known: {}; write the whole name of somebody who does not work here",
                self.initials()
            );
            form.wrong("to", "person-unknown", message, hint);
        }
        Some(Holder::Outside(name))
    }

    /// Notes a departure when a sample that has left the laboratory is worked with.
    pub(super) fn still_here(&self, form: &mut Form, sample: &Sample) {
        if let Some(gone) = sample.gone() {
            let day = self.lab.local(gone.at).date();
            let message = format!("{} was {} on {day}", sample.code, gone.value.step.in_words());
            let hint = "use another sample, or record where this material comes from";
            form.departs("sample", "sample-gone", message, hint);
        }
    }
}

fn custody_step(form: &mut Form, typed: &str, has_receiver: bool) -> Option<CustodyStep> {
    let typed = typed.trim();
    if typed.is_empty() {
        return Some(if has_receiver { CustodyStep::HandedOver } else { CustodyStep::Stored });
    }
    let found = CustodyStep::ALL.into_iter().find(|step| step.as_str() == typed);
    if found.is_none() {
        let known = CustodyStep::ALL.into_iter().map(|step| step.as_str().to_owned());
        let message = format!("“{typed}” is nothing that becomes of a sample");
        form.wrong(
            "step",
            "input-unknown",
            message,
            format!("known: {}", crate::words::listed(known)),
        );
    }
    found
}

/// What must be said for a step to mean something years later.
fn what_a_step_needs(
    form: &mut Form,
    step: CustodyStep,
    to: Option<&Holder>,
    place: &str,
    note: &str,
) {
    let (needs_to, needs_place, needs_note) = match step {
        CustodyStep::HandedOver => (true, false, ""),
        CustodyStep::Stored => (false, true, ""),
        CustodyStep::Split => (false, to.is_none(), "how it was split and which part went"),
        CustodyStep::Returned => (true, false, "why it was returned"),
        CustodyStep::Disposed => (false, false, "why and how it was disposed of"),
    };
    if needs_to && to.is_none() {
        let hint = "give initials, or the name of somebody outside";
        form.wrong("to", "input-missing", "who has it now is missing", hint);
    }
    if needs_place && place.is_empty() {
        let hint = "name the shelf, bay or room";
        form.wrong("place", "input-missing", "where it is kept now is missing", hint);
    }
    if !needs_note.is_empty() && note.is_empty() {
        form.wrong("note", "input-missing", format!("{needs_note} is missing"), "write it");
    }
}
