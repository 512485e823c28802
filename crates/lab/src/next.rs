//! What waits to be done: worked out from the state, so that nobody has to keep a list.

use crate::code::{CheckCode, ItemCode, ResultCode, RunCode, SampleCode, SpecimenCode};
use crate::fact::Standing;
use crate::state::{CheckState, Lab, Specimen};
use serde::Serialize;
use stonewear_method::Missing;
use stonewear_method::work_out::missing;

/// Something that waits to be done.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(tag = "next", rename_all = "kebab-case")]
pub enum Next {
    /// A result waits for somebody to stand for it.
    Release {
        /// The result.
        result: ResultCode,
    },
    /// A run turns; how it ends is to be recorded.
    StopRun {
        /// The run.
        run: RunCode,
    },
    /// A specimen was run; what is left of it is to be weighed.
    WeighAfter {
        /// The specimen.
        specimen: SpecimenCode,
    },
    /// A specimen is weighed and waits for its run.
    StartRun {
        /// The specimen.
        specimen: SpecimenCode,
    },
    /// A specimen is made up and waits to be weighed before its run.
    WeighBefore {
        /// The specimen.
        specimen: SpecimenCode,
    },
    /// Fractions of a specimen are still to be weighed in.
    MakeUp {
        /// The specimen.
        specimen: SpecimenCode,
    },
    /// Something is to be read of a specimen.
    TakeReading {
        /// The specimen.
        specimen: SpecimenCode,
        /// The reading, by its name in the method.
        reading: String,
    },
    /// A sample has no specimen yet.
    BeginSpecimen {
        /// The sample.
        sample: SampleCode,
    },
    /// A check is not finished.
    GoOn {
        /// The check.
        check: CheckCode,
    },
    /// An item is not in service, and no check of it is open.
    Prove {
        /// The item.
        item: ItemCode,
    },
}

impl Lab {
    /// Everything that waits, what is nearest to a released result first.
    pub fn next(&self) -> Vec<Next> {
        let unreleased = self.results.values().filter(|result| result.release().is_none());
        let mut next: Vec<Next> =
            unreleased.map(|result| Next::Release { result: result.code.clone() }).collect();
        let turning = self.runs.values().filter(|run| run.stopped.is_none());
        next.extend(turning.map(|run| Next::StopRun { run: run.code.clone() }));
        let mut of_specimens: Vec<Next> =
            self.specimens.values().filter_map(|specimen| self.next_of(specimen)).collect();
        of_specimens.sort_by_key(|next| match next {
            Next::WeighAfter { .. } => 0,
            Next::StartRun { .. } => 1,
            Next::WeighBefore { .. } => 2,
            _ => 3,
        });
        next.extend(of_specimens);
        let untouched = self.samples.values().filter(|sample| sample.specimens.is_empty());
        next.extend(untouched.map(|sample| Next::BeginSpecimen { sample: sample.code.clone() }));
        let open = self.checks.values().filter(|check| matches!(check.state(), CheckState::At(_)));
        next.extend(open.map(|check| Next::GoOn { check: check.code.clone() }));
        let unproved = self.items.values().filter(|item| {
            matches!(item.standing(), Standing::BeingProved | Standing::Held)
                && !self
                    .checks_of(&item.code)
                    .any(|check| matches!(check.state(), CheckState::At(_)))
        });
        next.extend(unproved.map(|item| Next::Prove { item: item.code.clone() }));
        next
    }

    /// What waits for a specimen.
    pub fn next_of(&self, specimen: &Specimen) -> Option<Next> {
        let code = specimen.code.clone();
        let rules = self.rules_of(specimen);
        if let Some((method, grading)) = rules.filter(|(method, _)| !method.vessel.turns()) {
            return match missing(method, grading, &specimen.input()).into_iter().next()? {
                Missing::Reading { name, .. } => {
                    Some(Next::TakeReading { specimen: code, reading: name })
                }
                _ => Some(Next::MakeUp { specimen: code }),
            };
        }
        if specimen.after_g().is_some() {
            return None;
        }
        if let Some(run) = specimen.run.as_ref().and_then(|run| self.runs.get(run)) {
            return run.stopped.as_ref().map(|_| Next::WeighAfter { specimen: code });
        }
        if specimen.before_g().is_some() {
            return Some(Next::StartRun { specimen: code });
        }
        let fractions = self
            .methods
            .get(&specimen.method)
            .and_then(|in_use| in_use.method.grading(&specimen.grading))
            .map_or(0, |grading| grading.fractions.len());
        let made_up = (0..fractions).all(|index| specimen.fraction_g(index).is_some());
        Some(if made_up {
            Next::WeighBefore { specimen: code }
        } else {
            Next::MakeUp { specimen: code }
        })
    }
}
