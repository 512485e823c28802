//! When the reference aggregate is tested again on an apparatus.

use super::list;
use super::points::days_after;
use crate::code::{ItemCode, LotCode, RunCode};
use crate::fact::Standing;
use crate::policy::Policy;
use crate::state::{Lab, ReferenceLot};
use jiff::Timestamp;
use jiff::civil::Date;
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};
use stonewear_method::MethodId;

/// When it is due: `10 samples 7 days`, whichever comes first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize)]
pub struct DueRule {
    /// After so many samples.
    pub samples: Option<u32>,
    /// After so many days, where tests are run.
    pub days: Option<u32>,
}

impl DueRule {
    pub(crate) const UNITS: [&'static str; 2] = ["samples", "days"];

    /// Reads it as the policy keeps it.
    pub fn read(typed: &str) -> Option<Self> {
        let [samples, days] = list::read(typed, Self::UNITS)?;
        Some(Self { samples, days })
    }
}

/// Whether a reference result is due.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Due {
    /// Not yet.
    NotYet,
    /// Time is up, but nothing was run since: it is due before the next test.
    BeforeNextTest,
    /// Now.
    Now,
}

/// When the next reference result is due on an apparatus.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ReferenceDue {
    /// The apparatus.
    pub apparatus: ItemCode,
    /// The method.
    pub method: MethodId,
    /// The lot that is in use there.
    pub lot: LotCode,
    /// Whether it is due.
    pub due: Due,
    /// When the last one was worked out; absent where there was none.
    pub last_at: Option<Timestamp>,
    /// The day by which time is up, where the rule counts days.
    pub due_on: Option<Date>,
    /// How many samples can still be run, where the rule counts samples.
    pub samples_left: Option<u32>,
    /// In a sentence, as page, paper and command say it.
    pub sentence: String,
}

/// What an apparatus owes by a method, on whichever day.
#[derive(Debug)]
pub(crate) struct Owed {
    apparatus: ItemCode,
    method: MethodId,
    /// The lot that is in use there.
    lot: LotCode,
    /// When the last result was worked out.
    last_at: Option<Timestamp>,
    /// Samples that were run since.
    samples_run: u32,
}

impl Lab {
    /// When reference results are due, on each apparatus that is not retired, for each method that a
    /// lot is for. An apparatus that a lot was never tested on counts as soon as it has run a sample by
    /// the method of the lot.
    pub fn reference_due(&self, at: Timestamp) -> Vec<ReferenceDue> {
        let rule = DueRule::read(self.policy(Policy::ReferenceInterval).value).unwrap_or_default();
        let owed = self.worked_out.owed.get((), || self.owed());
        owed.iter().map(|one| self.due_on(at, rule, one)).collect()
    }

    /// What each apparatus owes, on whichever day.
    fn owed(&self) -> Vec<Owed> {
        // Of each apparatus and method the lot that was tested last, or else registered last.
        let mut current: BTreeMap<(ItemCode, MethodId), (Option<Timestamp>, &ReferenceLot)> =
            BTreeMap::new();
        for lot in self.lots.values() {
            for apparatus in self.apparatus_with(lot) {
                let last = self.known_losses(lot, &apparatus).last().map(|one| one.at);
                let key = (apparatus, lot.method.clone());
                let rank =
                    |last: Option<Timestamp>, lot: &ReferenceLot| (last, lot.registered.position);
                let known = current.get(&key).map(|(at, of)| rank(*at, of));
                if known.is_none_or(|known| rank(last, lot) >= known) {
                    current.insert(key, (last, lot));
                }
            }
        }
        let owed = current.into_iter().map(|((apparatus, method), (last_at, lot))| {
            let samples_run = self.samples_since(last_at, &apparatus, lot);
            Owed { apparatus, method, lot: lot.code.clone(), last_at, samples_run }
        });
        owed.collect()
    }

    /// The apparatus that a lot is to watch.
    fn apparatus_with(&self, lot: &ReferenceLot) -> BTreeSet<ItemCode> {
        let in_use = |code: &ItemCode| {
            self.items.get(code).is_some_and(|item| item.standing() != Standing::Retired)
        };
        let tested = self.apparatus_of_lot(lot).into_iter();
        let by_it =
            |runs: &Vec<RunCode>| runs.iter().rev().any(|run| self.runs_by(run, &lot.method));
        let ran = self.runs_by_apparatus.iter().filter(|(_, runs)| by_it(runs));
        tested.chain(ran.map(|(apparatus, _)| apparatus.clone())).filter(in_use).collect()
    }

    /// Whether a run is by a method, in whichever edition.
    fn runs_by(&self, run: &RunCode, method: &MethodId) -> bool {
        let placed = self.runs.get(run).into_iter().flat_map(|run| &run.placed);
        let mut specimens = placed.filter_map(|placed| self.specimens.get(&placed.specimen));
        specimens.any(|specimen| specimen.method.name() == method.name())
    }

    /// How many samples an apparatus has run by the method of a lot since an instant, the lot's own
    /// not counted.
    fn samples_since(
        &self,
        last_at: Option<Timestamp>,
        apparatus: &ItemCode,
        lot: &ReferenceLot,
    ) -> u32 {
        let runs = self.runs_by_apparatus.get(apparatus).map(Vec::as_slice).unwrap_or_default();
        let newest_first = runs.iter().rev().filter_map(|code| self.runs.get(code));
        let samples: BTreeSet<_> = newest_first
            .take_while(|run| last_at.is_none_or(|last| run.started.at > last))
            .filter(|run| self.runs_by(&run.code, &lot.method))
            .flat_map(|run| &run.placed)
            .filter_map(|placed| self.specimens.get(&placed.specimen))
            .map(|specimen| &specimen.sample)
            .filter(|sample| !self.lot_of_sample.contains_key(*sample))
            .collect();
        u32::try_from(samples.len()).unwrap_or(u32::MAX)
    }

    fn due_on(&self, at: Timestamp, rule: DueRule, owed: &Owed) -> ReferenceDue {
        let Owed { apparatus, method, lot, last_at, samples_run: run } = owed;
        let (last_at, run) = (*last_at, *run);
        let samples_left = rule.samples.map(|most| most.saturating_sub(run));
        let time_up = last_at.zip(rule.days).and_then(|(last, days)| days_after(last, days));
        let is_late = time_up.is_some_and(|time_up| at >= time_up);
        let due = match (last_at, samples_left) {
            (None, _) if run > 0 => Due::Now,
            (None, _) => Due::BeforeNextTest,
            (Some(_), Some(0)) => Due::Now,
            (Some(_), _) if is_late && run > 0 => Due::Now,
            (Some(_), _) if is_late => Due::BeforeNextTest,
            (Some(_), _) => Due::NotYet,
        };
        let due_on = time_up.map(|time_up| self.local(time_up).date());
        let sentence = sentence(apparatus, lot, due, last_at.map(|at| self.local(at).date()), {
            let day = due_on.map(|day| format!("by {day}"));
            let left = samples_left.map(|left| {
                format!("after {}", crate::words::counted_more(left as usize, "sample"))
            });
            [day, left].into_iter().flatten().collect::<Vec<_>>().join(" or ")
        });
        ReferenceDue {
            apparatus: apparatus.clone(),
            method: method.clone(),
            lot: lot.clone(),
            due,
            last_at,
            due_on,
            samples_left,
            sentence,
        }
    }
}

fn sentence(
    apparatus: &ItemCode,
    lot: &LotCode,
    due: Due,
    last: Option<Date>,
    next: String,
) -> String {
    let last = last.map_or("none so far".to_owned(), |day| format!("the last was on {day}"));
    match due {
        Due::Now => format!("{apparatus}: a run of lot {lot} is due now; {last}"),
        Due::BeforeNextTest => {
            format!("{apparatus}: a run of lot {lot} is due before the next test; {last}")
        }
        Due::NotYet => {
            format!("{apparatus}: the next run of lot {lot} is due {next}; {last}")
        }
    }
}
