//! What results say, as rows for questions across laboratories.

use jiff::Timestamp;
use serde::{Serialize, Serializer};

/// A result as it stands, in a row of its own. It follows from the facts: the journal keeps what it is
/// given and does not look into it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ResultRow {
    /// The code of the result.
    pub result: String,
    /// And of its sample.
    pub sample: String,
    /// Where the sample comes from.
    #[serde(serialize_with = "plain")]
    pub source: String,
    /// What it is.
    #[serde(serialize_with = "plain")]
    pub material: String,
    /// By which method.
    pub method: String,
    /// In which grading.
    pub grading: String,
    /// On which apparatus, where it is of a reference aggregate.
    pub apparatus: Option<String>,
    /// Where that reference aggregate comes from.
    #[serde(serialize_with = "plain_where_known")]
    pub reference: Option<String>,
    /// Number of the version that counts, from 1.
    pub version: i32,
    /// The loss as it is reported, %: a decimal.
    pub loss_percent: Option<String>,
    /// The loss as it stands on a control chart, %, to 0.01.
    pub charted_percent: Option<String>,
    /// When it was found.
    pub found_at: Timestamp,
    /// When it was released.
    pub released_at: Option<Timestamp>,
    /// Whether it is in doubt.
    pub in_doubt: bool,
}

/// What people type may hold a zero character; a text of PostgreSQL does not.
fn plain<S: Serializer>(text: &str, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.serialize_str(&text.replace('\0', ""))
}

fn plain_where_known<S: Serializer>(
    text: &Option<String>,
    serializer: S,
) -> Result<S::Ok, S::Error> {
    match text {
        Some(text) => plain(text, serializer),
        None => serializer.serialize_none(),
    }
}
