//! The nominal maximum size. Published definitions disagree, so the one that is used is a named
//! choice of the laboratory, recorded and printed with every size.

use crate::analysis::{Line, SieveAnalysis};
use crate::sieve::Sieve;
use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;
use stonewear_measure::{Decimal, Exact};
use stonewear_method::Confidence;
use thiserror::Error;

/// Which published definition is followed.
///
/// Some of them speak of what a *specification* allows to be retained. An analysis does not hold
/// the specification, so they are read here as what *was* retained; that reading is derived.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Definition {
    /// One sieve above the first that retains more than 10 %, cumulative (WAQTC T 255).
    #[default]
    #[serde(rename = "one-above-10-percent")]
    OneAbove10Percent,
    /// The largest sieve on which more than 1 % is retained (WSDOT T 265).
    #[serde(rename = "more-than-1-percent")]
    MoreThan1Percent,
    /// The finest sieve that retains at most 5 % (WSDOT T 265, for very open specifications).
    #[serde(rename = "at-most-5-percent")]
    AtMost5Percent,
    /// The smallest sieve through which all of it passes (ASTM C125).
    AllPassing,
    /// The largest sieve on which anything is retained (a note of ASTM D6928).
    AnyRetained,
}

impl Definition {
    /// All of them, the default first.
    pub const ALL: [Self; 5] = [
        Self::OneAbove10Percent,
        Self::MoreThan1Percent,
        Self::AtMost5Percent,
        Self::AllPassing,
        Self::AnyRetained,
    ];

    /// Its name, as a command or a fact writes it.
    pub fn name(self) -> &'static str {
        match self {
            Self::OneAbove10Percent => "one-above-10-percent",
            Self::MoreThan1Percent => "more-than-1-percent",
            Self::AtMost5Percent => "at-most-5-percent",
            Self::AllPassing => "all-passing",
            Self::AnyRetained => "any-retained",
        }
    }

    /// The definition in words, to follow “the nominal maximum size is”.
    pub fn in_words(self) -> &'static str {
        match self {
            Self::OneAbove10Percent => {
                "one sieve above the first that retains more than 10 % (cumulative)"
            }
            Self::MoreThan1Percent => "the largest sieve on which more than 1 % is retained",
            Self::AtMost5Percent => "the finest sieve that retains at most 5 % (cumulative)",
            Self::AllPassing => "the smallest sieve through which all of it passes",
            Self::AnyRetained => "the largest sieve on which anything is retained",
        }
    }

    /// Where it is written.
    pub fn source(self) -> &'static str {
        match self {
            Self::OneAbove10Percent => "WAQTC field operating procedure for T 255, table 1",
            Self::MoreThan1Percent | Self::AtMost5Percent => {
                "WSDOT test procedure for T 265, table 1"
            }
            Self::AllPassing => "ASTM C125",
            Self::AnyRetained => "ASTM D6928, note",
        }
    }

    /// How sure the definition is. For the two of WSDOT the words were seen; that they are read
    /// on an analysis instead of a specification is derived.
    pub fn confidence(self) -> Confidence {
        match self {
            Self::OneAbove10Percent => Confidence::Seen,
            Self::MoreThan1Percent | Self::AtMost5Percent => Confidence::Derived,
            Self::AllPassing | Self::AnyRetained => Confidence::Memory,
        }
    }

    /// The cumulative share at which the definition looks, %, and whether it takes the sieve
    /// above the first that retains more than it, or that sieve itself.
    fn rule(self) -> (Decimal, bool) {
        match self {
            Self::OneAbove10Percent => (Decimal::TEN, true),
            Self::MoreThan1Percent => (Decimal::ONE, false),
            Self::AtMost5Percent => (Decimal::from_parts(5, 0, 0, false, 0), true),
            Self::AllPassing => (Decimal::ZERO, true),
            Self::AnyRetained => (Decimal::ZERO, false),
        }
    }

    /// The nominal maximum size of an analysis.
    ///
    /// # Errors
    /// In words, when the sieve that is meant may lie outside the sieves of the analysis: the
    /// coarsest already retains more than the definition looks for, or no sieve does.
    pub fn of(self, analysis: &SieveAnalysis) -> Result<Sieve, String> {
        let (percent, one_above) = self.rule();
        let lines = analysis.lines();
        let above = |line: &Line| line.cumulative_percent > Exact::from(percent);
        let (Some(coarsest), Some(finest)) = (lines.first(), lines.last()) else {
            return Err("there is no sieve".to_owned());
        };
        if above(coarsest) {
            return Err(format!(
                "the coarsest sieve, {}, already retains more than {percent} %; sieve over a coarser one as well",
                coarsest.sieve
            ));
        }
        let around = lines.array_windows().find(|[_, line]| above(line));
        let found =
            around.map(|[coarser, line]| if one_above { coarser.sieve } else { line.sieve });
        found.ok_or_else(|| {
            format!(
                "no sieve down to {} retains more than {percent} %; sieve over a finer one as well",
                finest.sieve
            )
        })
    }
}

impl fmt::Display for Definition {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

/// A text that names no definition.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("“{typed}” is not a definition of the nominal maximum size; write {}", names())]
pub struct UnknownDefinition {
    typed: String,
}

fn names() -> String {
    Definition::ALL.map(Definition::name).join(", ")
}

impl FromStr for Definition {
    type Err = UnknownDefinition;
    fn from_str(text: &str) -> Result<Self, UnknownDefinition> {
        Self::ALL
            .into_iter()
            .find(|definition| definition.name() == text)
            .ok_or_else(|| UnknownDefinition { typed: text.to_owned() })
    }
}
