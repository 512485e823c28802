//! Folding in experiments: planned, given their specimens, recorded from a table.

use super::Noter;
use crate::experiment::at_level;
use crate::fact::{ExperimentImported, ExperimentPlanned, Fact};
use crate::state::{AssignedSpecimen, Experiment, ExperimentRun, Lab};
use std::collections::BTreeMap;
use stonewear_measure::Decimal;
use stonewear_method::MethodId;

impl Lab {
    pub(super) fn apply_experiment(&mut self, note: &Noter<'_>) {
        match &note.0.fact {
            Fact::ExperimentPlanned(planned) => self.plan(note, planned),
            Fact::ExperimentImported(imported) => self.import(note, imported),
            Fact::ExperimentAssigned(assigned) => {
                let Some(experiment) = self.experiments.get_mut(&assigned.experiment) else {
                    return;
                };
                let run = experiment.runs.iter_mut().find(|run| run.number == assigned.run);
                let Some(run) = run else { return };
                run.specimens.push(note.that(AssignedSpecimen {
                    specimen: assigned.specimen.clone(),
                    reason: assigned.reason.clone(),
                }));
                let place = (assigned.experiment.clone(), assigned.run);
                self.experiment_by_specimen.insert(assigned.specimen.clone(), place);
            }
            Fact::ExperimentRunLeftOut(left_out) => {
                let experiment = self.experiments.get_mut(&left_out.experiment);
                let run = experiment
                    .and_then(|one| one.runs.iter_mut().find(|run| run.number == left_out.run));
                if let Some(run) = run {
                    run.left_out = Some(note.that(left_out.reason.clone()));
                }
            }
            _ => {}
        }
    }

    fn plan(&mut self, note: &Noter<'_>, planned: &ExperimentPlanned) {
        self.count('X', note);
        let runs = planned.runs.iter().map(|level| (*level, None));
        let experiment = Experiment {
            code: planned.experiment.clone(),
            title: planned.title.clone(),
            condition: planned.condition,
            method: planned.method.clone(),
            grading: planned.grading.clone(),
            sample: planned.sample.clone(),
            levels: planned.levels.clone(),
            replicates: Some(planned.replicates),
            seed: Some(planned.seed),
            source: String::new(),
            begun: note.that(()),
            runs: numbered(runs),
            rules: BTreeMap::new(),
        };
        self.experiments.insert(planned.experiment.clone(), experiment);
        self.derive_rules(&planned.method);
    }

    fn import(&mut self, note: &Noter<'_>, imported: &ExperimentImported) {
        self.count('X', note);
        let mut levels: Vec<Decimal> = imported.rows.iter().map(|row| row.level).collect();
        levels.sort();
        levels.dedup();
        let runs = imported.rows.iter().map(|row| (row.level, Some(row.loss_percent)));
        let experiment = Experiment {
            code: imported.experiment.clone(),
            title: imported.title.clone(),
            condition: imported.condition,
            method: imported.method.clone(),
            grading: imported.grading.clone(),
            sample: None,
            levels,
            replicates: None,
            seed: None,
            source: imported.source.clone(),
            begun: note.that(()),
            runs: numbered(runs),
            rules: BTreeMap::new(),
        };
        self.experiments.insert(imported.experiment.clone(), experiment);
    }

    /// Works out what the method is at each level of its planned experiments, after an experiment was
    /// planned or a number of the method was corrected.
    pub(super) fn derive_rules(&mut self, method: &MethodId) {
        let Some(in_use) = self.methods.get(method) else { return };
        let planned = self.experiments.values_mut().filter(|one| one.method == *method);
        for experiment in planned.filter(|one| one.seed.is_some()) {
            let Experiment { condition, grading, levels, .. } = &*experiment;
            let at =
                |level: &Decimal| (*level, at_level(&in_use.method, *condition, grading, *level));
            experiment.rules = levels.iter().map(at).collect();
        }
    }
}

fn numbered(runs: impl Iterator<Item = (Decimal, Option<Decimal>)>) -> Vec<ExperimentRun> {
    (1_u32..)
        .zip(runs)
        .map(|(number, (level, imported_percent))| ExperimentRun {
            number,
            level,
            specimens: Vec::new(),
            imported_percent,
            left_out: None,
        })
        .collect()
}
