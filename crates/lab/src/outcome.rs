//! Everything that a result gives, worked out again from what was read of its specimens.

use crate::fact::PropertyValue;
use crate::state::{Lab, Specimen, TestResult};
use stonewear_measure::Decimal;
use stonewear_method::model::Vessel;
use stonewear_method::work_out::LOSS;
use stonewear_method::{Grading, Input, LossError, Method, WorkOutError, Worked, work_out};
use stonewear_procedure::ItemKind;

impl Specimen {
    /// What was read of it, those values that count.
    pub fn input(&self) -> Input {
        let readings = self.readings.iter().filter_map(|(key, taken)| {
            let value = taken.last()?.value.value;
            let of_fraction = key.rsplit_once('.').and_then(|(name, number)| {
                let index = number.parse::<usize>().ok()?.checked_sub(1)?;
                Some((name.to_owned(), Some(index)))
            });
            Some((of_fraction.unwrap_or_else(|| (key.clone(), None)), value))
        });
        Input {
            before_g: self.before_g(),
            after_g: self.after_g(),
            fractions_g: self
                .fractions
                .keys()
                .filter_map(|index| Some((*index, self.fraction_g(*index)?)))
                .collect(),
            readings: readings.collect(),
        }
    }
}

impl Lab {
    /// Works out everything that a result gives, by the method as it stood when the version that
    /// counts was worked out: the loss first, where there is one.
    ///
    /// # Errors
    /// When something is missing or impossible, which no recorded result has.
    pub fn outcome_of(&self, result: &TestResult) -> Result<Vec<Worked>, WorkOutError> {
        let position = result.current().map_or(0, |version| version.position);
        let method = self.methods.get(&result.method).map(|in_use| in_use.at(position));
        let specimens: Vec<&Specimen> =
            result.specimens.iter().filter_map(|code| self.specimens.get(code)).collect();
        let grading = specimens
            .first()
            .and_then(|first| method.and_then(|method| method.grading(&first.grading)));
        let (Some(method), Some(grading)) = (method, grading) else {
            let designation = result.method.to_string();
            return Err(LossError::NoSpecimen { designation, wanted: 1 }.into());
        };
        let inputs: Vec<Input> = specimens.into_iter().map(Specimen::input).collect();
        work_out(method, grading, &inputs)
    }

    /// The loss of a result, worked out again; none where the test gives none.
    pub(crate) fn worked_loss(&self, result: &TestResult) -> Option<Worked> {
        self.outcome_of(result).ok()?.into_iter().find(|one| one.name == LOSS)
    }

    /// The most loss that is allowed for this result, %. A limit that names no method is for wear
    /// in water: another test has other limits.
    pub fn limit_for(&self, result: &TestResult) -> Option<Decimal> {
        let sample = self.samples.get(&result.sample)?;
        let meant = if sample.limit_method.is_empty() {
            let method = self.methods.get(&result.method)?;
            method.method.vessel == Vessel::JarMill
        } else {
            result.method.answers_to(&sample.limit_method)
        };
        sample.limit_percent.filter(|_| meant)
    }

    /// The method and grading of a specimen, as they stand; for one of an experiment with the one
    /// condition moved to the level that is planned for it.
    pub fn rules_of(&self, specimen: &Specimen) -> Option<(&Method, &Grading)> {
        let moved = self
            .experiment_of(&specimen.code)
            .and_then(|(experiment, run)| experiment.rules.get(&run.level));
        let method = moved.or(self.methods.get(&specimen.method).map(|in_use| &in_use.method))?;
        Some((method, method.grading(&specimen.grading)?))
    }
}

/// The kind of machine or bath that a method tests in; none where instruments are enough.
pub fn machine_of(vessel: Vessel) -> Option<ItemKind> {
    match vessel {
        Vessel::JarMill => Some(ItemKind::Apparatus),
        Vessel::Drum => Some(ItemKind::Drum),
        Vessel::Bath => Some(ItemKind::Bath),
        Vessel::Bench => None,
    }
}

/// A worked-out value as facts keep them: the loss apart from what stands beside it.
pub(crate) fn as_recorded(worked: &[Worked]) -> (Option<Decimal>, Vec<PropertyValue>) {
    let loss = worked.iter().find(|one| one.name == LOSS).map(|one| one.value);
    let beside = worked.iter().filter(|one| one.name != LOSS).map(|one| PropertyValue {
        name: one.name.clone(),
        title: one.title.clone(),
        unit: one.unit.clone(),
        value: one.value,
    });
    (loss, beside.collect())
}
