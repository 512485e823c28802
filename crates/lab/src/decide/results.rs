//! Working out and releasing results.

use super::Desk;
use super::form::Form;
use super::outcome::worked_out;
use crate::fact::{Fact, Right};
use crate::refusal::Refusal;
use crate::request::{ReleaseResult, WorkOutResult};
use crate::state::{Specimen, TestResult};
use stonewear_measure::Decimal;
use stonewear_method::work_out::missing;
use stonewear_method::{Input, Loss, LossError, Missing, Weighed};

/// The masses of a specimen that a request brings, g.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Changed {
    pub(super) before_g: Option<Decimal>,
    pub(super) after_g: Option<Decimal>,
}

impl Desk<'_> {
    /// What follows when a mass of a specimen becomes known: the first loss, once the method
    /// has all its specimens, or a revised one, when the mass replaced another.
    pub(super) fn result_after_weighing(
        &self,
        specimen: &Specimen,
        changed: Changed,
        reason: &str,
    ) -> Result<Vec<Fact>, Refusal> {
        let mut as_changed = specimen.clone();
        as_changed.before.extend(changed.before_g.map(|mass| self.would_weigh(specimen, mass)));
        as_changed.after.extend(changed.after_g.map(|mass| self.would_weigh(specimen, mass)));
        self.result_following(&as_changed, reason)
    }

    pub(super) fn work_out_result(&self, request: &WorkOutResult) -> Result<Vec<Fact>, Refusal> {
        self.person_who_may(Right::Test)?;
        let mut form = Form::with_reason(&request.deviation);
        let mut chosen: Vec<&Specimen> = Vec::new();
        for typed in request.specimens.iter().filter(|typed| !typed.trim().is_empty()) {
            let Some(specimen) = self.specimen(&mut form, typed) else { continue };
            if let Some((method, grading)) = self.lab.rules_of(specimen)
                && let Some(missing) = missing(method, grading, &specimen.input()).first()
            {
                let what = match missing {
                    Missing::Before => "mass before".to_owned(),
                    Missing::After => "mass after".to_owned(),
                    other => other.to_string(),
                };
                let message = format!("{} has no {what}", specimen.code);
                form.wrong("specimens", "mass-after-missing", message, "finish it first");
            }
            if let Some(result) = self.lab.result_of(&specimen.code) {
                let message = format!("{} is already part of {}", specimen.code, result.code);
                form.wrong("specimens", "specimen-in-result", message, "leave it out");
            }
            if let Some((experiment, _)) = self.lab.experiment_of(&specimen.code) {
                let message = format!("{} is a specimen of {}", specimen.code, experiment.name());
                let hint = "what an experiment finds is no result of its sample";
                form.wrong("specimens", "specimen-of-experiment", message, hint);
            }
            if chosen.iter().any(|other| other.code == specimen.code) {
                let message = format!("{} is named twice", specimen.code);
                form.wrong("specimens", "named-twice", message, "name it once");
            }
            chosen.push(specimen);
        }
        let Some(&first) = chosen.first() else {
            if !form.is_hopeless() {
                form.wrong(
                    "specimens",
                    "input-missing",
                    "no specimen is named",
                    "name at least one",
                );
            }
            return form.refuse();
        };
        let same = |one: &&Specimen| {
            (&one.sample, &one.method, &one.grading)
                == (&first.sample, &first.method, &first.grading)
        };
        if !chosen.iter().all(same) {
            let message = "the specimens are not all of one sample, method and grading";
            form.wrong(
                "specimens",
                "specimens-differ",
                message,
                "a result is about one sample by one grading",
            );
        }
        let Some((method, grading)) = self.rules(&mut form, first) else { return form.refuse() };
        let wanted = method.specimen.count.value;
        if u32::try_from(chosen.len()) != Ok(wanted) {
            let message = format!(
                "the result stands on {}; {} wants {}",
                crate::words::counted(chosen.len(), "specimen"),
                method.designation,
                wanted
            );
            form.departs(
                "specimens",
                "specimen-count",
                message,
                "test the missing ones, or record why not",
            );
        }
        let deviations = form.deviations()?;
        let inputs: Vec<Input> = chosen.iter().map(|one| one.input()).collect();
        let worked = worked_out(method, grading, &inputs)?;
        let specimens = chosen.iter().map(|one| one.code.clone()).collect();
        Ok(vec![self.new_result(first, specimens, &worked, deviations)])
    }

    pub(super) fn release_result(&self, request: &ReleaseResult) -> Result<Vec<Fact>, Refusal> {
        self.person_who_may(Right::Release)?;
        let mut form = Form::with_reason(&request.deviation);
        let remark = form.optional("remark", &request.remark);
        let external = form.optional("external", &request.external);
        let typed = request.result.trim();
        let Some(result) = self.lab.results.get(typed.to_uppercase().as_str()) else {
            form.wrong(
                "result",
                "result-unknown",
                format!("there is no result “{typed}”"),
                "look under results",
            );
            return form.refuse();
        };
        if result.release().is_some() {
            let message = format!("{} is already released", result.code);
            form.wrong("result", "result-released", message, "nothing needs to be done");
        }
        self.check_release(&mut form, result);
        let Some(current) = result.current() else { return form.refuse() };
        let deviations = form.deviations()?;
        Ok(vec![Fact::ResultReleased {
            result: result.code.clone(),
            loss_percent: current.value.loss_percent,
            properties: current.value.properties.clone(),
            remark,
            external,
            judgement: self.lab.judgement_now(result).map(Box::new),
            deviations,
        }])
    }
}

impl crate::state::Lab {
    /// Works out a result's loss again from the masses it stands on, by the method as it stood
    /// when the version that counts was worked out.
    ///
    /// # Errors
    /// When a mass is missing or impossible, which no recorded result has.
    pub fn loss_of(&self, result: &TestResult) -> Result<Loss, LossError> {
        let position = result.current().map_or(0, |version| version.position);
        let Some(in_use) = self.methods.get(&result.method) else {
            return Err(LossError::NoSpecimen {
                designation: result.method.to_string(),
                wanted: 1,
            });
        };
        let masses: Vec<Weighed> = result
            .specimens
            .iter()
            .filter_map(|code| self.specimens.get(code))
            .filter_map(|one| Some(Weighed { before_g: one.before_g()?, after_g: one.after_g()? }))
            .collect();
        stonewear_method::loss::loss(in_use.at(position), &masses)
    }
}
