//! What happens to a ball charge between its runs.

use super::Deviation;
use crate::code::ItemCode;
use serde::{Deserialize, Serialize};
use stonewear_measure::Decimal;

/// What was done to a charge.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum ChargeChange {
    /// Balls were added.
    Added,
    /// Balls were taken out.
    Removed,
    /// All balls are new.
    Renewed,
}

impl ChargeChange {
    /// Every change.
    pub const ALL: [Self; 3] = [Self::Added, Self::Removed, Self::Renewed];

    /// As requests and the journal write it.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Added => "added",
            Self::Removed => "removed",
            Self::Renewed => "renewed",
        }
    }

    /// In words.
    pub fn in_words(self) -> &'static str {
        match self {
            Self::Added => "balls added",
            Self::Removed => "balls taken out",
            Self::Renewed => "charge renewed",
        }
    }
}

/// Balls of a charge were added, taken out or renewed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ChargeChanged {
    /// The ball charge.
    pub charge: ItemCode,
    /// What was done.
    pub change: ChargeChange,
    /// Mass of the whole charge before, g.
    pub before_g: Decimal,
    /// What was typed or printed for this mass, where that was not a number of grams.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub before_as_read: String,
    /// Mass of the whole charge after, g.
    pub after_g: Decimal,
    /// What was typed or printed for this mass, where that was not a number of grams.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub after_as_read: String,
    /// How many balls were added or taken out, or are in the new charge.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub balls: Option<u32>,
    /// The balance.
    pub balance: ItemCode,
    /// Why.
    pub reason: String,
    /// Departures that somebody answers for.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub deviations: Vec<Deviation>,
}

impl ChargeChanged {
    /// What was done, in words: `9 balls added, 4994.8 g to 5001.2 g`.
    pub fn in_words(&self) -> String {
        let what = match (self.change, self.balls) {
            (ChargeChange::Added, Some(1)) => "1 ball added".to_owned(),
            (ChargeChange::Removed, Some(1)) => "1 ball taken out".to_owned(),
            (ChargeChange::Renewed, Some(balls)) => format!("charge renewed, {balls} balls"),
            (change, Some(balls)) => format!("{balls} {}", change.in_words()),
            (change, None) => change.in_words().to_owned(),
        };
        format!("{what}, {} g to {} g", self.before_g, self.after_g)
    }
}
