//! What follows when something of a specimen becomes known: a first result, or a revised one.

use super::Desk;
use crate::code::{ResultCode, SpecimenCode, numbered};
use crate::fact::{Deviation, Fact};
use crate::outcome::as_recorded;
use crate::refusal::Refusal;
use crate::state::{Noted, Specimen, WeighedMass};
use stonewear_measure::Decimal;
use stonewear_method::work_out::missing;
use stonewear_method::{Grading, Input, Method, WorkOutError, Worked, work_out};

impl Desk<'_> {
    /// What follows when a specimen is as `changed` says: the first result, once the method has all
    /// its specimens with all that it reads of them, or a revised one, when there is a result.
    pub(super) fn result_following(
        &self,
        changed: &Specimen,
        reason: &str,
    ) -> Result<Vec<Fact>, Refusal> {
        // What was run at another level than the method's is nobody's result.
        if self.lab.experiment_of(&changed.code).is_some() {
            return Ok(Vec::new());
        }
        let Some((method, grading)) = self.lab.rules_of(changed) else { return Ok(Vec::new()) };
        let as_changed = |one: &Specimen| {
            if one.code == changed.code { changed.input() } else { one.input() }
        };
        if let Some(result) = self.lab.result_of(&changed.code) {
            let specimens = result.specimens.iter().filter_map(|code| self.lab.specimens.get(code));
            let inputs: Vec<Input> = specimens.map(as_changed).collect();
            let worked = worked_out(method, grading, &inputs)?;
            let (loss_percent, properties) = as_recorded(&worked);
            return Ok(vec![Fact::ResultRevised {
                result: result.code.clone(),
                loss_percent,
                properties,
                reason: reason.to_owned(),
            }]);
        }
        let ready: Vec<(&SpecimenCode, Input)> = self
            .lab
            .specimens_of(&changed.sample)
            .filter(|one| one.method == changed.method && one.grading == changed.grading)
            .filter(|one| self.lab.result_of(&one.code).is_none())
            .filter(|one| self.lab.experiment_of(&one.code).is_none())
            .map(|one| (&one.code, as_changed(one)))
            .filter(|(_, input)| missing(method, grading, input).is_empty())
            .collect();
        if u32::try_from(ready.len()) != Ok(method.specimen.count.value) {
            return Ok(Vec::new());
        }
        let (specimens, inputs): (Vec<&SpecimenCode>, Vec<Input>) = ready.into_iter().unzip();
        let worked = worked_out(method, grading, &inputs)?;
        let specimens = specimens.into_iter().cloned().collect();
        Ok(vec![self.new_result(changed, specimens, &worked, Vec::new())])
    }

    pub(super) fn new_result(
        &self,
        specimen: &Specimen,
        specimens: Vec<SpecimenCode>,
        worked: &[Worked],
        deviations: Vec<Deviation>,
    ) -> Fact {
        let (year, number) = self.lab.next_number('L', self.context.at);
        let (loss_percent, properties) = as_recorded(worked);
        Fact::ResultWorkedOut {
            result: ResultCode::from(numbered('L', year, number)),
            sample: specimen.sample.clone(),
            specimens,
            loss_percent,
            properties,
            deviations,
        }
    }

    /// A mass as it will stand once it is recorded.
    pub(super) fn would_weigh(&self, specimen: &Specimen, mass_g: Decimal) -> Noted<WeighedMass> {
        let balance = specimen.balance.clone();
        let weighed = WeighedMass {
            mass_g,
            as_read: String::new(),
            balance,
            sieve: None,
            guard_sieve: None,
            oven: None,
            reason: String::new(),
        };
        self.would_note(weighed)
    }

    /// A value as it will stand once it is recorded.
    pub(super) fn would_note<T>(&self, value: T) -> Noted<T> {
        let position = self.lab.position + 1;
        Noted { value, at: self.context.at, by: self.context.by.clone(), position }
    }
}

pub(super) fn worked_out(
    method: &Method,
    grading: &Grading,
    inputs: &[Input],
) -> Result<Vec<Worked>, Refusal> {
    work_out(method, grading, inputs).map_err(|error| match error {
        WorkOutError::Loss(error) => {
            Refusal::of("mass_g", "loss-impossible", error.to_string(), "check the masses")
        }
        other => Refusal::of("", "outcome-impossible", other.to_string(), "check the readings"),
    })
}
