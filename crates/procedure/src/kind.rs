//! The kinds of equipment that a wet-attrition laboratory keeps.

use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;
use thiserror::Error;

/// What an item is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum ItemKind {
    /// The jar-rolling machine.
    Apparatus,
    /// A jar with its lid.
    Jar,
    /// A charge of steel balls kept together.
    BallCharge,
    /// A balance.
    Balance,
    /// A drying oven.
    Oven,
    /// A test sieve.
    Sieve,
    /// A thermometer.
    Thermometer,
    /// A stopwatch.
    Stopwatch,
    /// A tachometer.
    Tachometer,
    /// A caliper.
    Caliper,
    /// A steel drum that turns stone and balls, dry.
    Drum,
    /// A bath of a salt solution.
    Bath,
}

impl ItemKind {
    /// Every kind, in the order in which they are listed.
    pub const ALL: [Self; 12] = [
        Self::Apparatus,
        Self::Jar,
        Self::BallCharge,
        Self::Balance,
        Self::Oven,
        Self::Sieve,
        Self::Thermometer,
        Self::Stopwatch,
        Self::Tachometer,
        Self::Caliper,
        Self::Drum,
        Self::Bath,
    ];

    /// The unit that an instrument of this kind reads; `None` for what shows no numbers.
    pub fn unit_read(self) -> Option<&'static str> {
        match self {
            Self::Balance => Some("g"),
            Self::Oven | Self::Thermometer => Some("°C"),
            Self::Stopwatch => Some("s"),
            Self::Tachometer => Some("rev/min"),
            Self::Caliper => Some("mm"),
            Self::Apparatus
            | Self::Jar
            | Self::BallCharge
            | Self::Sieve
            | Self::Drum
            | Self::Bath => None,
        }
    }

    /// The kind as requests, files and the journal write it: `ball-charge`.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Apparatus => "apparatus",
            Self::Jar => "jar",
            Self::BallCharge => "ball-charge",
            Self::Balance => "balance",
            Self::Oven => "oven",
            Self::Sieve => "sieve",
            Self::Thermometer => "thermometer",
            Self::Stopwatch => "stopwatch",
            Self::Tachometer => "tachometer",
            Self::Caliper => "caliper",
            Self::Drum => "drum",
            Self::Bath => "bath",
        }
    }

    /// The kind in words with its article: `an oven`.
    pub fn with_article(self) -> String {
        let words = self.in_words();
        let article = if words.starts_with(['a', 'e', 'i', 'o', 'u']) { "an" } else { "a" };
        format!("{article} {words}")
    }

    /// Several of the kind in words: `ball charges`.
    pub fn plural(self) -> &'static str {
        match self {
            Self::Apparatus => "apparatus",
            Self::Jar => "jars",
            Self::BallCharge => "ball charges",
            Self::Balance => "balances",
            Self::Oven => "ovens",
            Self::Sieve => "sieves",
            Self::Thermometer => "thermometers",
            Self::Stopwatch => "stopwatches",
            Self::Tachometer => "tachometers",
            Self::Caliper => "calipers",
            Self::Drum => "drums",
            Self::Bath => "solution baths",
        }
    }

    /// The kind in words: `ball charge`.
    pub fn in_words(self) -> &'static str {
        match self {
            Self::BallCharge => "ball charge",
            Self::Bath => "solution bath",
            other => other.as_str(),
        }
    }
}

impl fmt::Display for ItemKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.as_str())
    }
}

/// A text that names no kind of item.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("“{0}” is not a kind of item; write {list}", list = ItemKind::ALL.map(ItemKind::as_str).join(", "))]
pub struct UnknownKind(String);

impl FromStr for ItemKind {
    type Err = UnknownKind;
    fn from_str(text: &str) -> Result<Self, UnknownKind> {
        Self::ALL
            .into_iter()
            .find(|kind| kind.as_str() == text)
            .ok_or_else(|| UnknownKind(text.to_owned()))
    }
}
