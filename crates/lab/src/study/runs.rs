//! What has come of each run of a plan: its specimen, its value, where it departs from the plan.

use crate::code::SpecimenCode;
use crate::fact::{PlannedRun, StudyFactor};
use crate::state::{Lab, Noted, Specimen, Study};
use crate::study::design::TURNING;
use serde::Serialize;
use stonewear_measure::Decimal;
use stonewear_method::Weighed;

/// Decimals of a loss that is analysed: more than any balance gives.
const DECIMALS: u32 = 6;

/// A run of a plan as it stands.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct RunStanding {
    /// As planned.
    pub planned: PlannedRun,
    /// Its specimen, if it has one.
    pub specimen: Option<SpecimenCode>,
    /// Its value, in the unit of the study, unrounded.
    pub value: Option<Decimal>,
    /// Whether the value came from a file, and from which document.
    pub imported_from: Option<String>,
    /// Where it departs from the plan.
    pub departures: Vec<String>,
    /// The reason that a person recorded for that, if one did.
    pub excused: Option<String>,
    /// Doubts that are open about it.
    pub doubts: Vec<String>,
}

impl RunStanding {
    /// Where it stands, in words.
    pub fn in_words(&self) -> String {
        match (&self.specimen, self.value, &self.imported_from) {
            (_, Some(_), Some(document)) => format!("imported from {document}"),
            (Some(specimen), Some(_), None) => format!("tested as {specimen}"),
            (Some(specimen), None, _) => format!("{specimen} is not finished"),
            (None, ..) => "to be made".to_owned(),
        }
    }
}

impl Lab {
    /// Every run of a study as it stands, in the order of the plan.
    pub fn study_runs(&self, study: &Study) -> Vec<RunStanding> {
        study.plan.value.runs.iter().map(|planned| self.study_run(study, planned)).collect()
    }

    fn study_run(&self, study: &Study, planned: &PlannedRun) -> RunStanding {
        let assigned = study.specimen_of(planned.run);
        let imported = study.imported_of(planned.run);
        let later = |one: u64| assigned.is_none_or(|assigned| assigned.position < one);
        let imported = imported.filter(|imported| later(imported.position));
        let specimen = assigned.and_then(|one| self.specimens.get(&one.value.specimen));
        let counts = specimen.filter(|_| imported.is_none());
        let excused = assigned.and_then(|one| one.value.deviations.first());
        RunStanding {
            planned: planned.clone(),
            specimen: assigned.map(|one| one.value.specimen.clone()),
            value: match imported {
                Some(imported) => Some(imported.value.value),
                None => counts.and_then(|specimen| self.loss_of_specimen(specimen)),
            },
            imported_from: imported.map(|one| one.value.document.clone()),
            departures: counts
                .map(|specimen| self.study_departures(study, planned, specimen))
                .unwrap_or_default(),
            excused: excused.map(|deviation| deviation.value.reason.clone()),
            doubts: counts.map(|specimen| self.doubts_about(specimen)).unwrap_or_default(),
        }
    }

    /// The loss of one specimen, %, from its masses and the method as it stands.
    pub fn loss_of_specimen(&self, specimen: &Specimen) -> Option<Decimal> {
        let (method, _) = self.rules_of(specimen)?;
        let weighed = Weighed { before_g: specimen.before_g()?, after_g: specimen.after_g()? };
        let loss = stonewear_method::loss::loss(method, &[weighed]).ok()?;
        loss.specimens.first()?.exact_percent.to_decimals(DECIMALS).parse().ok()
    }

    fn doubts_about(&self, specimen: &Specimen) -> Vec<String> {
        let Some(result) = self.result_of(&specimen.code) else { return Vec::new() };
        self.doubts_of(&result.code)
            .filter(|doubt| doubt.open_results().any(|open| *open == result.code))
            .map(|doubt| format!("{} about {} of {}", doubt.code, doubt.attribute, doubt.item))
            .collect()
    }

    /// Where the run of a specimen is not as its plan says, in words; nothing while it has not turned.
    pub(crate) fn study_departures(
        &self,
        study: &Study,
        planned: &PlannedRun,
        specimen: &Specimen,
    ) -> Vec<String> {
        let plan = &study.plan.value;
        let Some(run) = specimen.run.as_ref().and_then(|run| self.runs.get(run)) else {
            return Vec::new();
        };
        let Some(placed) = run.placed(&specimen.code) else { return Vec::new() };
        let differs = |what: &str, wanted: &str, was: Option<String>| match was {
            Some(was) if was.eq_ignore_ascii_case(wanted) => None,
            Some(was) => Some(format!("{what} {was} in place of {wanted}")),
            None => Some(format!("no {what} is recorded in place of {wanted}")),
        };
        let of = |factor: &StudyFactor, wanted: &str| match factor.name.as_str() {
            "position" => {
                let number = placed.position.to_string();
                let whole = format!("{}-{number}", placed.tier);
                let matches = [&number, &whole].iter().any(|one| one.eq_ignore_ascii_case(wanted));
                (!matches).then(|| format!("position {whole} in place of {wanted}"))
            }
            "jar" => differs("jar", wanted, placed.jar.as_ref().map(ToString::to_string)),
            "charge" => differs("charge", wanted, placed.charge.as_ref().map(ToString::to_string)),
            "operator" => differs("operator", wanted, Some(run.started.by.to_string())),
            "machine" => differs("machine", wanted, Some(run.apparatus.to_string())),
            TURNING => {
                let place = plan.factors.iter().position(|one| one.name == TURNING)?;
                let together = plan.runs.iter().filter(|other| {
                    other.run != planned.run
                        && other.repetition == planned.repetition
                        && other.levels.get(place).is_some_and(|level| level == wanted)
                });
                let apart = together
                    .filter_map(|other| study.specimen_of(other.run))
                    .filter_map(|other| self.specimens.get(&other.value.specimen)?.run.clone())
                    .find(|other| *other != run.code);
                apart.map(|other| {
                    format!("turned in {}, others of turning {wanted} in {other}", run.code)
                })
            }
            // What a run does not record cannot be held against its plan.
            _ => None,
        };
        let mut departures: Vec<String> = plan
            .factors
            .iter()
            .zip(&planned.levels)
            .filter_map(|(factor, wanted)| of(factor, wanted))
            .collect();
        let about = plan.item.as_ref().and_then(|item| self.items.get(item));
        let compares = plan.factors.iter().any(|factor| factor.name == "machine");
        if let Some(item) = about.filter(|item| item.apparatus.is_some() && !compares) {
            let wanted = item.code.as_str();
            departures.extend(differs("machine", wanted, Some(run.apparatus.to_string())));
        }
        departures
    }

    /// Studies about an item, newest first.
    pub fn studies_of<'a>(
        &'a self,
        item: &'a crate::ItemCode,
    ) -> impl Iterator<Item = &'a Study> + 'a {
        let names = move |factor: &StudyFactor| {
            factor.levels.iter().any(|level| level.eq_ignore_ascii_case(item.as_str()))
        };
        self.studies.values().rev().filter(move |study| {
            let plan = &study.plan.value;
            let here = plan.document.is_empty();
            plan.item.as_ref() == Some(item) || (here && plan.factors.iter().any(names))
        })
    }

    /// The study that a specimen is a run of, and which run.
    pub fn study_of_specimen(&self, specimen: &SpecimenCode) -> Option<(&Study, u32)> {
        self.studies.values().find_map(|study| {
            let is_it = |all: &Vec<Noted<crate::state::AssignedRun>>| {
                all.last().is_some_and(|one| one.value.specimen == *specimen)
            };
            let run = study.assigned.iter().find(|(_, all)| is_it(all))?;
            Some((study, *run.0))
        })
    }
}
