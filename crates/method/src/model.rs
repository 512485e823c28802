//! What a test method says, in one edition.

mod dated;
mod reading;

pub use reading::{
    Need, Of, Property, PropertyFormula, PropertyLevel, PropertyPrecision, Reading,
    UnknownProperty, Vessel, When,
};

use crate::figure::{Figure, Toleranced};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::fmt;
use std::str::FromStr;
use stonewear_measure::rounding::Rule;
use stonewear_measure::{Decimal, Limits, Rounding};
use thiserror::Error;

/// A method in one edition: `astm-d6928@2010`.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct MethodId(String);

impl MethodId {
    /// The identity of an edition.
    pub fn new(id: &str, edition: &str) -> Self {
        Self(format!("{id}@{edition}"))
    }

    /// Whether `typed` names this edition: the whole identity, or the part before the `@`.
    pub fn answers_to(&self, typed: &str) -> bool {
        self.0 == typed || self.name() == typed
    }

    /// The method, in whichever edition: the part before the `@`.
    pub fn name(&self) -> &str {
        self.0.split('@').next().unwrap_or_default()
    }

    /// The identity as text.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl fmt::Display for MethodId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

impl From<&str> for MethodId {
    fn from(text: &str) -> Self {
        Self(text.to_owned())
    }
}

/// What the method tests.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Material {
    /// Coarse aggregate.
    Coarse,
    /// Fine aggregate.
    Fine,
    /// Railway ballast.
    Ballast,
}

/// A test method in one edition. Lengths in mm, masses in g, volumes in L, temperatures in °C,
/// speeds in revolutions per minute.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Method {
    /// Short name without the edition: `astm-d6928`.
    pub id: String,
    /// Year of the edition: `2010`.
    pub edition: String,
    /// How people call the document: `ASTM D6928`.
    pub designation: String,
    /// What the test is, in our own words.
    pub title: String,
    /// What it tests.
    pub material: Material,
    /// What the specimen is tested in.
    #[serde(default, skip_serializing_if = "Vessel::is_usual")]
    pub vessel: Vessel,
    /// What a reader should know about this file: where editions or agencies differ.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub notes: Vec<String>,
    /// What the source keys used below stand for.
    pub sources: BTreeMap<String, String>,
    /// The specimen that goes into one jar, drum or bath.
    pub specimen: SpecimenRule,
    /// Soaking before the run; a jar mill always has it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub soak: Option<SoakRule>,
    /// The water in the jar; a jar mill always has it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub water: Option<WaterRule>,
    /// The balls, where the method uses any.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub balls: Option<BallRule>,
    /// Speed of the jar or drum; absent where nothing turns.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub speed_rpm: Option<Toleranced>,
    /// The sieves to wash over, coarsest first; what passes the last is lost. None where nothing
    /// is washed over one sieve.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub wash_sieves_mm: Vec<Figure<Decimal>>,
    /// Drying to constant mass.
    pub drying: DryingRule,
    /// How the loss is worked out and reported; absent where the test gives none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub loss: Option<LossRule>,
    /// What is read beside the masses before and after.
    #[serde(default, rename = "reading", skip_serializing_if = "Vec::is_empty")]
    pub readings: Vec<Reading>,
    /// What is worked out beside the loss.
    #[serde(default, rename = "property", skip_serializing_if = "Vec::is_empty")]
    pub properties: Vec<Property>,
    /// The jar, where a source describes it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub jar: Option<JarRule>,
    /// Precision statements.
    #[serde(default, rename = "precision", skip_serializing_if = "Vec::is_empty")]
    pub precisions: Vec<Precision>,
    /// How often the method (or the practice around it) wants something proved.
    #[serde(default, rename = "interval", skip_serializing_if = "Vec::is_empty")]
    pub intervals: Vec<Interval>,
    /// The gradings to choose from.
    #[serde(rename = "grading")]
    pub gradings: Vec<Grading>,
}

impl Method {
    /// The identity of this edition.
    pub fn key(&self) -> MethodId {
        MethodId::new(&self.id, &self.edition)
    }

    /// The grading of this name.
    pub fn grading(&self, name: &str) -> Option<&Grading> {
        self.gradings.iter().find(|grading| grading.name == name)
    }

    /// The reading of this name.
    pub fn reading(&self, name: &str) -> Option<&Reading> {
        self.readings.iter().find(|reading| reading.name == name)
    }

    /// The limits of the mass of one specimen, g; none where the method gives no mass.
    pub fn specimen_limits(&self) -> Limits {
        self.specimen.mass_g.as_ref().map(Toleranced::limits).unwrap_or_default()
    }

    /// The mass of one specimen as it is read out, g: `1500 ± 5`; empty where there is none.
    pub fn specimen_mass(&self) -> String {
        self.specimen.mass_g.as_ref().map(ToString::to_string).unwrap_or_default()
    }

    /// Whether the loss is taken of the masses of the whole specimen before and after a run.
    pub fn weighs_before_and_after(&self) -> bool {
        self.loss.as_ref().is_some_and(|rule| rule.formula.value != Formula::WeightedByGrading)
    }

    /// The temperature of the water, where the method sets one.
    pub fn water_temperature(&self) -> Option<&Toleranced> {
        self.water.as_ref()?.temperature_c.as_ref()
    }

    /// The sieve whose undersize is the loss, in mm.
    pub fn loss_sieve_mm(&self) -> Option<Decimal> {
        self.wash_sieves_mm.last().map(|sieve| sieve.value)
    }
}

/// The specimen that goes into one jar.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SpecimenRule {
    /// Specimens whose mean is the result.
    pub count: Figure<u32>,
    /// Oven-dry mass of one specimen, g; absent where it follows from the fractions alone, or
    /// where no source gives one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mass_g: Option<Toleranced>,
    /// Masses are weighed to this, g.
    pub weigh_to_g: Figure<Decimal>,
    /// How far the specimens of one result should lie apart at most, % loss, where a source says.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub differ_at_most_percent: Option<Figure<Decimal>>,
}

/// Soaking before the run.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SoakRule {
    /// The shortest soak, h; zero when the method asks for none.
    pub hours_at_least: Figure<Decimal>,
}

/// The water in the jar.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WaterRule {
    /// Volume, L.
    pub volume_l: Toleranced,
    /// Temperature, °C.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub temperature_c: Option<Toleranced>,
}

/// The balls.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BallRule {
    /// Diameter of a ball, mm.
    pub diameter_mm: Toleranced,
    /// Mass of a ball, g.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mass_g: Option<Toleranced>,
}

/// Drying to constant mass.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DryingRule {
    /// Temperature of the oven, °C.
    pub temperature_c: Toleranced,
    /// The mass is constant when it loses no more than this, % of the mass.
    pub constant_within_percent: Figure<Decimal>,
    /// Between two successive weighings, h.
    pub weighings_apart_h: Figure<Decimal>,
}

/// Which formula gives the loss.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Formula {
    /// 100 (A − B) / A, with A the mass before and B the mass kept on the sieve after.
    OfMassBefore,
    /// 100 (M − m) / M, with M the mass that the method prescribes and m the mass kept after.
    OfNominalMass,
    /// Σ (g × loss) / 100 over the sizes, with g the share of a size in the grading of the sample
    /// and its loss 100 (A − B) / A.
    WeightedByGrading,
}

/// As a method file writes it.
impl fmt::Display for Formula {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::OfMassBefore => "of-mass-before",
            Self::OfNominalMass => "of-nominal-mass",
            Self::WeightedByGrading => "weighted-by-grading",
        })
    }
}

/// A text that names no formula.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("“{0}” is not a formula; write of-mass-before, of-nominal-mass or weighted-by-grading")]
pub struct UnknownFormula(String);

impl FromStr for Formula {
    type Err = UnknownFormula;
    fn from_str(text: &str) -> Result<Self, UnknownFormula> {
        match text {
            "of-mass-before" => Ok(Self::OfMassBefore),
            "of-nominal-mass" => Ok(Self::OfNominalMass),
            "weighted-by-grading" => Ok(Self::WeightedByGrading),
            other => Err(UnknownFormula(other.to_owned())),
        }
    }
}

impl Formula {
    /// The formula in symbols.
    pub fn in_symbols(self) -> &'static str {
        match self {
            Self::OfMassBefore => "100 × (A − B) / A",
            Self::OfNominalMass => "100 × (M − m) / M",
            Self::WeightedByGrading => "Σ g × (100 × (A − B) / A) / 100",
        }
    }
}

/// How the loss is worked out and reported.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LossRule {
    /// The formula.
    pub formula: Figure<Formula>,
    /// The reported loss is rounded to this, %.
    pub round_to_percent: Figure<Decimal>,
    /// What happens to an exact half.
    pub rounding_rule: Figure<Rule>,
    /// A size with less than this share of the sample need not be tested, and then takes the loss
    /// of its neighbours, %.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub untested_below_percent: Option<Figure<Decimal>>,
}

impl LossRule {
    /// The rounding of the reported loss.
    ///
    /// # Errors
    /// When the file gives a place that is not greater than zero.
    pub fn rounding(&self) -> Result<Rounding, stonewear_measure::rounding::BadPlace> {
        Rounding::new(self.round_to_percent.value, self.rounding_rule.value)
    }
}

/// The jar.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct JarRule {
    /// Inside diameter, mm.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub inside_diameter_mm: Option<Toleranced>,
    /// Outside diameter, mm.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub outside_diameter_mm: Option<Toleranced>,
    /// Inside height or length, mm.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub inside_height_mm: Option<Toleranced>,
}

/// Under which conditions a precision statement holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Conditions {
    /// One operator, one laboratory, one machine, a short time.
    Repeatability,
    /// Different laboratories.
    Reproducibility,
}

impl fmt::Display for Conditions {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Repeatability => "repeatability",
            Self::Reproducibility => "reproducibility",
        })
    }
}

/// A precision statement: how far two results of one material may lie apart (95 %).
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Precision {
    /// Under which conditions.
    pub conditions: Conditions,
    /// Difference of two results, as `intercept + slope × loss`, % loss.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub limit_line: Option<Line>,
    /// Difference of two results in percent of their mean, at some losses.
    #[serde(default, rename = "level", skip_serializing_if = "Vec::is_empty")]
    pub levels: Vec<PrecisionLevel>,
}

/// A straight line in the loss.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Line {
    /// Value at no loss, % loss.
    pub intercept: Figure<Decimal>,
    /// Growth per 1 % loss.
    pub slope: Figure<Decimal>,
}

/// Precision at one level of loss.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PrecisionLevel {
    /// The loss, %.
    pub loss_percent: Figure<Decimal>,
    /// Coefficient of variation, % of the mean.
    pub coefficient_of_variation_percent: Figure<Decimal>,
    /// Acceptable difference of two results, % of their mean.
    pub difference_percent_of_mean: Figure<Decimal>,
}

/// How often something is to be proved.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Interval {
    /// What is proved, in the words of the procedures: `speed`, `balance`, `sieves`.
    pub of: String,
    /// Months between two proofs.
    pub months: Figure<u32>,
}

/// A grading: which fractions make a specimen, and how long it runs.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Grading {
    /// Short name within the method: `19.0`.
    pub name: String,
    /// When it applies, in words.
    pub applies: Figure<String>,
    /// The nominal maximum size from which it applies, mm.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub nominal_maximum_mm: Option<Figure<Decimal>>,
    /// The balls for one jar, g; absent when the method runs without.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub charge_g: Option<Toleranced>,
    /// How many balls that is, where the method counts them.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub balls: Option<Figure<u32>>,
    /// Revolutions of the jar or drum; absent where nothing turns.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub revolutions: Option<Toleranced>,
    /// Length of the run at the nominal speed, min; absent when only the count ends a run.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub minutes: Option<Toleranced>,
    /// The fractions, coarsest first; none where the specimen is taken as it is.
    #[serde(default, rename = "fraction", skip_serializing_if = "Vec::is_empty")]
    pub fractions: Vec<Fraction>,
}

/// One fraction of a grading.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Fraction {
    /// The sieve it passes, mm.
    pub passing_mm: Figure<Decimal>,
    /// The sieve it is retained on, mm.
    pub retained_mm: Figure<Decimal>,
    /// How much of it, g; without a tolerance only the specimen's total is limited.
    pub mass_g: Toleranced,
}
