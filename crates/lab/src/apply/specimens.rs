//! Folding in specimens: made up, weighed, dried, soaked, read.

use super::{Noter, keep};
use crate::fact::{DryingWeighed, Fact, ReadingTaken, Weighing};
use crate::state::{DryingMass, Lab, Noted, Specimen, TakenReading, WeighedMass};
use std::collections::BTreeMap;

impl Lab {
    pub(super) fn apply_specimen(&mut self, note: &Noter<'_>) {
        match &note.0.fact {
            Fact::SpecimenBegun {
                specimen,
                sample,
                method,
                grading,
                balance,
                grading_reason,
                deviations,
            } => {
                if let Some(sample) = self.samples.get_mut(sample) {
                    keep(&mut sample.specimens, specimen.clone());
                }
                let begun = Specimen {
                    code: specimen.clone(),
                    sample: sample.clone(),
                    method: method.clone(),
                    grading: grading.clone(),
                    balance: balance.clone(),
                    grading_reason: grading_reason.clone(),
                    begun: note.that(()),
                    fractions: BTreeMap::new(),
                    drying: Vec::new(),
                    soak: None,
                    before: Vec::new(),
                    after: Vec::new(),
                    readings: BTreeMap::new(),
                    run: None,
                    deviations: note.each(deviations),
                };
                self.specimens.insert(specimen.clone(), begun);
            }
            Fact::MassWeighed {
                specimen,
                weighing,
                mass_g,
                as_read,
                balance,
                sieve,
                guard_sieve,
                oven,
                reason,
                deviations,
            } => {
                let used = [Some(balance), sieve.as_ref(), guard_sieve.as_ref(), oven.as_ref()];
                note.uses(&mut self.uses, used, specimen);
                let Some(specimen) = self.specimens.get_mut(specimen) else { return };
                let masses = match weighing {
                    Weighing::Fraction(index) => specimen.fractions.entry(*index).or_default(),
                    Weighing::Before => &mut specimen.before,
                    Weighing::After => &mut specimen.after,
                };
                let mass = WeighedMass {
                    mass_g: *mass_g,
                    as_read: as_read.clone(),
                    balance: balance.clone(),
                    sieve: sieve.clone(),
                    guard_sieve: guard_sieve.clone(),
                    oven: oven.clone(),
                    reason: reason.clone(),
                };
                keep(masses, note.that(mass));
                specimen.deviations.extend(note.each(deviations));
            }
            Fact::DryingWeighed(DryingWeighed {
                specimen,
                stage,
                mass_g,
                as_read,
                balance,
                oven,
            }) => {
                if let Some(specimen) = self.specimens.get_mut(specimen) {
                    specimen.drying.push(note.that(DryingMass {
                        stage: *stage,
                        mass_g: *mass_g,
                        as_read: as_read.clone(),
                        balance: balance.clone(),
                        oven: oven.clone(),
                    }));
                }
            }
            Fact::SoakStarted { specimen, made } => {
                if let Some(specimen) = self.specimens.get_mut(specimen) {
                    specimen.soak = Some(Noted { at: note.happened(*made), ..note.that(()) });
                }
            }
            _ => {}
        }
    }

    pub(super) fn apply_reading(&mut self, note: &Noter<'_>) {
        let Fact::ReadingTaken(ReadingTaken {
            specimen,
            reading,
            fraction,
            value,
            as_read,
            instrument,
            reason,
            deviations,
        }) = &note.0.fact
        else {
            return;
        };
        note.uses(&mut self.uses, [instrument.as_ref()], specimen);
        let Some(specimen) = self.specimens.get_mut(specimen) else { return };
        let key = Specimen::reading_key(reading, *fraction);
        let taken = TakenReading {
            value: *value,
            as_read: as_read.clone(),
            instrument: instrument.clone(),
            reason: reason.clone(),
        };
        keep(specimen.readings.entry(key).or_default(), note.that(taken));
        specimen.deviations.extend(note.each(deviations));
    }
}
