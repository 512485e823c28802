//! What becomes of a sample, who has it, and what others found of it.

use crate::code::{PersonCode, SampleCode};
use serde::{Deserialize, Serialize};
use stonewear_measure::Decimal;
use stonewear_method::MethodId;

/// A sample, or a part of it, went into other hands, to another place, or out of the laboratory.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct SampleHandedOver {
    /// The sample.
    pub sample: SampleCode,
    /// What became of it.
    pub step: CustodyStep,
    /// Who has it, or the part split off, now; absent where it stayed in the same hands.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub to: Option<Holder>,
    /// Where it is kept now.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub place: String,
    /// Its condition, where that matters.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub condition: String,
    /// How it was split, why it was returned or disposed of, or anything worth keeping.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub note: String,
}

/// What another laboratory found on its part of a split sample.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct OutsideResultRecorded {
    /// The sample.
    pub sample: SampleCode,
    /// By which method.
    pub method: MethodId,
    /// Which laboratory.
    pub laboratory: String,
    /// The loss that it reported, %.
    pub loss_percent: Decimal,
    /// The document that says so.
    pub document: String,
    /// Why it replaces what was recorded before of this document, if it does.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub reason: String,
}

/// What became of a sample.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum CustodyStep {
    /// It went into other hands.
    HandedOver,
    /// It was put into its place.
    Stored,
    /// A part of it went into other hands or to another place; the rest stayed.
    Split,
    /// It left the laboratory.
    Returned,
    /// It is no more.
    Disposed,
}

impl CustodyStep {
    /// All of them, in the order in which they usually come.
    pub const ALL: [Self; 5] =
        [Self::HandedOver, Self::Stored, Self::Split, Self::Returned, Self::Disposed];

    /// The name that requests give it.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::HandedOver => "handed-over",
            Self::Stored => "stored",
            Self::Split => "split",
            Self::Returned => "returned",
            Self::Disposed => "disposed",
        }
    }

    /// In words, to follow “was”.
    pub fn in_words(self) -> &'static str {
        match self {
            Self::HandedOver => "handed over",
            Self::Stored => "stored",
            Self::Split => "split",
            Self::Returned => "returned",
            Self::Disposed => "disposed of",
        }
    }

    /// Whether nothing is left here afterwards.
    pub fn is_the_last(self) -> bool {
        matches!(self, Self::Returned | Self::Disposed)
    }
}

/// Who has a sample.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Holder {
    /// Somebody of the laboratory.
    Person(PersonCode),
    /// Somebody else, by name.
    Outside(String),
}

impl std::fmt::Display for Holder {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Person(code) => f.write_str(code.as_str()),
            Self::Outside(name) => f.write_str(name),
        }
    }
}
