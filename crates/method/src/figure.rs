//! A number of a method with its source and how sure we are of it.

use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;
use stonewear_measure::{Decimal, Limits};
use thiserror::Error;

/// How sure we are of a number.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Confidence {
    /// Read in the source that is named.
    Seen,
    /// Remembered, not confirmed against the document.
    Memory,
    /// Common practice, no published source.
    Practice,
    /// Worked out here from other numbers.
    Derived,
    /// Compared by the laboratory with its own copy of the document.
    Confirmed,
}

impl Confidence {
    /// True when page and paper need not warn about the number.
    pub fn is_sure(self) -> bool {
        matches!(self, Self::Seen | Self::Confirmed)
    }

    /// The less sure of both: what rests on two figures is as sure as the weaker.
    #[must_use]
    pub fn less_sure(self, other: Self) -> Self {
        let rank = |one: Self| CONFIDENCES.iter().position(|listed| *listed == one);
        if rank(self) >= rank(other) { self } else { other }
    }

    /// In words, as page and paper say it.
    pub fn in_words(self) -> &'static str {
        match self {
            Self::Seen => "seen in the source",
            Self::Memory => "from memory, unconfirmed",
            Self::Practice => "common practice, no published source",
            Self::Derived => "derived here, not published",
            Self::Confirmed => "confirmed by the laboratory",
        }
    }
}

/// Words that a file writes for a confidence, surest first.
const CONFIDENCES: [Confidence; 5] = [
    Confidence::Seen,
    Confidence::Confirmed,
    Confidence::Derived,
    Confidence::Practice,
    Confidence::Memory,
];

/// A text that names no confidence.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("“{0}” is not a confidence; write seen, confirmed, derived, practice or memory")]
pub struct UnknownConfidence(String);

impl FromStr for Confidence {
    type Err = UnknownConfidence;
    fn from_str(text: &str) -> Result<Self, UnknownConfidence> {
        CONFIDENCES
            .into_iter()
            .find(|confidence| confidence.to_string() == text)
            .ok_or_else(|| UnknownConfidence(text.to_owned()))
    }
}

impl fmt::Display for Confidence {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Seen => "seen",
            Self::Memory => "memory",
            Self::Practice => "practice",
            Self::Derived => "derived",
            Self::Confirmed => "confirmed",
        })
    }
}

/// A number (or a rule) of a method, where it comes from, and how sure we are of it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Figure<T> {
    /// The value itself.
    pub value: T,
    /// How sure we are of it.
    pub confidence: Confidence,
    /// Keys of the method's `sources`, separated by commas; never empty for `seen`.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub source: String,
    /// What a reader should know, such as that sources disagree.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
}

impl<T> Figure<T> {
    /// The source keys, one by one.
    pub fn source_keys(&self) -> impl Iterator<Item = &str> {
        self.source.split(',').map(str::trim).filter(|key| !key.is_empty())
    }
}

/// A nominal value with the tolerance that the method gives it, each with its own source.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Toleranced {
    /// The value to aim at.
    pub nominal: Figure<Decimal>,
    /// How far from it is allowed, both ways; absent when no source gives one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tolerance: Option<Figure<Decimal>>,
}

impl Toleranced {
    /// The limits that follow; without a tolerance, none.
    pub fn limits(&self) -> Limits {
        match &self.tolerance {
            Some(tolerance) => Limits::around(self.nominal.value, tolerance.value),
            None => Limits::default(),
        }
    }
}

/// `1500 ± 5`, or `1500` where no tolerance is known.
impl fmt::Display for Toleranced {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match &self.tolerance {
            Some(tolerance) => write!(f, "{} ± {}", self.nominal.value, tolerance.value),
            None => write!(f, "{}", self.nominal.value),
        }
    }
}
