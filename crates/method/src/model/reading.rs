//! What a test reads of a specimen beside the masses before and after, and what it works out
//! beside the loss: the parts by which the companion tests differ from the jar mill.

use super::Conditions;
use crate::figure::{Figure, Toleranced};
use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;
use stonewear_measure::rounding::{BadPlace, Rule};
use stonewear_measure::{Decimal, Rounding};
use thiserror::Error;

/// What the specimen is tested in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Vessel {
    /// A jar that rolls, with water.
    #[default]
    JarMill,
    /// A steel drum that turns with its shelf, dry.
    Drum,
    /// A bath of a salt solution.
    Bath,
    /// Nothing but instruments.
    Bench,
}

impl Vessel {
    /// Every value, as a method file writes it.
    pub const WORDS: &[(&str, Self)] = &[
        ("jar-mill", Self::JarMill),
        ("drum", Self::Drum),
        ("bath", Self::Bath),
        ("bench", Self::Bench),
    ];

    /// Whether the specimen turns in a machine, so that a run is recorded.
    pub fn turns(self) -> bool {
        matches!(self, Self::JarMill | Self::Drum)
    }

    /// For facts that leave the usual one out.
    pub(super) fn is_usual(&self) -> bool {
        *self == Self::JarMill
    }
}

/// When a reading is taken, seen from the run.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum When {
    /// Before the run.
    Before,
    /// While it lasts; the specimen goes back afterwards.
    During,
    /// After it.
    After,
}

impl When {
    /// Every value, as a method file writes it.
    pub const WORDS: &[(&str, Self)] =
        &[("before", Self::Before), ("during", Self::During), ("after", Self::After)];
}

/// Whether something is read once, or of every size of the grading.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Of {
    /// Once, of the whole specimen.
    Specimen,
    /// Of each fraction.
    Fraction,
}

impl Of {
    /// Every value, as a method file writes it.
    pub const WORDS: &[(&str, Self)] =
        &[("specimen", Self::Specimen), ("fraction", Self::Fraction)];
}

/// Whether a result can do without a reading.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Need {
    /// No result comes without it.
    Always,
    /// A result comes without it, only without what is worked out from it.
    IfWanted,
}

impl Need {
    /// Every value, as a method file writes it.
    pub const WORDS: &[(&str, Self)] = &[("always", Self::Always), ("if-wanted", Self::IfWanted)];
}

/// Something that is read of a specimen beside its masses before and after.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Reading {
    /// Short name within the method: `kept_early`. The formulas know their readings by it.
    pub name: String,
    /// What it is, in words.
    pub title: String,
    /// When it is taken.
    pub when: When,
    /// Its unit: one of [`Reading::UNITS`]; empty where it has none.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub unit: String,
    /// Of what it is read.
    pub of: Of,
    /// Whether a result can do without it.
    pub need: Need,
    /// The kind of item that it is read with, as the journal writes kinds: `balance`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub read_with: Option<String>,
    /// What the method wants it to be.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub wanted: Option<Toleranced>,
    /// After how many revolutions it is taken.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub revolutions: Option<Figure<Decimal>>,
}

impl Reading {
    /// The units that a reading can have, as a method file writes them.
    pub const UNITS: &[&str] = &["", "g", "%", "°C", "h", "min", "Mg/m³", "cycles"];
}

/// Which formula gives a property. The letters stand for masses, g.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum PropertyFormula {
    /// (A − C) / (A − B): the loss early in the run over the loss at its end.
    UniformityRatio,
    /// A / (B − C).
    OvenDryDensity,
    /// B / (B − C).
    SaturatedDensity,
    /// A / (A − C).
    ApparentDensity,
    /// 100 (B − A) / A.
    Absorption,
}

impl PropertyFormula {
    /// Every value, as a method file writes it.
    pub const WORDS: &[(&str, Self)] = &[
        ("uniformity-ratio", Self::UniformityRatio),
        ("oven-dry-density", Self::OvenDryDensity),
        ("saturated-density", Self::SaturatedDensity),
        ("apparent-density", Self::ApparentDensity),
        ("absorption", Self::Absorption),
    ];

    /// The formula in symbols.
    pub fn in_symbols(self) -> &'static str {
        match self {
            Self::UniformityRatio => "(A − C) / (A − B)",
            Self::OvenDryDensity => "A / (B − C)",
            Self::SaturatedDensity => "B / (B − C)",
            Self::ApparentDensity => "A / (A − C)",
            Self::Absorption => "100 × (B − A) / A",
        }
    }

    /// The readings that it needs, by name.
    pub fn readings(self) -> &'static [&'static str] {
        use crate::work_out::{DRY, IN_WATER, KEPT_EARLY, SATURATED};
        match self {
            Self::UniformityRatio => &[KEPT_EARLY],
            Self::OvenDryDensity | Self::SaturatedDensity => &[DRY, SATURATED, IN_WATER],
            Self::ApparentDensity => &[DRY, IN_WATER],
            Self::Absorption => &[DRY, SATURATED],
        }
    }
}

/// As a method file writes it.
impl fmt::Display for PropertyFormula {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let word = Self::WORDS.iter().find(|(_, formula)| formula == self).map(|(word, _)| *word);
        f.write_str(word.unwrap_or_default())
    }
}

/// A text that names no formula of a property.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("“{0}” is not a formula of a property; write {list}", list = PropertyFormula::WORDS.iter().map(|(word, _)| *word).collect::<Vec<_>>().join(", "))]
pub struct UnknownProperty(String);

impl FromStr for PropertyFormula {
    type Err = UnknownProperty;
    fn from_str(text: &str) -> Result<Self, UnknownProperty> {
        let found = Self::WORDS.iter().find(|(word, _)| *word == text);
        found.map(|(_, formula)| *formula).ok_or_else(|| UnknownProperty(text.to_owned()))
    }
}

/// Something that is worked out beside the loss, or where there is none.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Property {
    /// Short name within the method: `absorption`.
    pub name: String,
    /// What it is, in words.
    pub title: String,
    /// Its unit; empty where it has none.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub unit: String,
    /// The formula.
    pub formula: Figure<PropertyFormula>,
    /// The reported value is rounded to this, in the unit of the property.
    pub round_to: Figure<Decimal>,
    /// What happens to an exact half.
    pub rounding_rule: Figure<Rule>,
    /// The most that the method calls good, in the unit of the property.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at_most: Option<Figure<Decimal>>,
    /// What is published about its precision.
    #[serde(default, rename = "precision", skip_serializing_if = "Vec::is_empty")]
    pub precisions: Vec<PropertyPrecision>,
}

impl Property {
    /// The rounding of the reported value.
    ///
    /// # Errors
    /// When the file gives a place that is not greater than zero.
    pub fn rounding(&self) -> Result<Rounding, BadPlace> {
        Rounding::new(self.round_to.value, self.rounding_rule.value)
    }
}

/// How far two values of a property may lie apart (95 %), at the levels of an experiment.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PropertyPrecision {
    /// Under which conditions.
    pub conditions: Conditions,
    /// The levels, in the order of the source.
    #[serde(rename = "level")]
    pub levels: Vec<PropertyLevel>,
}

/// Precision at one level of a property.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PropertyLevel {
    /// The mean of the level, in the unit of the property.
    pub at: Figure<Decimal>,
    /// Acceptable difference of two values, in the unit of the property.
    pub difference: Figure<Decimal>,
}
