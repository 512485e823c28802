//! What a result stands on, link by link.

use serde::{Deserialize, Serialize};

/// One link of the evidence line.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct EvidenceLink {
    /// What it is: `Apparatus`, `Jar`, `Balance`, `Person`.
    pub kind: String,
    /// Its code in the laboratory.
    pub code: String,
    /// Its name, or empty when the code says all.
    pub name: String,
    /// Its state in words at the time of the test: `in service`, `held`.
    pub state: String,
    /// Whether it was proved.
    pub standing: Standing,
}

/// Whether a link held when the result stood on it. Dates are as they are to be printed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "is", rename_all = "kebab-case")]
pub enum Standing {
    /// A fact that needs no proof of its own, such as a sample.
    Recorded {
        /// When it was recorded.
        on: String,
    },
    /// Proved by a check.
    Proved {
        /// Since when.
        since: String,
        /// Until when, or open.
        until: Option<String>,
    },
    /// Not proved: the line is broken here.
    NotProved {
        /// Why, in words.
        why: String,
    },
}

impl Standing {
    /// True where the evidence line is broken.
    pub fn is_broken(&self) -> bool {
        matches!(self, Self::NotProved { .. })
    }
}
