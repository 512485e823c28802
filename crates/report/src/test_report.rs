//! The test report: one result of one sample, with all that ISO/IEC 17025:2017 clause 7.8.2.1
//! asks to be on it.

use crate::{
    Amendment, Authorisation, Decision, Deviation, Doubt, EvidenceLink, JournalAnchor, Laboratory,
    Mark, PaperSize, Specimen, Uncertainty, UnconfirmedFigure, WorkedLine,
};
use serde::{Deserialize, Serialize};

/// Everything that a test report says.
///
/// An empty text or list was not recorded. Where the clause asks for it the paper says so;
/// elsewhere it stays silent. [`TestReport::gaps`] names what a complete report would still need.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct TestReport {
    /// Language of the texts, a BCP 47 primary tag such as `en`.
    pub language: String,
    /// The sheet to print on.
    pub paper: PaperSize,
    /// True when the data is invented: the paper then says so in a band that cannot be missed.
    pub invented: bool,
    /// The report's number, unique in the laboratory.
    pub number: String,
    /// What the paper is, as a heading.
    pub title: String,
    /// When it was issued, or made if it is a draft: RFC 3339 in UTC to the second, such as
    /// `2026-03-18T14:05:00Z`. Goes into the file's own properties and may not be blank; the date
    /// that is read on paper is [`Dates::issued`].
    pub issued_at: String,
    /// Who issues it.
    pub laboratory: Laboratory,
    /// For whom.
    pub customer: Customer,
    /// Project or contract, or empty.
    pub project: String,
    /// What was done.
    pub method: MethodName,
    /// To what.
    pub sample: SampleFacts,
    /// When.
    pub dates: Dates,
    /// The number that all this is about.
    pub loss: ReportedLoss,
    /// How it was come by, a specimen each.
    pub specimens: Vec<Specimen>,
    /// Departures from the method.
    pub deviations: Vec<Deviation>,
    /// What is in doubt.
    pub doubts: Vec<Doubt>,
    /// What this report changes in earlier ones.
    pub amendments: Vec<Amendment>,
    /// Figures of the method that the laboratory has not confirmed.
    pub unconfirmed: Vec<UnconfirmedFigure>,
    /// What is known of the method's precision at this level, or empty.
    pub precision: String,
    /// How the result agrees with what else is known of its sample, a sentence each pair of losses.
    #[serde(default)]
    pub agreement: Vec<String>,
    /// What the person who released it wanted the report to say, or empty.
    #[serde(default)]
    pub remark: String,
    /// What the customer stated and the laboratory did not observe, in a sentence, or empty.
    #[serde(default)]
    pub stated: String,
    /// What was done by others than the laboratory, and by whom.
    pub external: Vec<String>,
    /// What the result stands on, from the result back.
    pub evidence: Vec<EvidenceLink>,
    /// Files kept with what the result stands on.
    pub files: Vec<AttachedFile>,
    /// Who released it; without it the paper is a draft and says so.
    pub authorised: Option<Authorisation>,
    /// Whether this is a copy for checking, made before the report is issued; it says so.
    #[serde(default)]
    pub before_issue: bool,
    /// Where the journal stood.
    pub anchor: Option<JournalAnchor>,
    /// The fingerprint of what the report says, where it was made from a journal.
    #[serde(default)]
    pub mark: Option<Mark>,
}

/// A file that is kept with what the result stands on.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct AttachedFile {
    /// What it belongs to, such as a specimen's code.
    pub of: String,
    /// What it is called.
    pub name: String,
    /// SHA-256 of its bytes, 64 hexadecimal digits.
    pub sha256: String,
}

/// For whom the work was done.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Customer {
    /// Name.
    pub name: String,
    /// Address, a line each.
    pub address: Vec<String>,
    /// The customer's own reference, or empty.
    pub reference: String,
}

/// The method in one edition.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct MethodName {
    /// Designation, such as `ASTM D6928`.
    pub designation: String,
    /// Edition, such as `2017`.
    pub edition: String,
    /// What it is about, in plain words.
    pub title: String,
}

/// What was received.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct SampleFacts {
    /// Its code in the laboratory.
    pub code: String,
    /// Quarry, pit or stockpile it comes from.
    pub source: String,
    /// What it is.
    pub material: String,
    /// What it is meant for, or empty.
    pub intended_use: String,
    /// In what condition it arrived.
    pub condition: String,
    /// By whom and by which plan it was taken, or empty.
    pub sampling: String,
}

/// Days as they are to be printed.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Dates {
    /// The sample was taken.
    pub sampled: String,
    /// The sample came in.
    pub received: String,
    /// The test was done.
    pub tested: String,
    /// The report was issued.
    pub issued: String,
}

/// The reported value with everything said about it.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct ReportedLoss {
    /// What the number is: `Loss in wet attrition`.
    pub name: String,
    /// The value as reported.
    pub value: String,
    /// Its unit, or empty for a bare coefficient.
    pub unit: String,
    /// From the formula to the value.
    pub working: Vec<WorkedLine>,
    /// How uncertain it is.
    pub uncertainty: Option<Uncertainty>,
    /// What was decided on it, when a limit was given.
    pub decision: Option<Decision>,
}
