//! Folding in corrections: the value that holds from now on, with every one that it replaced.

use super::Noter;
use crate::fact::{Fact, SampleChanges};
use crate::state::{
    Lab, Noted, ObservationCorrection, Run, RunCorrection, Sample, SampleCorrection,
};

impl Lab {
    pub(super) fn apply_correction(&mut self, note: &Noter<'_>) {
        match &note.0.fact {
            Fact::ItemCorrected { item, name, maker_and_serial, resolution, reason } => {
                let Some(item) = self.items.get_mut(item) else { return };
                replace(&mut item.name, name.as_ref());
                replace(&mut item.maker_and_serial, maker_and_serial.as_ref());
                item.resolution = resolution.or(item.resolution);
                item.corrections.push(note.that(reason.clone()));
            }
            Fact::ObservationCorrected { check, step, seen, as_read, passed, reason } => {
                let Some(check) = self.checks.get_mut(check) else { return };
                if check.ended.is_none() && !passed {
                    // The step is to be done again, and whatever it sends back to.
                    let steps = &check.procedure.steps;
                    let place = |id: &str| steps.iter().position(|known| known.id == id);
                    let here = place(step);
                    let back = here.and_then(|here| place(steps[here].back_to.as_deref()?));
                    check.next = back.or(here).map_or(check.next, |to| to.min(check.next));
                }
                let mut newest_first = check.observations.iter_mut().rev();
                let observation = newest_first.find(|observation| observation.value.step == *step);
                if let Some(observation) = observation {
                    observation.value.corrected =
                        Some(Box::new(note.that(ObservationCorrection {
                            seen: seen.clone(),
                            as_read: as_read.clone(),
                            passed: *passed,
                            reason: reason.clone(),
                        })));
                }
            }
            Fact::SampleCorrected { sample, changes, reason } => {
                if let Some(sample) = self.samples.get_mut(sample) {
                    let correction = SampleCorrection {
                        former: changed(sample, changes),
                        changes: (**changes).clone(),
                        reason: reason.clone(),
                    };
                    sample.corrections.push(note.that(correction));
                }
            }
            Fact::RunCorrected { run, placed, water_c, reason, deviations } => {
                let items = [placed.jar.as_ref(), placed.charge.as_ref()];
                let Some(run) = self.runs.get_mut(run) else { return };
                let former = run.placed.iter_mut().find(|one| one.specimen == placed.specimen);
                let Some(former) = former else { return };
                note.uses(&mut self.uses, items, &placed.specimen);
                let correction = RunCorrection {
                    placed: std::mem::replace(former, placed.clone()),
                    water_c: run.water_c,
                    reason: reason.clone(),
                };
                run.water_c = *water_c;
                run.corrections.push(note.that(correction));
                run.deviations.extend(note.each(deviations));
            }
            _ => {}
        }
    }
}

fn replace<T: Clone>(kept: &mut T, new: Option<&T>) {
    if let Some(new) = new {
        kept.clone_from(new);
    }
}

/// Changes a sample and gives what its changed fields held before.
fn changed(sample: &mut Sample, changes: &SampleChanges) -> SampleChanges {
    fn swap<T: Clone>(kept: &mut T, new: Option<&T>) -> Option<T> {
        new.map(|new| std::mem::replace(kept, new.clone()))
    }
    let limit = changes.limit_percent.and_then(|new| sample.limit_percent.replace(new));
    SampleChanges {
        source: swap(&mut sample.source, changes.source.as_ref()),
        client: swap(&mut sample.client, changes.client.as_ref()),
        project: swap(&mut sample.project, changes.project.as_ref()),
        material: swap(&mut sample.material, changes.material.as_ref()),
        intended_use: swap(&mut sample.intended_use, changes.intended_use.as_ref()),
        client_address: swap(&mut sample.client_address, changes.client_address.as_ref()),
        client_reference: swap(&mut sample.client_reference, changes.client_reference.as_ref()),
        sampling_plan: swap(&mut sample.sampling_plan, changes.sampling_plan.as_ref()),
        nominal_maximum_mm: swap(
            &mut sample.nominal_maximum_mm,
            changes.nominal_maximum_mm.as_ref(),
        ),
        condition: swap(&mut sample.condition, changes.condition.as_ref()),
        limit_percent: limit,
        limit_document: swap(&mut sample.limit_document, changes.limit_document.as_ref()),
        limit_method: swap(&mut sample.limit_method, changes.limit_method.as_ref()),
    }
}

impl Run {
    /// What was recorded before about what lay with a specimen, oldest first.
    pub fn corrections_of<'a>(
        &'a self,
        specimen: &'a str,
    ) -> impl Iterator<Item = &'a Noted<RunCorrection>> {
        self.corrections
            .iter()
            .filter(move |correction| correction.value.placed.specimen.as_str() == specimen)
    }
}
