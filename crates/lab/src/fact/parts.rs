//! The parts that facts are made of.

use crate::code::{ItemCode, SpecimenCode};
use serde::{Deserialize, Serialize};
use stonewear_measure::Decimal;
use stonewear_method::Method;

/// A departure from a method or a rule of the laboratory, with the reason that a person gave.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Deviation {
    /// The rule departed from: `item-not-in-service`.
    pub rule: String,
    /// What departs.
    pub what: String,
    /// Why.
    pub reason: String,
}

/// What a person may do.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Right {
    /// Receive, make up, run, weigh; do checks.
    Test,
    /// Release results with their name.
    Release,
    /// Manage people, equipment and methods.
    Manage,
}

/// Where an item stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Standing {
    /// New: its checks are still to be passed.
    BeingProved,
    /// In use.
    InService,
    /// Not to be used until somebody has dealt with it.
    Held,
    /// Never to be used again.
    Retired,
}

impl Standing {
    /// In words, as page and paper say it.
    pub fn in_words(self) -> &'static str {
        match self {
            Self::BeingProved => "being proved",
            Self::InService => "in service",
            Self::Held => "held",
            Self::Retired => "retired",
        }
    }
}

/// What was seen or read in a step.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Seen {
    /// Whether it was as the step says.
    AsExpected(bool),
    /// The number that was read.
    Number(Decimal),
}

/// Which mass of a specimen was weighed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Weighing {
    /// A fraction, counted from 0, coarsest first.
    Fraction(usize),
    /// The specimen before the run.
    Before,
    /// What is kept on the method's sieve after it.
    After,
}

/// What lies at one position in a run.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Placed {
    /// Tier of the apparatus.
    pub tier: String,
    /// Position on the tier, from 1.
    pub position: u32,
    /// The specimen in the jar.
    pub specimen: SpecimenCode,
    /// The jar; none where the machine itself is the drum.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub jar: Option<ItemCode>,
    /// The ball charge, where the method uses one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub charge: Option<ItemCode>,
    /// Its mass, g.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub charge_g: Option<Decimal>,
    /// What was typed or printed for this mass, where that was not a number of grams.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub charge_as_read: String,
    /// How many balls that is, where the method counts them.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub charge_balls: Option<u32>,
    /// Water, L; none where the method runs dry.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub water_l: Option<Decimal>,
    /// How long the specimen soaked, h; none where the method runs dry.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub soaked_h: Option<Decimal>,
}

/// A value that a test gave beside its loss, or where it gives none.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PropertyValue {
    /// Its name in the method.
    pub name: String,
    /// What it is, in words.
    pub title: String,
    /// Its unit; empty where it has none.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub unit: String,
    /// The reported value.
    pub value: Decimal,
}

impl PropertyValue {
    /// What it is with its value: `absorption 1.0 %`.
    pub fn in_words(&self) -> String {
        format!("{} {} {}", self.title, self.value, self.unit).trim_end().to_owned()
    }
}

/// On the way to which of its two masses a specimen dries.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Stage {
    /// To the mass before the run.
    Before,
    /// To the mass after it.
    After,
}

/// A condition of a run that the loss follows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Condition {
    /// Revolutions of the jar.
    Revolutions,
    /// Mass of the ball charge.
    Charge,
    /// Temperature of the water.
    WaterTemperature,
    /// Volume of the water.
    WaterVolume,
}

impl Condition {
    /// Every condition.
    pub const ALL: [Self; 4] =
        [Self::Revolutions, Self::Charge, Self::WaterTemperature, Self::WaterVolume];

    /// As requests and the journal write it.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Revolutions => "revolutions",
            Self::Charge => "charge",
            Self::WaterTemperature => "water-temperature",
            Self::WaterVolume => "water-volume",
        }
    }

    /// What it is, in words.
    pub fn in_words(self) -> &'static str {
        match self {
            Self::Revolutions => "revolutions",
            Self::Charge => "ball charge",
            Self::WaterTemperature => "water",
            Self::WaterVolume => "water in the jar",
        }
    }

    /// Whether the tests by a method have this condition at all.
    pub fn is_of(self, method: &Method) -> bool {
        match self {
            Self::Revolutions => method.vessel.turns(),
            Self::Charge => method.gradings.iter().any(|grading| grading.charge_g.is_some()),
            Self::WaterTemperature | Self::WaterVolume => method.water.is_some(),
        }
    }

    /// What the sensitivity to it is per, in words.
    pub fn per(self) -> &'static str {
        match self {
            Self::Revolutions => "per 1 % more revolutions",
            Self::Charge => "per 1 % more charge",
            Self::WaterTemperature => "per 1 °C warmer water",
            Self::WaterVolume => "per 1 % more water",
        }
    }

    /// Its unit, as its levels are written.
    pub fn unit(self) -> &'static str {
        match self {
            Self::Revolutions => "revolutions",
            Self::Charge => "g",
            Self::WaterTemperature => "°C",
            Self::WaterVolume => "L",
        }
    }

    /// What its levels are called on an axis or over a column.
    pub fn level(self) -> &'static str {
        match self {
            Self::Revolutions => "revolutions",
            Self::Charge => "ball charge, g",
            Self::WaterTemperature => "water, °C",
            Self::WaterVolume => "water, L",
        }
    }

    /// Whether a sensitivity to it is per 1 % of it, not per unit.
    pub fn is_per_percent(self) -> bool {
        self != Self::WaterTemperature
    }
}

/// What of a sample is corrected; what is absent stays as it was.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct SampleChanges {
    /// Where the material comes from.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub source: Option<String>,
    /// Who asked for the test.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub client: Option<String>,
    /// For which works.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub project: Option<String>,
    /// What it is.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub material: Option<String>,
    /// What it is to be used for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub intended_use: Option<String>,
    /// The client's address.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub client_address: Option<String>,
    /// The client's own reference.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub client_reference: Option<String>,
    /// By which plan and method it was taken.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sampling_plan: Option<String>,
    /// Nominal maximum size, mm.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub nominal_maximum_mm: Option<Decimal>,
    /// Condition on arrival.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub condition: Option<String>,
    /// The most loss that is allowed, %.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub limit_percent: Option<Decimal>,
    /// The document that sets it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub limit_document: Option<String>,
    /// The method that the limit is for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub limit_method: Option<String>,
}

impl SampleChanges {
    /// Whether nothing is changed.
    pub fn is_empty(&self) -> bool {
        *self == Self::default()
    }
}
