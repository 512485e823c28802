//! What stands on a chart: the losses of a lot on an apparatus, and how many of them a baseline
//! still needs.

use super::list;
use crate::code::{ItemCode, LotCode, ResultCode, SpecimenCode};
use crate::fact::{Fact, Weighing};
use crate::policy::Policy;
use crate::state::{Lab, ReferenceLot, TestResult};
use jiff::civil::time;
use jiff::{Timestamp, ToSpan};
use serde::Serialize;
use std::collections::BTreeSet;
use std::sync::Arc;
use stonewear_measure::{Decimal, Rounding, Rule};
use stonewear_method::Weighed;
use stonewear_method::loss::loss;

/// Losses are charted to this, %: one digit more than any report keeps, so that a method that
/// reports whole numbers can be watched, too.
const CHARTED_TO: Decimal = Decimal::from_parts(1, 0, 0, false, 2);

/// One loss of a lot on an apparatus.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Known {
    /// The result, or the row of an import.
    pub(crate) name: String,
    /// When it was worked out, or noon of the day that an import names.
    pub(crate) at: Timestamp,
    /// Its place in the journal.
    pub(crate) position: u64,
    /// The loss, %, to 0.01.
    pub(crate) loss_percent: Decimal,
    /// Who ran it.
    pub(crate) operator: String,
    /// Whether it was taken over from a table.
    pub(crate) imported: bool,
    /// Whether it is of the time before the laboratory was kept here, and so not judged.
    pub(crate) history: bool,
}

/// The loss of a result as charts take it, with the masses that facts not yet applied bring.
pub(crate) fn charted_loss(
    lab: &Lab,
    specimens: &[SpecimenCode],
    reported: Option<Decimal>,
    facts: &[Fact],
) -> Option<Decimal> {
    let weighed_anew = |code: &SpecimenCode, wanted: Weighing| {
        facts.iter().rev().find_map(|fact| match fact {
            Fact::MassWeighed { specimen, weighing, mass_g, .. }
                if specimen == code && *weighing == wanted =>
            {
                Some(*mass_g)
            }
            _ => None,
        })
    };
    let masses: Option<Vec<Weighed>> = specimens
        .iter()
        .map(|code| {
            let specimen = lab.specimens.get(code)?;
            Some(Weighed {
                before_g: weighed_anew(code, Weighing::Before).or(specimen.before_g())?,
                after_g: weighed_anew(code, Weighing::After).or(specimen.after_g())?,
            })
        })
        .collect();
    let first = lab.specimens.get(specimens.first()?)?;
    let method = &lab.methods.get(&first.method)?.method;
    let exact = masses.filter(|_| method.weighs_before_and_after()).and_then(|masses| {
        let rounding = Rounding::new(CHARTED_TO, Rule::HalfEven).ok()?;
        rounding.apply(&loss(method, &masses).ok()?.exact_percent)
    });
    exact.or(reported)
}

impl Lab {
    /// The lot that a result is of, and the apparatus that ran it, where it belongs on a chart.
    pub(crate) fn chart_of(
        &self,
        specimens: &[SpecimenCode],
    ) -> Option<(&ReferenceLot, &ItemCode)> {
        let first = self.specimens.get(specimens.first()?)?;
        let lot = self.lots.get(&self.lot_of_sample.get(&first.sample)?.value)?;
        let same_test = first.method.name() == lot.method.name() && first.grading == lot.grading;
        let run = self.runs.get(first.run.as_ref()?)?;
        same_test.then_some((lot, &run.apparatus))
    }

    /// Where a result stands: its lot and apparatus; nothing where it is on no chart.
    pub fn on_chart(&self, result: &TestResult) -> Option<(&LotCode, &ItemCode)> {
        // Most results are of no lot: this is seen at once.
        self.lot_of_sample.get(&result.sample)?;
        self.chart_of(&result.specimens).map(|(lot, apparatus)| (&lot.code, apparatus))
    }

    /// The apparatus that a lot was tested on, in the order of their codes.
    pub fn apparatus_of_lot(&self, lot: &ReferenceLot) -> Vec<ItemCode> {
        let results = self.results_of_lot(lot).into_iter();
        let tested = results.filter_map(|result| self.on_chart(result));
        let tested = tested.filter(|(of, _)| **of == lot.code).map(|(_, apparatus)| apparatus);
        let imported = lot.imports.iter().map(|import| &import.value.apparatus);
        let all: BTreeSet<&ItemCode> = tested.chain(imported).chain(lot.baselines.keys()).collect();
        all.into_iter().cloned().collect()
    }

    /// The losses of a lot on an apparatus, oldest first.
    pub(crate) fn known_losses(&self, lot: &ReferenceLot, apparatus: &ItemCode) -> Arc<Vec<Known>> {
        let key = (lot.code.clone(), apparatus.clone());
        self.worked_out.losses.get(key, || self.losses_of(lot, apparatus))
    }

    /// The results of the samples of a lot, in the order of their codes. Most results of a laboratory are of
    /// none: they are not walked through.
    fn results_of_lot(&self, lot: &ReferenceLot) -> Vec<&TestResult> {
        let linked = self.lot_of_sample.iter().filter(|(_, linked)| linked.value == lot.code);
        let specimens = linked.flat_map(|(sample, _)| self.specimens_of(sample));
        let codes: BTreeSet<&ResultCode> =
            specimens.filter_map(|one| self.result_by_specimen.get(&one.code)).collect();
        codes.into_iter().filter_map(|code| self.results.get(code)).collect()
    }

    fn losses_of(&self, lot: &ReferenceLot, apparatus: &ItemCode) -> Vec<Known> {
        let own = self
            .results_of_lot(lot)
            .into_iter()
            .filter(|result| self.on_chart(result).is_some_and(|(_, on)| on == apparatus))
            .filter_map(|result| self.known(result));
        let imported = lot.imports.iter().filter(|import| import.value.apparatus == *apparatus);
        let imported = imported.flat_map(|import| {
            import.value.results.iter().enumerate().map(|(row, one)| Known {
                name: format!("{}-{}", import.value.code, row + 1),
                at: self.noon(one.on).unwrap_or(import.at),
                position: import.position,
                loss_percent: one.loss_percent,
                operator: one.operator.clone(),
                imported: true,
                history: import.value.file.is_some(),
            })
        });
        let mut known: Vec<Known> = own.chain(imported).collect();
        // A stable order: rows of one import that name one day stay as the table has them.
        known.sort_by_key(|one| (one.at, one.position));
        known
    }

    fn known(&self, result: &TestResult) -> Option<Known> {
        let first = result.versions.first()?;
        let reported = result.current()?.value.loss_percent;
        Some(Known {
            name: result.code.to_string(),
            at: first.at,
            position: first.position,
            loss_percent: charted_loss(self, &result.specimens, reported, &[])?,
            operator: self.operator_of(&result.specimens),
            imported: false,
            history: false,
        })
    }

    /// Who ran the first specimen: whoever recorded that its run had ended.
    pub(crate) fn operator_of(&self, specimens: &[SpecimenCode]) -> String {
        let first = specimens.first().and_then(|code| self.specimens.get(code));
        let run = first.and_then(|one| self.runs.get(one.run.as_ref()?));
        let ran = run.and_then(|run| run.stopped.as_ref()).map(|stopped| stopped.by.to_string());
        ran.or_else(|| first.map(|one| one.begun.by.to_string())).unwrap_or_default()
    }

    fn noon(&self, day: jiff::civil::Date) -> Option<Timestamp> {
        let zone = self.local(Timestamp::UNIX_EPOCH).time_zone().clone();
        Some(day.to_datetime(time(12, 0, 0, 0)).to_zoned_datetime(zone).ok()?.timestamp())
    }

    /// How far the results of a lot on an apparatus are from a baseline.
    pub fn baseline_progress(&self, lot: &ReferenceLot, apparatus: &ItemCode) -> BaselineProgress {
        BaselineProgress::of(&self.known_losses(lot, apparatus), self.baseline_rule())
    }

    /// What a baseline needs.
    pub fn baseline_rule(&self) -> BaselineRule {
        BaselineRule::read(self.policy(Policy::BaselineResults).value).unwrap_or_default()
    }

    /// The result with this code, where it stands on a chart.
    pub(crate) fn charted(
        &self,
        result: &ResultCode,
    ) -> Option<(&TestResult, &ReferenceLot, &ItemCode)> {
        let result = self.results.get(result)?;
        let (lot, apparatus) = self.chart_of(&result.specimens)?;
        Some((result, lot, apparatus))
    }
}

/// What a baseline needs: `20 results 14 days 2 operators`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize)]
pub struct BaselineRule {
    /// At least so many results.
    pub results: u32,
    /// From the first to the last at least so many days.
    pub days: u32,
    /// By at least so many people.
    pub operators: u32,
}

impl BaselineRule {
    pub(crate) const UNITS: [&'static str; 3] = ["results", "days", "operators"];

    /// Reads it as the policy keeps it.
    pub fn read(typed: &str) -> Option<Self> {
        let [results, days, operators] = list::read(typed, Self::UNITS)?;
        // A standard deviation needs two neighbours at the very least.
        let results = results.filter(|results| *results >= 2)?;
        Some(Self {
            results,
            days: days.unwrap_or_default(),
            operators: operators.unwrap_or_default(),
        })
    }
}

/// How far a lot is from its baseline.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct BaselineProgress {
    /// What is needed.
    pub rule: BaselineRule,
    /// How many results there are.
    pub results: usize,
    /// Days from the first to the last.
    pub days: i64,
    /// How many people made them.
    pub operators: usize,
}

impl BaselineProgress {
    pub(crate) fn of(known: &[Known], rule: BaselineRule) -> Self {
        let span = match (known.first(), known.last()) {
            (Some(first), Some(last)) => last.at.since(first.at).ok(),
            _ => None,
        };
        let hours = span.and_then(|span| span.total(jiff::Unit::Hour).ok());
        // Twelve hours are the margin of a day that began at noon.
        let days = hours.map_or(0, |hours| ((hours + 12.0) / 24.0).floor() as i64);
        let operators: BTreeSet<&str> = known
            .iter()
            .map(|one| one.operator.as_str())
            .filter(|operator| !operator.is_empty())
            .collect();
        Self { rule, results: known.len(), days, operators: operators.len() }
    }

    /// How many results are still needed.
    pub fn results_needed(&self) -> usize {
        usize::try_from(self.rule.results).unwrap_or(usize::MAX).saturating_sub(self.results)
    }

    /// What is missing, in words; nothing where a baseline can be frozen.
    pub fn missing(&self) -> Vec<String> {
        let mut missing = Vec::new();
        let counted = crate::words::counted;
        if self.results_needed() > 0 {
            missing.push(format!(
                "{} ({} of {})",
                crate::words::counted_more(self.results_needed(), "result"),
                self.results,
                self.rule.results
            ));
        }
        if self.days < i64::from(self.rule.days) {
            missing.push(format!("they span {} of {} days", self.days, self.rule.days));
        }
        let operators = usize::try_from(self.rule.operators).unwrap_or_default();
        if self.operators < operators {
            let people = counted(self.operators, "operator");
            missing.push(format!("{people} of {operators}"));
        }
        missing
    }
}

/// The end of a day that is so many days after another instant.
pub(super) fn days_after(at: Timestamp, days: u32) -> Option<Timestamp> {
    at.checked_add((i64::from(days) * 24).hours()).ok()
}
