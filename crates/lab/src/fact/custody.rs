//! What becomes of a sample, and who has it.

use crate::code::PersonCode;
use serde::{Deserialize, Serialize};

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
