//! From the sample to its result.

use super::{Custody, Noted, OutsideResult, Sieving};
use crate::code::{ItemCode, ResultCode, RunCode, SampleCode, SpecimenCode};
use crate::fact::{Deviation, PropertyValue, SampleChanges, Stage};
use crate::judgement::Judgement;
use jiff::civil::Date;
use serde::Serialize;
use std::collections::BTreeMap;
use stonewear_measure::Decimal;
use stonewear_method::MethodId;

/// What was received.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Sample {
    /// Its code.
    pub code: SampleCode,
    /// Where the material comes from.
    pub source: String,
    /// Who asked for the test.
    pub client: String,
    /// For which works.
    pub project: String,
    /// What it is.
    pub material: String,
    /// What it is to be used for.
    pub intended_use: String,
    /// Nominal maximum size, mm.
    pub nominal_maximum_mm: Decimal,
    /// Condition on arrival.
    pub condition: String,
    /// The most loss that is allowed, %.
    pub limit_percent: Option<Decimal>,
    /// The document that sets it.
    pub limit_document: String,
    /// The method that the limit is for, by name; empty for the tests of wear in water.
    pub limit_method: String,
    /// The day it arrived.
    pub received_on: Date,
    /// Whether it is of the reference aggregate.
    pub reference: bool,
    /// Who received it.
    pub received: Noted<()>,
    /// What was recorded before and corrected, with the reason, oldest first: the value that no
    /// longer holds, noted by who corrected it.
    pub corrections: Vec<Noted<SampleCorrection>>,
    /// Its specimens, in the order in which they were begun.
    pub specimens: Vec<SpecimenCode>,
    /// Its sieve analyses, the last one counts.
    pub sievings: Vec<Noted<Sieving>>,
    /// Mass received, g.
    pub received_g: Option<Decimal>,
    /// What was typed or printed for it, where that was not a number of grams.
    pub received_as_read: String,
    /// How many bags or boxes came.
    pub bags: Option<u32>,
    /// Who took the sample.
    pub sampled_by: String,
    /// The client's address.
    pub client_address: String,
    /// The client's own reference.
    pub client_reference: String,
    /// By which plan and method it was taken.
    pub sampling_plan: String,
    /// The day it was taken.
    pub sampled_on: Option<Date>,
    /// Who brought it.
    pub delivered_by: String,
    /// Where it was put when it came.
    pub place: String,
    /// What became of it since, oldest first.
    pub custody: Vec<Noted<Custody>>,
    /// What other laboratories found on their part of it, oldest first.
    pub outside: Vec<Noted<OutsideResult>>,
}

/// What was recorded about a sample before it was corrected.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct SampleCorrection {
    /// What changed: the values that no longer hold.
    pub former: SampleChanges,
    /// What they were changed to.
    pub changes: SampleChanges,
    /// Why.
    pub reason: String,
}

/// A mass with the balance that gave it and every mass that it replaced.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct WeighedMass {
    /// The mass, g.
    pub mass_g: Decimal,
    /// What was typed or printed for it, where that was not a number of grams.
    pub as_read: String,
    /// The balance.
    pub balance: ItemCode,
    /// The sieve that kept it, for the mass after the run.
    pub sieve: Option<ItemCode>,
    /// The coarser sieve above it.
    pub guard_sieve: Option<ItemCode>,
    /// The oven that dried it.
    pub oven: Option<ItemCode>,
    /// Why it replaced an earlier mass, if it did.
    pub reason: String,
}

/// A value that was read of a specimen beside its masses.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct TakenReading {
    /// The value, in the unit of the method.
    pub value: Decimal,
    /// What was typed or printed for it, where that was not a number in this unit.
    pub as_read: String,
    /// What it was read with.
    pub instrument: Option<ItemCode>,
    /// Why it replaced an earlier value, if it did.
    pub reason: String,
}

/// A mass on the way to a constant one.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct DryingMass {
    /// On the way to which mass.
    pub stage: Stage,
    /// The mass, g.
    pub mass_g: Decimal,
    /// What was typed or printed for it, where that was not a number of grams.
    pub as_read: String,
    /// The balance.
    pub balance: ItemCode,
    /// The oven.
    pub oven: Option<ItemCode>,
}

/// What was made up for one jar, drum or bath.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Specimen {
    /// Its code.
    pub code: SpecimenCode,
    /// Of which sample.
    pub sample: SampleCode,
    /// By which method.
    pub method: MethodId,
    /// And grading.
    pub grading: String,
    /// The balance for its fractions.
    pub balance: ItemCode,
    /// Why this grading, where a sieve analysis decided it.
    pub grading_reason: String,
    /// Who began it.
    pub begun: Noted<()>,
    /// Each fraction's masses by its place in the grading, the last one counts.
    pub fractions: BTreeMap<usize, Vec<Noted<WeighedMass>>>,
    /// Masses while it dried, oldest first.
    pub drying: Vec<Noted<DryingMass>>,
    /// Since when it lies in its water: since that was entered, where the entry waited on a tablet.
    pub soak: Option<Noted<()>>,
    /// Masses before the run, the last one counts.
    pub before: Vec<Noted<WeighedMass>>,
    /// Masses kept on the method's sieve after the run, the last one counts.
    pub after: Vec<Noted<WeighedMass>>,
    /// What was read beside them, by [`Specimen::reading_key`]; of each the last one counts.
    pub readings: BTreeMap<String, Vec<Noted<TakenReading>>>,
    /// The run that it turned in.
    pub run: Option<RunCode>,
    /// Departures that somebody answers for.
    pub deviations: Vec<Noted<Deviation>>,
}

impl Specimen {
    /// The mass of a fraction that counts, g.
    pub fn fraction_g(&self, index: usize) -> Option<Decimal> {
        self.fractions.get(&index).and_then(|masses| masses.last()).map(|mass| mass.value.mass_g)
    }

    /// The mass before the run that counts, g.
    pub fn before_g(&self) -> Option<Decimal> {
        self.before.last().map(|mass| mass.value.mass_g)
    }

    /// The mass after the run that counts, g.
    pub fn after_g(&self) -> Option<Decimal> {
        self.after.last().map(|mass| mass.value.mass_g)
    }

    /// The key of a reading: its name, with the number of the fraction from 1 where it is of one.
    pub fn reading_key(name: &str, fraction: Option<usize>) -> String {
        fraction.map_or_else(|| name.to_owned(), |index| format!("{name}.{}", index + 1))
    }

    /// The reading that counts.
    pub fn reading(&self, name: &str, fraction: Option<usize>) -> Option<Decimal> {
        let taken = self.readings.get(&Self::reading_key(name, fraction))?;
        taken.last().map(|reading| reading.value.value)
    }

    /// The sum of the fractions weighed in so far, g.
    pub fn made_up_g(&self) -> Decimal {
        self.fractions
            .values()
            .filter_map(|masses| masses.last())
            .fold(Decimal::ZERO, |sum, mass| sum.saturating_add(mass.value.mass_g))
    }
}

/// A loss that was worked out, and why it was worked out again.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ResultVersion {
    /// The loss, %; absent where the test gives none.
    pub loss_percent: Option<Decimal>,
    /// What the test gave beside it.
    pub properties: Vec<PropertyValue>,
    /// Why it replaces an earlier one; empty for the first.
    pub reason: String,
    /// By whom it was released.
    pub release: Option<Noted<Release>>,
}

impl ResultVersion {
    /// Everything that was found: `14.8 %`, or `25 %, uniformity ratio 0.20`.
    pub fn in_words(&self) -> String {
        in_words(self.loss_percent, &self.properties)
    }
}

/// A loss and what was found beside it, in words.
pub fn in_words(loss_percent: Option<Decimal>, properties: &[PropertyValue]) -> String {
    let loss = loss_percent.map(|loss| format!("{loss} %"));
    loss.into_iter()
        .chain(properties.iter().map(PropertyValue::in_words))
        .collect::<Vec<_>>()
        .join(", ")
}

/// A person standing for a result.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Release {
    /// Anything that the report should say.
    pub remark: String,
    /// What others than the laboratory did for it, and who.
    pub external: String,
    /// What was said of the limit of its sample; absent where there is none, and from before
    /// judgements were kept.
    pub judgement: Option<Box<Judgement>>,
    /// Departures that this person answers for.
    pub deviations: Vec<Noted<Deviation>>,
}

/// A loss.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct TestResult {
    /// Its code.
    pub code: ResultCode,
    /// Of which sample.
    pub sample: SampleCode,
    /// From which specimens.
    pub specimens: Vec<SpecimenCode>,
    /// By which method.
    pub method: MethodId,
    /// Departures that somebody answers for.
    pub deviations: Vec<Noted<Deviation>>,
    /// Every version, oldest first; never empty.
    pub versions: Vec<Noted<ResultVersion>>,
}

impl TestResult {
    /// The version that counts.
    pub fn current(&self) -> Option<&Noted<ResultVersion>> {
        self.versions.last()
    }

    /// The release of the version that counts.
    pub fn release(&self) -> Option<&Noted<Release>> {
        self.current().and_then(|version| version.value.release.as_ref())
    }

    /// Number of the version that counts, from 1.
    pub fn version(&self) -> usize {
        self.versions.len()
    }
}
