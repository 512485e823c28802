//! Facts of designed studies: what was planned, which specimen or value belongs to which run of the
//! plan, what a person concluded.

use super::Deviation;
use crate::code::{ItemCode, SampleCode, SpecimenCode, StudyCode};
use serde::{Deserialize, Serialize};
use stonewear_measure::Decimal;
use stonewear_method::MethodId;

/// What a study asks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Question {
    /// Are the levels of the factors the same?
    Same,
    /// Do two levels agree within a margin?
    Equivalent,
    /// Does it find the reference value within a margin?
    Reference,
}

/// How a study is laid out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Design {
    /// Three factors of equally many levels, each level of one with each of the others once.
    LatinSquare,
    /// Every level once in every block.
    RandomizedBlocks,
    /// Every combination of levels, as often as each other.
    Crossed,
    /// The levels of one factor, as often as each other.
    OneWay,
    /// Two levels.
    TwoSamples,
    /// One set of results against a value.
    OneSample,
    /// The levels of the second factor lie within those of the first.
    Nested,
}

/// A factor of a study: what may make a difference, and is varied on purpose.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct StudyFactor {
    /// Its name: `position`, `jar`, `charge`, `operator`, `machine`, `turning`, or another.
    pub name: String,
    /// Its levels, as the plan names them.
    pub levels: Vec<String>,
}

/// One run of a plan.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PlannedRun {
    /// Its place in the order of the runs, from 1.
    pub run: u32,
    /// The level of each factor, in the order of the factors.
    pub levels: Vec<String>,
    /// Which repetition of the design it belongs to, from 1.
    pub repetition: u32,
}

/// What a study is planned with. Figures are decimals, rounded for their purpose.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct StudyFigures {
    /// The difference that is to be seen, or the margin within which there has to be agreement, in
    /// the unit of the study.
    pub difference: Decimal,
    /// Where a margin comes from.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub difference_source: String,
    /// How far the truth is expected to lie from no difference, where agreement is asked for.
    #[serde(default)]
    pub expected_difference: Decimal,
    /// Probability that is wanted of seeing it, %.
    pub power_percent: Decimal,
    /// Confidence of the statements, %.
    pub confidence_percent: Decimal,
    /// Standard deviation of single results, in the unit of the study; absent where the values came
    /// along, and it was not needed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub deviation: Option<Decimal>,
    /// Where it comes from, and how sure it is.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub deviation_source: String,
    /// The reference value, where one is asked about.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reference_value: Option<Decimal>,
    /// Its standard uncertainty.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reference_uncertainty: Option<Decimal>,
    /// Where it comes from.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub reference_source: String,
    /// The power that the plan has, %, to two decimals.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub planned_power_percent: Option<Decimal>,
    /// The difference that the plan sees with the wanted power; absent where agreement is asked for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub planned_difference: Option<Decimal>,
    /// How many runs the wanted power needs by this design; absent where no number in reach gives it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub runs_needed: Option<u32>,
}

/// A study was planned.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct StudyPlanned {
    /// The study.
    pub study: StudyCode,
    /// What it is called.
    pub title: String,
    /// What it asks.
    pub question: Question,
    /// How it is laid out.
    pub design: Design,
    /// Why so, in words.
    pub why: Vec<String>,
    /// The item that it is about, if it is about one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub item: Option<ItemCode>,
    /// The method of its runs.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub method: Option<MethodId>,
    /// The material of its runs.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sample: Option<SampleCode>,
    /// The unit of its values.
    pub unit: String,
    /// Its factors; the first is the one in question.
    pub factors: Vec<StudyFactor>,
    /// Its runs, in their order.
    pub runs: Vec<PlannedRun>,
    /// The figures that it is planned with.
    pub figures: StudyFigures,
    /// What the randomisation came from; absent where the runs came as they had been carried out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub seed: Option<u64>,
    /// The document that the runs came from, where they had been carried out.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub document: String,
}

/// A specimen was made the run of a plan.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct StudyRunAssigned {
    /// The study.
    pub study: StudyCode,
    /// The run of its plan.
    pub run: u32,
    /// The specimen.
    pub specimen: SpecimenCode,
    /// Why it replaces another, if it does.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub reason: String,
    /// Departures from the plan that somebody answers for.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub deviations: Vec<Deviation>,
}

/// Values came from a file.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct StudyValuesImported {
    /// The study.
    pub study: StudyCode,
    /// The values.
    pub values: Vec<ImportedValue>,
    /// The document that they come from.
    pub document: String,
    /// Why they replace others, if they do.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub reason: String,
}

/// The value of one run, from a file.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ImportedValue {
    /// The run of the plan.
    pub run: u32,
    /// The value, in the unit of the study.
    pub value: Decimal,
}

/// A person concluded a study, or withdrew it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct StudyConcluded {
    /// The study.
    pub study: StudyCode,
    /// Whether it was withdrawn without a conclusion.
    #[serde(default)]
    pub withdrawn: bool,
    /// What the analysis says, sentence by sentence.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub verdict: Vec<String>,
    /// The figures that it rests on.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub figures: Vec<StudyFigure>,
    /// What the person adds: what follows from it.
    pub remark: String,
    /// Departures that somebody answers for.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub deviations: Vec<Deviation>,
}

/// A figure of a conclusion, as decimal text.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct StudyFigure {
    /// What it is.
    pub name: String,
    /// The figure.
    pub value: Decimal,
    /// Its unit; empty where it has none.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub unit: String,
}

impl Question {
    /// All questions, with what each asks.
    pub const ALL: [(Self, &'static str, &'static str); 3] = [
        (Self::Same, "same", "Are they the same?"),
        (Self::Equivalent, "equivalent", "Do two agree within a margin?"),
        (Self::Reference, "reference", "Does it find the reference value?"),
    ];

    /// The name that is typed.
    pub fn name(self) -> &'static str {
        Self::ALL.iter().find(|(one, ..)| *one == self).map_or("", |(_, name, _)| name)
    }

    /// What it asks, in words.
    pub fn in_words(self) -> &'static str {
        Self::ALL.iter().find(|(one, ..)| *one == self).map_or("", |(.., words)| words)
    }
}

impl Design {
    /// In words.
    pub fn in_words(self) -> &'static str {
        match self {
            Self::LatinSquare => "Latin square",
            Self::RandomizedBlocks => "randomised complete blocks",
            Self::Crossed => "crossed factors",
            Self::OneWay => "one factor, completely randomised",
            Self::TwoSamples => "two samples",
            Self::OneSample => "one sample against a value",
            Self::Nested => "nested",
        }
    }
}
