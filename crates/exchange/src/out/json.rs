//! The tables as one JSON document, and the JSON Schema that describes it.

use super::subject::{Column, Kind, Subject, Value, What};
use super::tables::columns;
use serde_json::{Map, Value as Json, json};
use stonewear_lab::Lab;
use stonewear_report::JournalAnchor;

/// The version of the document's form. It changes when a reader would have to.
const VERSION: u64 = 1;

/// The document of some tables. Numbers that were read or reported are texts, so that no program
/// rounds them and `14.0` keeps its zero; whole numbers are numbers. What is not recorded is null.
pub fn document(lab: &Lab, anchor: Option<&JournalAnchor>, subjects: &[Subject]) -> Json {
    let mut document = Map::new();
    document.insert("format".into(), "stonewear-tables".into());
    document.insert("version".into(), VERSION.into());
    let identity = lab.identity.as_ref();
    document.insert(
        "laboratory".into(),
        json!({
            "name": identity.map_or("", |identity| identity.name.as_str()),
            "invented": identity.is_some_and(|identity| identity.invented),
            "time_zone": identity.map_or("UTC", |identity| identity.time_zone.as_str()),
        }),
    );
    let journal = anchor.map(|anchor| json!({ "facts": anchor.position, "head": anchor.head }));
    document.insert("journal".into(), journal.unwrap_or(Json::Null));
    for subject in subjects {
        let rows = subject.rows.iter().map(|cells| {
            let members = subject.columns.iter().zip(cells);
            let members = members.map(|(column, cell)| (column.name.to_owned(), member(cell)));
            Json::Object(members.collect())
        });
        document.insert(subject.what.name().into(), Json::Array(rows.collect()));
    }
    Json::Object(document)
}

fn member(cell: &Value) -> Json {
    match cell {
        Value::Empty => Json::Null,
        Value::Whole(number) => (*number).into(),
        Value::YesNo(yes) => (*yes).into(),
        other => other.as_text().into(),
    }
}

/// The schema of the document (JSON Schema, draft 2020-12), from the description of the columns.
pub fn schema() -> Json {
    let mut properties = Map::new();
    properties.insert("format".into(), json!({ "const": "stonewear-tables" }));
    properties.insert("version".into(), json!({ "const": VERSION }));
    properties.insert(
        "laboratory".into(),
        json!({
            "type": "object",
            "properties": {
                "name": { "type": "string" },
                "invented": { "type": "boolean", "description": "Everything in it is invented." },
                "time_zone": { "type": "string", "description": "IANA name; days are counted by it." },
            },
            "required": ["name", "invented", "time_zone"],
            "additionalProperties": false,
        }),
    );
    properties.insert(
        "journal".into(),
        json!({
            "description": "Where the journal stood when the document was made.",
            "type": ["object", "null"],
            "properties": {
                "facts": { "type": "integer", "minimum": 0 },
                "head": { "type": "string", "pattern": "^[0-9a-f]{64}$" },
            },
            "required": ["facts", "head"],
            "additionalProperties": false,
        }),
    );
    for what in What::ALL {
        let columns = columns(what);
        let members: Map<String, Json> =
            columns.iter().map(|column| (column.name.to_owned(), of_column(column))).collect();
        let names: Vec<&str> = columns.iter().map(|column| column.name).collect();
        properties.insert(
            what.name().into(),
            json!({
                "description": format!("Each is {}.", what.one_row()),
                "type": "array",
                "items": {
                    "type": "object",
                    "properties": members,
                    "required": names,
                    "additionalProperties": false,
                },
            }),
        );
    }
    json!({
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Tables of a laboratory",
        "description": "What was recorded in a laboratory for wet attrition, as tables. Numbers \
                        that were read or reported are texts with their decimals.",
        "type": "object",
        "properties": properties,
        "required": ["format", "version", "laboratory", "journal"],
        "additionalProperties": false,
    })
}

fn of_column(column: &Column) -> Json {
    let meaning = match column.unit {
        "" => column.meaning.to_owned(),
        unit => format!("{} Unit: {unit}.", column.meaning),
    };
    let mut schema = match column.kind {
        Kind::Text => json!({ "type": ["string", "null"] }),
        Kind::Number => {
            json!({ "type": ["string", "null"], "pattern": r"^-?[0-9]+(\.[0-9]+)?$" })
        }
        Kind::Whole => json!({ "type": ["integer", "null"], "minimum": 0 }),
        Kind::Day => json!({
            "type": ["string", "null"], "format": "date", "pattern": "^[0-9]{4}-[0-9]{2}-[0-9]{2}$",
        }),
        Kind::Moment => json!({
            "type": ["string", "null"], "format": "date-time",
            "pattern": r"^[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}:[0-9]{2}(\.[0-9]+)?Z$",
        }),
        Kind::YesNo => json!({ "type": ["boolean", "null"] }),
    };
    schema["description"] = meaning.into();
    schema
}
