//! Reference aggregate, control charts, investigations.

use super::Deviation;
use crate::code::{ImportCode, InvestigationCode, ItemCode, LotCode, ResultCode, SampleCode};
use jiff::civil::Date;
use serde::{Deserialize, Serialize};
use stonewear_measure::Decimal;
use stonewear_method::MethodId;

/// A lot of reference aggregate is known.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct LotRegistered {
    /// The code marked on its bin.
    pub lot: LotCode,
    /// What people call it.
    pub name: String,
    /// Where the material comes from.
    pub source: String,
    /// The method that it is tested by.
    pub method: MethodId,
    /// And the grading.
    pub grading: String,
    /// The value that a document gives it; absent where the laboratory finds its own.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub assigned: Option<AssignedValue>,
    /// How much of it there is, g.
    pub stock_g: Decimal,
    /// The day it arrived.
    pub received_on: Date,
}

/// A value that a document gives a lot.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct AssignedValue {
    /// The loss, %.
    pub loss_percent: Decimal,
    /// Its expanded uncertainty (k = 2), % loss.
    pub expanded_percent: Decimal,
    /// The document.
    pub document: String,
}

/// A sample belongs to a lot.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct SampleLinked {
    /// The sample.
    pub sample: SampleCode,
    /// Its lot.
    pub lot: LotCode,
    /// Why it is of another lot than was recorded before, if it is.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub reason: String,
}

/// What is left of a lot was weighed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct StockCounted {
    /// The lot.
    pub lot: LotCode,
    /// What is left, g.
    pub stock_g: Decimal,
    /// Why it is not what the specimens left.
    pub reason: String,
}

/// Past reference results were taken over from a table.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ReferenceImported {
    /// The import: `M26-001`. Its results are called `M26-001-1` and so on.
    pub import: String,
    /// Of which lot.
    pub lot: LotCode,
    /// On which apparatus they were found.
    pub apparatus: ItemCode,
    /// Where they come from.
    pub document: String,
    /// The results in the order of the table.
    pub results: Vec<ImportedResult>,
    /// The file of the past that they came from. What comes from there is history on the chart and
    /// is not judged.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub file: Option<ImportCode>,
}

/// A reference result that was found before the laboratory was kept here.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ImportedResult {
    /// The day.
    pub on: Date,
    /// The loss as it is written, %.
    pub loss_percent: Decimal,
    /// Who tested.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub operator: String,
    /// Anything that the table says of it.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub note: String,
    /// Number of its row in the file, where it came from one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub row: Option<u64>,
}

/// Where the centre of a chart comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum CentreFrom {
    /// The mean of the results.
    Mean,
    /// The value that a document gives the lot.
    Assigned,
    /// A number that somebody stated, with its document.
    Stated,
}

/// Where the standard deviation of a chart comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum SpreadFrom {
    /// The mean moving range of neighbours over d2.
    MovingRange,
    /// The ordinary standard deviation of the results.
    StandardDeviation,
    /// A number that somebody stated, with its document.
    Stated,
}

/// A result that was left out of a baseline.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Excluded {
    /// The result.
    pub point: String,
    /// Why.
    pub reason: String,
}

/// What a control chart is judged against was frozen.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct BaselineFrozen {
    /// The lot.
    pub lot: LotCode,
    /// The apparatus.
    pub apparatus: ItemCode,
    /// The results it stands on, oldest first; none where centre and spread are both stated.
    pub points: Vec<String>,
    /// Results of that time that were left out, each with its reason.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub excluded: Vec<Excluded>,
    /// The centre, % loss, rounded to four decimals.
    pub centre_percent: Decimal,
    /// Where it comes from.
    pub centre_from: CentreFrom,
    /// The standard deviation of single results, % loss, rounded to four decimals.
    pub sigma_percent: Decimal,
    /// Where it comes from.
    pub spread_from: SpreadFrom,
    /// The document of what was stated.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub document: String,
    /// On what grounds these results.
    pub reason: String,
    /// Departures that somebody answers for.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub deviations: Vec<Deviation>,
}

/// A new lot takes the place of an old one.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct LotTakenOver {
    /// The new lot.
    pub lot: LotCode,
    /// The old lot.
    pub replaces: LotCode,
    /// On which apparatus both were tested.
    pub apparatus: ItemCode,
    /// How many results of the old and of the new lot were compared.
    pub results: (usize, usize),
    /// Mean of the new less mean of the old, % loss, rounded to two decimals.
    pub difference_percent: Decimal,
    /// The 95 % interval of that difference, % loss, rounded to two decimals.
    pub interval_percent: (Decimal, Decimal),
    /// The verdict in words.
    pub verdict: String,
    /// What somebody concluded from it.
    pub reason: String,
    /// Departures that somebody answers for.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub deviations: Vec<Deviation>,
}

/// What happened to an item.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum EventKind {
    /// It stands elsewhere.
    Moved,
    /// It was repaired or a part was replaced.
    Repaired,
    /// It has new balls, or a new charge.
    NewBalls,
    /// Anything else that may show in a chart.
    Other,
}

impl EventKind {
    /// All, in the order in which they are offered.
    pub const ALL: [Self; 4] = [Self::Moved, Self::Repaired, Self::NewBalls, Self::Other];

    /// As it is typed.
    pub fn name(self) -> &'static str {
        match self {
            Self::Moved => "moved",
            Self::Repaired => "repaired",
            Self::NewBalls => "new-balls",
            Self::Other => "other",
        }
    }

    /// As a chart says it.
    pub fn in_words(self) -> &'static str {
        match self {
            Self::Moved => "moved",
            Self::Repaired => "repaired",
            Self::NewBalls => "new balls",
            Self::Other => "noted",
        }
    }
}

/// Something happened to an item that its charts should show.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct EventNoted {
    /// The item.
    pub item: ItemCode,
    /// What.
    pub what: EventKind,
    /// On which day.
    pub on: Date,
    /// In words.
    pub note: String,
}

/// A reference result is investigated.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct InvestigationOpened {
    /// The investigation.
    pub investigation: InvestigationCode,
    /// The lot.
    pub lot: LotCode,
    /// The apparatus.
    pub apparatus: ItemCode,
    /// The result that is investigated.
    pub point: ResultCode,
    /// The last result before it that was in control, if there was one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub last_in_control: Option<String>,
    /// What it shows, or why somebody looks into it.
    pub why: String,
}

/// What a step of an investigation showed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct FindingRecorded {
    /// The investigation.
    pub investigation: InvestigationCode,
    /// The step.
    pub step: String,
    /// What was found.
    pub finding: String,
    /// Whether something was wrong.
    pub fault: bool,
}

/// An investigation is finished.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct InvestigationClosed {
    /// The investigation.
    pub investigation: InvestigationCode,
    /// The cause, or that none was found.
    pub cause: String,
    /// What was done about it.
    pub done: String,
    /// What became of the results since the last one that was in control.
    pub past_results: String,
    /// The reference result that shows the apparatus in control again.
    pub repeat: ResultCode,
}
