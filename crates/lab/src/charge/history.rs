//! What is on record of a charge: every reading of its mass over the revolutions that it had turned,
//! every run, every change.

use crate::code::{CheckCode, ItemCode, RunCode, SpecimenCode};
use crate::fact::{ChargeChanged, Condition, Seen};
use crate::state::{Check, Lab, Noted, Run};
use jiff::Timestamp;
use std::collections::BTreeSet;
use stonewear_measure::{Decimal, Limits};
use stonewear_procedure::{Expect, ItemKind, Step};

/// What of a charge its mass checks prove, as its procedures write it.
const MASS: &str = "mass";

/// Where a mass was read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum ReadFrom {
    /// Before a run.
    Run(RunCode),
    /// In a check.
    Check(CheckCode),
    /// Before the charge was changed.
    BeforeChange,
    /// After the charge was changed.
    AfterChange,
}

impl ReadFrom {
    /// In words: `before R26-004`.
    pub fn in_words(&self) -> String {
        match self {
            Self::Run(run) => format!("before {run}"),
            Self::Check(check) => format!("check {check}"),
            Self::BeforeChange => "before the change".to_owned(),
            Self::AfterChange => "after the change".to_owned(),
        }
    }
}

/// One reading of the mass of a charge.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MassReading {
    /// The mass, g.
    pub mass_g: Decimal,
    /// Revolutions that the charge had turned since it is on record.
    pub turned: Decimal,
    /// When it was recorded.
    pub at: Timestamp,
    /// Where it was read.
    pub from: ReadFrom,
    /// The stretch that it belongs to, from 0: a new one begins with every change.
    pub segment: usize,
    /// How many runs of the charge lie before it.
    pub runs_before: usize,
}

/// One run that a charge turned in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Turning {
    /// The run.
    pub run: RunCode,
    /// The specimen that it lay with.
    pub specimen: SpecimenCode,
    /// The kind of stone, as its sample names it.
    pub material: String,
    /// When the run started.
    pub at: Timestamp,
    /// Revolutions that it turned; none while it turns.
    pub revolutions: Decimal,
    /// Whether they were counted; else they follow from the minutes and the speed of the method.
    pub is_counted: bool,
}

/// What is on record of a charge.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct History {
    /// The charge.
    pub charge: ItemCode,
    /// Readings of its mass, oldest first.
    pub readings: Vec<MassReading>,
    /// Its runs, oldest first.
    pub turnings: Vec<Turning>,
    /// What was done to it, oldest first.
    pub changes: Vec<Noted<ChargeChanged>>,
    /// For each change, the revolutions that it had turned by then.
    pub changed_at: Vec<Decimal>,
    /// Checks within which the mass was mended without a change on record.
    pub mended_in: Vec<CheckCode>,
    /// Stretches of readings between changes, also those of which nobody made a record.
    pub stretches: usize,
    /// Revolutions that it has turned in all.
    pub turned: Decimal,
}

impl History {
    /// Runs whose revolutions were not counted.
    pub fn not_counted(&self) -> usize {
        self.turnings.iter().filter(|one| !one.is_counted && !one.revolutions.is_zero()).count()
    }

    /// The number of balls in it, where a renewal counted them and every change since did.
    pub fn balls(&self) -> Option<u32> {
        use crate::fact::ChargeChange::{Added, Removed, Renewed};
        self.changes.iter().fold(None, |known: Option<u32>, change| {
            match (change.value.change, known, change.value.balls) {
                (Renewed, _, balls) => balls,
                (Added, Some(known), Some(more)) => known.checked_add(more),
                (Removed, Some(known), Some(less)) => known.checked_sub(less),
                _ => None,
            }
        })
    }
}

/// The mass that a charge has to keep.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Tolerance {
    /// The limits, g.
    pub limits: Limits,
    /// What says so.
    pub source: String,
}

/// Something that happened to a charge, by its place in the journal.
enum Event<'a> {
    Run(&'a Run, SpecimenCode),
    /// With whether it was read again after it had not been as it must be.
    Check(&'a Check, Decimal, Timestamp, bool),
    Change(&'a Noted<ChargeChanged>),
}

impl Lab {
    /// What is on record of a ball charge; `None` where there is no such charge.
    pub fn charge_history(&self, charge: &ItemCode) -> Option<History> {
        self.items.get(charge).filter(|item| item.kind == ItemKind::BallCharge)?;
        let mut events: Vec<(u64, Event<'_>)> = self.charge_runs(charge);
        events.extend(self.checks_of(charge).flat_map(|check| {
            let mut has_failed = false;
            let read = check.observations.iter().filter_map(|noted| {
                let step = check.procedure.step(&noted.value.step)?;
                let Seen::Number(mass) = noted.value.known() else { return None };
                reads_mass(check, step).then(|| {
                    let again = std::mem::replace(&mut has_failed, !noted.value.holds());
                    (noted.position, Event::Check(check, *mass, noted.at, again))
                })
            });
            read.collect::<Vec<_>>()
        }));
        let changes = self.charge_changes.get(charge).map(Vec::as_slice).unwrap_or_default();
        events.extend(changes.iter().map(|change| (change.position, Event::Change(change))));
        events.sort_by_key(|(position, _)| *position);

        let mut history = History {
            charge: charge.clone(),
            readings: Vec::new(),
            turnings: Vec::new(),
            changes: changes.to_vec(),
            changed_at: Vec::new(),
            mended_in: Vec::new(),
            stretches: 1,
            turned: Decimal::ZERO,
        };
        for (_, event) in events {
            self.tell(&mut history, event);
        }
        Some(history)
    }

    /// The runs of a charge, each once with the specimen that it lay with.
    fn charge_runs(&self, charge: &ItemCode) -> Vec<(u64, Event<'_>)> {
        let uses = self.uses.get(charge).map(Vec::as_slice).unwrap_or_default();
        let specimens: BTreeSet<&SpecimenCode> = uses.iter().map(|one| &one.specimen).collect();
        specimens
            .into_iter()
            .filter_map(|code| {
                let run = self.runs.get(self.specimens.get(code)?.run.as_ref()?)?;
                let is_of_it = run.placed(code)?.charge.as_ref() == Some(charge);
                is_of_it.then(|| (run.started.position, Event::Run(run, code.clone())))
            })
            .collect()
    }

    fn tell(&self, history: &mut History, event: Event<'_>) {
        let read = |history: &mut History, mass_g, at, from| {
            history.readings.push(MassReading {
                mass_g,
                turned: history.turned,
                at,
                from,
                segment: history.stretches - 1,
                runs_before: history.turnings.len(),
            });
        };
        match event {
            Event::Check(check, mass_g, at, again) => {
                if again {
                    // Its procedure says to add or take out balls and to weigh again.
                    history.stretches += 1;
                    history.mended_in.push(check.code.clone());
                }
                read(history, mass_g, at, ReadFrom::Check(check.code.clone()));
            }
            Event::Change(change) => {
                read(history, change.value.before_g, change.at, ReadFrom::BeforeChange);
                history.changed_at.push(history.turned);
                history.stretches += 1;
                read(history, change.value.after_g, change.at, ReadFrom::AfterChange);
            }
            Event::Run(run, specimen) => {
                let mass_g = run.placed(&specimen).and_then(|placed| placed.charge_g);
                // An experiment on the mass of the charge puts in another mass on purpose.
                let is_changed_on_purpose = self
                    .experiment_of(&specimen)
                    .is_some_and(|(experiment, _)| experiment.condition == Condition::Charge);
                if let Some(mass_g) = mass_g.filter(|_| !is_changed_on_purpose) {
                    read(history, mass_g, run.started.at, ReadFrom::Run(run.code.clone()));
                }
                let (revolutions, is_counted) = self.turned_in(run, &specimen);
                history.turned = history.turned.saturating_add(revolutions);
                let sample =
                    self.specimens.get(&specimen).and_then(|one| self.samples.get(&one.sample));
                history.turnings.push(Turning {
                    run: run.code.clone(),
                    material: sample.map(|sample| sample.material.clone()).unwrap_or_default(),
                    specimen,
                    at: run.started.at,
                    revolutions,
                    is_counted,
                });
            }
        }
    }

    /// Revolutions that a jar turned in a run, and whether they were counted: a run that was only
    /// timed turned its minutes at the speed of the method.
    pub(super) fn turned_in(&self, run: &Run, specimen: &SpecimenCode) -> (Decimal, bool) {
        let Some(end) = run.in_all() else {
            return (Decimal::ZERO, false);
        };
        if let Some(counted) = end.revolutions {
            return (counted.max(Decimal::ZERO), true);
        }
        let method = self.specimens.get(specimen).and_then(|one| self.methods.get(&one.method));
        let speed = method.and_then(|in_use| in_use.method.speed_rpm.as_ref());
        let by_time = end
            .minutes
            .zip(speed)
            .and_then(|(minutes, speed)| minutes.checked_mul(speed.nominal.value));
        (by_time.unwrap_or(run.revolutions_wanted).max(Decimal::ZERO), false)
    }

    /// As [`Lab::charge_tolerance`], worked out anew.
    pub(super) fn tolerance_of(&self, charge: &ItemCode) -> Option<Tolerance> {
        let last = self.charge_runs(charge).into_iter().max_by_key(|(position, _)| *position);
        let of_method = last.and_then(|(_, event)| {
            let Event::Run(_, specimen) = event else { return None };
            let specimen = self.specimens.get(&specimen)?;
            let method = &self.methods.get(&specimen.method)?.method;
            let rule = method.grading(&specimen.grading)?.charge_g.as_ref()?;
            let source = format!(
                "{}, grading {} ({})",
                method.designation,
                specimen.grading,
                rule.nominal.confidence.in_words()
            );
            Some(Tolerance { limits: rule.limits(), source })
        });
        of_method.or_else(|| {
            let passed = self.checks_of(charge).filter(|check| check.passed());
            let newest = passed
                .filter_map(|check| Some((check.ended.as_ref()?.position, check)))
                .flat_map(|(position, check)| {
                    check.procedure.steps.iter().map(move |step| (position, check, step))
                })
                .filter(|(_, check, step)| reads_mass(check, step))
                .max_by_key(|(position, _, _)| *position);
            let (_, check, step) = newest?;
            let Expect::Number { limits, .. } = &step.expect else { return None };
            Some(Tolerance {
                limits: *limits,
                source: format!("{} ({})", check.procedure.title, check.code),
            })
        })
    }
}

/// Whether a step of a check reads the mass of the whole charge.
fn reads_mass(check: &Check, step: &Step) -> bool {
    let proves_it = check.procedure.proves.iter().any(|of| of == MASS);
    proves_it && matches!(&step.expect, Expect::Number { unit, .. } if unit == "g")
}
