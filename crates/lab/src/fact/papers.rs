//! What left the laboratory on paper, and under which letterhead.

use crate::code::ResultCode;
use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;

/// A fact about papers. In JSON it carries its name as `step`.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "step", rename_all = "kebab-case")]
pub enum PaperFact {
    /// A paper was issued: from now on it is what the laboratory said.
    Issued(PaperIssued),
    /// The letterhead of the papers was set.
    LetterheadSet(Box<LetterheadSet>),
}

/// The kinds of papers that are issued.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum PaperKind {
    /// One result.
    TestReport,
    /// All released results of a project.
    ProjectReport,
}

impl PaperKind {
    /// All of them.
    pub const ALL: [Self; 2] = [Self::TestReport, Self::ProjectReport];

    /// The name in data and on the command line.
    pub fn name(self) -> &'static str {
        match self {
            Self::TestReport => "test-report",
            Self::ProjectReport => "project-report",
        }
    }

    /// What people call it.
    pub fn in_words(self) -> &'static str {
        match self {
            Self::TestReport => "test report",
            Self::ProjectReport => "report of a project",
        }
    }
}

impl FromStr for PaperKind {
    type Err = ();

    fn from_str(typed: &str) -> Result<Self, ()> {
        Self::ALL.into_iter().find(|kind| kind.name() == typed).ok_or(())
    }
}

impl fmt::Display for PaperKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

/// A paper was issued. Its file is kept beside the journal, under its hash.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PaperIssued {
    /// What it is.
    pub paper: PaperKind,
    /// What it is about: the code of a result, the name of a project.
    pub of: String,
    /// Its number, which no other paper has.
    pub number: String,
    /// The results that it reports, each in the version that it reports.
    pub covers: Vec<CoveredResult>,
    /// SHA-256 of what it says, 64 hexadecimal digits in lower case.
    pub fingerprint: String,
    /// The place in the journal up to which it was made.
    pub made_at: u64,
    /// SHA-256 of its file, 64 hexadecimal digits in lower case.
    pub sha256: String,
    /// How large the file is, in bytes.
    pub bytes: u64,
    /// The number of the paper that it replaces, if it does.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub replaces: Option<String>,
    /// Why it replaces that one.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub reason: String,
    /// In which language it is.
    #[serde(default, skip_serializing_if = "PaperLanguage::is_english")]
    pub language: PaperLanguage,
}

/// A result in one version.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct CoveredResult {
    /// The result.
    pub result: ResultCode,
    /// Its version, from 1.
    pub version: usize,
}

/// What stands at the head and the foot of the laboratory's papers.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct LetterheadSet {
    /// Lines of the address; where there are none, the address of the founding stands.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub address: Vec<String>,
    /// How the laboratory is reached: telephone, mail, a line each.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub contact: Vec<String>,
    /// Where the work is done, when that is not the address.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub place_of_work: String,
    /// What the laboratory says of its accreditation, as it was typed.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub accreditation: String,
    /// The limits of what a paper claims; where nothing is said, the usual sentence stands.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub limits: String,
    /// What the papers are printed on.
    pub sheet: SheetSize,
    /// The language of the papers, where nothing else is asked for.
    #[serde(default, skip_serializing_if = "PaperLanguage::is_english")]
    pub language: PaperLanguage,
    /// The address of the laboratory's page, for the square codes: `http://bench:7007`.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub page: String,
    /// The logo.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub logo: Option<Logo>,
}

/// What papers are printed on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum SheetSize {
    /// 210 mm × 297 mm.
    #[default]
    A4,
    /// 8.5 in × 11 in.
    Letter,
}

impl SheetSize {
    /// The name in data and on the command line.
    pub fn name(self) -> &'static str {
        match self {
            Self::A4 => "a4",
            Self::Letter => "letter",
        }
    }
}

/// The language of a paper.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum PaperLanguage {
    /// English.
    #[default]
    #[serde(rename = "en")]
    English,
    /// French.
    #[serde(rename = "fr")]
    French,
    /// Spanish.
    #[serde(rename = "es")]
    Spanish,
    /// German.
    #[serde(rename = "de")]
    German,
}

impl PaperLanguage {
    /// All, in the order in which they are offered.
    pub const ALL: [Self; 4] = [Self::English, Self::French, Self::Spanish, Self::German];

    /// Its tag (BCP 47).
    pub fn tag(self) -> &'static str {
        match self {
            Self::English => "en",
            Self::French => "fr",
            Self::Spanish => "es",
            Self::German => "de",
        }
    }

    /// Its name.
    pub fn in_words(self) -> &'static str {
        match self {
            Self::English => "English",
            Self::French => "French",
            Self::Spanish => "Spanish",
            Self::German => "German",
        }
    }

    fn is_english(&self) -> bool {
        *self == Self::English
    }
}

impl FromStr for PaperLanguage {
    type Err = String;

    fn from_str(typed: &str) -> Result<Self, Self::Err> {
        let tag = typed.trim().to_lowercase();
        Self::ALL.into_iter().find(|language| language.tag() == tag).ok_or_else(|| {
            format!("“{}” is no language of the papers; write en, fr, es or de", typed.trim())
        })
    }
}

/// A small picture. It is kept whole in the fact, so that a paper can be made from the journal
/// alone.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Logo {
    /// What the file was called.
    pub name: String,
    /// Its kind, as its content shows: `image/png`, `image/jpeg`, `image/svg+xml`.
    pub media_type: String,
    /// Its bytes in Base64 (RFC 4648, clause 4).
    pub base64: String,
}
