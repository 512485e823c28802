//! Folding in runs: started, interrupted, resumed, stopped.

use super::Noter;
use crate::fact::Fact;
use crate::state::{Interruption, Lab, Run, Stopped};

impl Lab {
    pub(super) fn apply_run(&mut self, note: &Noter<'_>) {
        match &note.0.fact {
            Fact::RunStarted {
                run,
                apparatus,
                ended_by,
                revolutions_wanted,
                water_c,
                thermometer,
                placed,
                deviations,
                made,
            } => {
                self.count('R', note);
                for placed in placed {
                    let items = [
                        Some(apparatus),
                        placed.jar.as_ref(),
                        placed.charge.as_ref(),
                        thermometer.as_ref(),
                    ];
                    note.uses(&mut self.uses, items, &placed.specimen);
                    if let Some(specimen) = self.specimens.get_mut(&placed.specimen) {
                        specimen.run = Some(run.clone());
                    }
                }
                let started = Run {
                    code: run.clone(),
                    apparatus: apparatus.clone(),
                    ended_by: *ended_by,
                    revolutions_wanted: *revolutions_wanted,
                    water_c: *water_c,
                    thermometer: thermometer.clone(),
                    placed: placed.clone(),
                    corrections: Vec::new(),
                    interruptions: Vec::new(),
                    started: note.that(()),
                    turning_from: note.happened(*made),
                    stopped: None,
                    former_ends: Vec::new(),
                    deviations: note.each(deviations),
                };
                self.runs_by_apparatus.entry(apparatus.clone()).or_default().push(run.clone());
                self.turning.insert(run.clone());
                self.runs.insert(run.clone(), started);
            }
            Fact::RunInterrupted { run, revolutions, minutes, reason } => {
                if let Some(run) = self.runs.get_mut(run) {
                    run.interruptions.push(note.that(Interruption {
                        revolutions: *revolutions,
                        minutes: *minutes,
                        reason: reason.clone(),
                        resumed: None,
                        turning_again: None,
                    }));
                }
            }
            Fact::RunResumed { run, counter, made } => {
                let last = self.runs.get_mut(run).and_then(|run| run.interruptions.last_mut());
                if let Some(last) = last {
                    last.value.resumed = Some(note.that(*counter));
                    last.value.turning_again = Some(note.happened(*made));
                }
            }
            Fact::RunStopped { run, revolutions, minutes, reason, deviations } => {
                self.turning.remove(run);
                if let Some(run) = self.runs.get_mut(run) {
                    let stopped = Stopped {
                        revolutions: *revolutions,
                        minutes: *minutes,
                        reason: reason.clone(),
                    };
                    run.former_ends.extend(run.stopped.replace(note.that(stopped)));
                    run.deviations.extend(note.each(deviations));
                }
            }
            _ => {}
        }
    }
}
