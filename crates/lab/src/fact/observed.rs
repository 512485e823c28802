//! Facts with so many parts that each has a type of its own.

use super::{Deviation, Stage};
use crate::code::{ItemCode, SampleCode, SpecimenCode};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use stonewear_measure::Decimal;
use stonewear_sieving::{ClosingRule, Definition, Retained};

/// Something was read of a specimen beside its masses before and after.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ReadingTaken {
    /// Of which specimen.
    pub specimen: SpecimenCode,
    /// The reading, by its name in the method.
    pub reading: String,
    /// The fraction, counted from 0, coarsest first, where it is of one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fraction: Option<usize>,
    /// The value, in the unit of the method.
    pub value: Decimal,
    /// What was typed or printed for it, where that was not a number in this unit.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub as_read: String,
    /// What it was read with.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub instrument: Option<ItemCode>,
    /// Why an earlier value is replaced, if one is.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub reason: String,
    /// Departures that somebody answers for.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub deviations: Vec<Deviation>,
}

/// A sample was sieved.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct SievingRecorded {
    /// The sample.
    pub sample: SampleCode,
    /// What each sieve kept, coarsest first.
    pub retained: Vec<Retained>,
    /// What the pan held, g.
    pub pan_g: Decimal,
    /// Oven-dry mass before, g.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub before_g: Option<Decimal>,
    /// Oven-dry mass after washing, g, where it was washed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub after_wash_g: Option<Decimal>,
    /// Mass of the whole sample received, g.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub received_g: Option<Decimal>,
    /// What was typed or printed for a mass, where that was not a number of grams, by the name
    /// of its field.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub as_read: BTreeMap<String, String>,
    /// By which definition the size was taken.
    pub definition: Definition,
    /// By which rule the masses were compared.
    pub closing: ClosingRule,
    /// The nominal maximum size that follows, mm; absent when it lies outside the sieves.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub nominal_maximum_mm: Option<Decimal>,
    /// The balance.
    pub balance: ItemCode,
    /// Why an earlier analysis is replaced, if one is.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub reason: String,
    /// Departures that somebody answers for.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub deviations: Vec<Deviation>,
}

/// A specimen was weighed while it dried.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct DryingWeighed {
    /// The specimen.
    pub specimen: SpecimenCode,
    /// On the way to the mass before the run, or to the mass after it.
    pub stage: Stage,
    /// The mass, g.
    pub mass_g: Decimal,
    /// What was typed or printed for it, where that was not a number of grams.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub as_read: String,
    /// The balance.
    pub balance: ItemCode,
    /// The oven.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub oven: Option<ItemCode>,
}

/// A file was attached to what was observed. Its bytes are kept beside the journal, under
/// their hash.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct FileAttached {
    /// The check, item, sample, specimen, run or result.
    pub to: String,
    /// The step of the check, if it belongs to one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub step: Option<String>,
    /// What the file is called.
    pub name: String,
    /// Its kind, as its content showed: `image/jpeg`.
    pub media_type: String,
    /// SHA-256 of its bytes, 64 hexadecimal digits in lower case.
    pub sha256: String,
    /// How large it is, in bytes.
    pub bytes: u64,
}
