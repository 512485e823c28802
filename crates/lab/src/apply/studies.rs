//! Folding the facts of designed studies.

use super::Noter;
use crate::fact::Fact;
use crate::state::{AssignedRun, ImportedRun, Lab, Study};
use std::collections::BTreeMap;

impl Lab {
    pub(super) fn apply_study(&mut self, note: &Noter<'_>) {
        match &note.0.fact {
            Fact::StudyPlanned(planned) => {
                self.count('Y', note);
                let study = Study {
                    plan: note.that((**planned).clone()),
                    assigned: BTreeMap::new(),
                    imported: BTreeMap::new(),
                    concluded: None,
                };
                self.studies.insert(planned.study.clone(), study);
            }
            Fact::StudyRunAssigned(assigned) => {
                if let Some(study) = self.studies.get_mut(&assigned.study) {
                    let run = AssignedRun {
                        specimen: assigned.specimen.clone(),
                        reason: assigned.reason.clone(),
                        deviations: note.each(&assigned.deviations),
                    };
                    study.assigned.entry(assigned.run).or_default().push(note.that(run));
                }
            }
            Fact::StudyValuesImported(imported) => {
                let Some(study) = self.studies.get_mut(&imported.study) else { return };
                for one in &imported.values {
                    let run = ImportedRun {
                        value: one.value,
                        document: imported.document.clone(),
                        reason: imported.reason.clone(),
                    };
                    study.imported.entry(one.run).or_default().push(note.that(run));
                }
            }
            Fact::StudyConcluded(concluded) => {
                if let Some(study) = self.studies.get_mut(&concluded.study) {
                    study.concluded = Some(note.that(concluded.clone()));
                }
            }
            _ => {}
        }
    }
}
