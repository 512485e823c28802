//! A subject: a table with its columns described, one row an observation.

use jiff::Timestamp;
use jiff::civil::Date;
use std::fmt;
use std::str::FromStr;
use stonewear_measure::Decimal;
use thiserror::Error;

/// What can be taken out as a table.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum What {
    /// Results: the losses and what belongs to them.
    Results,
    /// Samples that were received.
    Samples,
    /// Specimens in their runs: one row a specimen in a run.
    Runs,
    /// Observations of checks: one row a step that was seen or read.
    Checks,
    /// Equipment.
    Equipment,
    /// Points of the control charts, imported ones marked.
    References,
    /// Sieve analyses of samples.
    SieveAnalyses,
    /// Tests of the time before the laboratory was kept here.
    PastTests,
    /// Sieve analyses of that time.
    PastSieveAnalyses,
}

impl What {
    /// All, in the order in which they are listed.
    pub const ALL: [Self; 9] = [
        Self::Results,
        Self::Samples,
        Self::Runs,
        Self::Checks,
        Self::Equipment,
        Self::References,
        Self::SieveAnalyses,
        Self::PastTests,
        Self::PastSieveAnalyses,
    ];

    /// Its name in addresses, files and JSON.
    pub fn name(self) -> &'static str {
        match self {
            Self::Results => "results",
            Self::Samples => "samples",
            Self::Runs => "runs",
            Self::Checks => "checks",
            Self::Equipment => "equipment",
            Self::References => "references",
            Self::SieveAnalyses => "sieve-analyses",
            Self::PastTests => "past-tests",
            Self::PastSieveAnalyses => "past-sieve-analyses",
        }
    }

    /// What one row is.
    pub fn one_row(self) -> &'static str {
        match self {
            Self::Results => "the version of a result that counts",
            Self::Samples => "a sample that was received",
            Self::Runs => "a specimen in its run",
            Self::Checks => "a step of a check that was seen or read",
            Self::Equipment => "a piece of equipment",
            Self::References => "a loss on a control chart",
            Self::SieveAnalyses => "a sieve of an analysis, or its pan",
            Self::PastTests => "a test that was taken over from a file of the past",
            Self::PastSieveAnalyses => "a sieve of an analysis that was taken over from the past",
        }
    }
}

impl fmt::Display for What {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

/// A text that names no table.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("“{0}” is not a table; write {list}", list = What::ALL.map(What::name).join(", "))]
pub struct UnknownWhat(String);

impl FromStr for What {
    type Err = UnknownWhat;
    fn from_str(text: &str) -> Result<Self, UnknownWhat> {
        let named = |what: &What| what.name() == text;
        Self::ALL.into_iter().find(named).ok_or_else(|| UnknownWhat(text.to_owned()))
    }
}

/// What the cells of a column hold.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// A text, such as a code or a name.
    Text,
    /// A number with the decimals that it was read or reported with.
    Number,
    /// A whole number.
    Whole,
    /// A day of the laboratory's calendar.
    Day,
    /// An instant; UTC in files, the laboratory's clock in spreadsheets.
    Moment,
    /// Yes or no.
    YesNo,
}

impl Kind {
    /// In words, for the data dictionary.
    pub fn in_words(self) -> &'static str {
        match self {
            Self::Text => "text",
            Self::Number => "number, decimal point, decimals as read",
            Self::Whole => "whole number",
            Self::Day => "day, YYYY-MM-DD",
            Self::Moment => "instant, RFC 3339 in UTC",
            Self::YesNo => "yes or no",
        }
    }
}

/// A column.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Column {
    /// Its name in CSV and JSON: `loss_percent`.
    pub name: &'static str,
    /// Its heading in a spreadsheet, without the unit.
    pub heading: &'static str,
    /// The unit; empty where there is none.
    pub unit: &'static str,
    /// What its cells hold.
    pub kind: Kind,
    /// What it means, in a sentence.
    pub meaning: &'static str,
}

impl Column {
    /// The heading with its unit: `Loss, %`.
    pub fn heading_with_unit(&self) -> String {
        match self.unit {
            "" => self.heading.to_owned(),
            unit => format!("{}, {unit}", self.heading),
        }
    }
}

/// A cell.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Value {
    /// Nothing is recorded.
    Empty,
    /// A text.
    Text(String),
    /// A number with its decimals.
    Number(Decimal),
    /// A whole number.
    Whole(u64),
    /// A day.
    Day(Date),
    /// An instant.
    Moment(Timestamp),
    /// Yes or no.
    YesNo(bool),
}

impl Value {
    /// As CSV and the JSON of texts write it; empty for nothing.
    pub fn as_text(&self) -> String {
        match self {
            Self::Empty => String::new(),
            Self::Text(text) => text.clone(),
            Self::Number(number) => number.to_string(),
            Self::Whole(number) => number.to_string(),
            Self::Day(day) => day.to_string(),
            Self::Moment(at) => at.to_string(),
            Self::YesNo(yes) => if *yes { "yes" } else { "no" }.to_owned(),
        }
    }
}

impl From<&str> for Value {
    fn from(text: &str) -> Self {
        if text.is_empty() { Self::Empty } else { Self::Text(text.to_owned()) }
    }
}

impl From<String> for Value {
    fn from(text: String) -> Self {
        if text.is_empty() { Self::Empty } else { Self::Text(text) }
    }
}

macro_rules! value_from {
    ($($type:ty => $variant:ident),*) => {$(
        impl From<$type> for Value {
            fn from(value: $type) -> Self {
                Self::$variant(value)
            }
        }
    )*};
}

value_from!(Decimal => Number, u64 => Whole, Date => Day, Timestamp => Moment, bool => YesNo);

impl<T: Into<Self>> From<Option<T>> for Value {
    fn from(value: Option<T>) -> Self {
        value.map_or(Self::Empty, Into::into)
    }
}

/// A table with its columns described.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Subject {
    /// Which.
    pub what: What,
    /// The columns, in their order.
    pub columns: &'static [Column],
    /// The rows, each with a cell for each column.
    pub rows: Vec<Vec<Value>>,
}
