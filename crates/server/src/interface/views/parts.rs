//! What several views are made of.

use schemars::JsonSchema;
use serde::Serialize;
use serde_json::Value;
use stonewear_lab::fact::{Deviation, PropertyValue};
use stonewear_lab::state::{Attachment, Noted};
use stonewear_measure::Decimal;

/// When something was recorded, by whom, and where it stands in the journal.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct Recorded {
    /// When, RFC 3339.
    #[schemars(extend("format" = "date-time"))]
    at: String,
    /// Who, by initials.
    by: String,
    /// The place of the fact in the journal.
    position: u64,
}

pub(super) fn recorded<T>(noted: &Noted<T>) -> Recorded {
    Recorded { at: noted.at.to_string(), by: noted.by.to_string(), position: noted.position }
}

/// A number exactly as it was read or reported: decimal text.
#[derive(Debug, Serialize, JsonSchema)]
#[serde(transparent)]
#[schemars(extend("pattern" = "^-?[0-9]+(\\.[0-9]+)?$"))]
pub(super) struct Figure(String);

pub(super) fn figure(value: Decimal) -> Figure {
    Figure(value.to_string())
}

/// A departure from a method or a rule, with the reason that somebody gave.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct DeviationGiven {
    /// The rule departed from.
    rule: String,
    /// What departs.
    what: String,
    /// Why.
    reason: String,
    recorded: Recorded,
}

pub(super) fn deviations(all: &[Noted<Deviation>]) -> Vec<DeviationGiven> {
    let given = |noted: &Noted<Deviation>| DeviationGiven {
        rule: noted.value.rule.clone(),
        what: noted.value.what.clone(),
        reason: noted.value.reason.clone(),
        recorded: recorded(noted),
    };
    all.iter().map(given).collect()
}

/// A value that a test gave beside its loss.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct Property {
    /// Its name in the method.
    name: String,
    /// What it is, in words.
    title: String,
    /// Its unit; empty where it has none.
    unit: String,
    /// The reported value.
    value: Figure,
}

pub(super) fn properties(all: &[PropertyValue]) -> Vec<Property> {
    let given = |one: &PropertyValue| Property {
        name: one.name.clone(),
        title: one.title.clone(),
        unit: one.unit.clone(),
        value: figure(one.value),
    };
    all.iter().map(given).collect()
}

/// A file that was attached. Its bytes are at `/files/{sha256}`.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct AttachmentGiven {
    /// The step of the check, if it belongs to one.
    step: Option<String>,
    /// What the file is called.
    name: String,
    /// Its kind, as its content showed.
    media_type: String,
    /// SHA-256 of its bytes, 64 hexadecimal digits in lower case.
    sha256: String,
    /// How large it is, bytes.
    bytes: u64,
    recorded: Recorded,
}

pub(super) fn attachments(all: &[Noted<Attachment>]) -> Vec<AttachmentGiven> {
    let given = |noted: &Noted<Attachment>| AttachmentGiven {
        step: noted.value.step.clone(),
        name: noted.value.name.clone(),
        media_type: noted.value.media_type.clone(),
        sha256: noted.value.sha256.clone(),
        bytes: noted.value.bytes,
        recorded: recorded(noted),
    };
    all.iter().map(given).collect()
}

/// A structure whose parts `docs/interface.md` describes: an object.
#[derive(Debug, Serialize, JsonSchema)]
#[serde(transparent)]
pub(super) struct Document(serde_json::Map<String, Value>);

pub(super) fn document(part: impl Serialize) -> Document {
    match serde_json::to_value(part) {
        Ok(Value::Object(fields)) => Document(fields),
        _ => Document(serde_json::Map::new()),
    }
}

/// The name that a choice has in the journal: `in-service`.
pub(super) fn word(choice: impl Serialize) -> String {
    match serde_json::to_value(choice) {
        Ok(Value::String(word)) => word,
        _ => String::new(),
    }
}

pub(super) fn codes<C: ToString>(all: impl IntoIterator<Item = C>) -> Vec<String> {
    all.into_iter().map(|code| code.to_string()).collect()
}

pub(super) fn code<C: ToString>(one: &Option<C>) -> Option<String> {
    one.as_ref().map(ToString::to_string)
}
