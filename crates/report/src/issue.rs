//! Who issues a paper, on what sheet, and how it is tied to the journal.

use serde::{Deserialize, Serialize};

/// The sheet a paper is made for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum PaperSize {
    /// 210 mm × 297 mm.
    #[default]
    A4,
    /// 8.5 in × 11 in.
    Letter,
}

/// The laboratory that answers for the paper.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Laboratory {
    /// Its name.
    pub name: String,
    /// Its postal address, a line each.
    pub address: Vec<String>,
    /// Where the work was done, when that is not the address.
    pub place_of_work: Option<String>,
    /// How it is reached, a line each.
    #[serde(default)]
    pub contact: Vec<String>,
    /// What it says of its accreditation, as it was typed; may be empty.
    #[serde(default)]
    pub accreditation: String,
    /// The limits of what its papers claim, in its own words; may be empty.
    #[serde(default)]
    pub limits: String,
    /// Its logo.
    #[serde(default)]
    pub logo: Option<Logo>,
}

/// A small picture at the head of a paper.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Logo {
    /// Its kind: `image/png`, `image/jpeg`, `image/svg+xml`.
    pub media_type: String,
    /// Its bytes in Base64.
    pub base64: String,
}

/// The person who released the paper.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Authorisation {
    /// Full name.
    pub name: String,
    /// What the person is in the laboratory.
    pub role: String,
    /// When it was released, as it is to be printed.
    pub at: String,
}

/// Where the journal stood when the paper was issued: whoever holds the journal can find the very
/// facts that the paper stands on, and see that nothing before them was changed.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct JournalAnchor {
    /// Position of the last fact.
    pub position: u64,
    /// Hash of that fact, hexadecimal.
    pub head: String,
}

/// What this paper changes in an earlier one (ISO/IEC 17025:2017, 7.8.8).
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Amendment {
    /// Number of the report that this one replaces.
    pub replaces: String,
    /// What was changed.
    pub what: String,
    /// Why.
    pub reason: String,
    /// Who changed it.
    pub who: String,
    /// When, as it is to be printed.
    pub at: String,
}
