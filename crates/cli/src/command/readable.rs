//! A JSON document for people: one line a value, indented, without what is empty.

use serde_json::{Map, Value};

/// The document as indented lines.
pub(super) fn readable(value: &Value) -> String {
    let mut text = String::new();
    write_inner(&mut text, value, 0);
    text
}

fn write_inner(text: &mut String, value: &Value, depth: usize) {
    match value {
        Value::Object(fields) => {
            for (name, value) in fields.iter().filter(|(_, value)| !is_empty(value)) {
                write_named(text, &name.replace('_', " "), value, depth);
            }
        }
        Value::Array(values) => {
            for value in values {
                write_named(text, "-", value, depth);
            }
        }
        scalar => text.push_str(&format!("{}{}\n", indent(depth), plain(scalar))),
    }
}

fn write_named(text: &mut String, name: &str, value: &Value, depth: usize) {
    let (indent, colon) = (indent(depth), if name == "-" { "" } else { ":" });
    if let Some(noted) = noted(value) {
        text.push_str(&format!("{indent}{name}{colon} {}\n", noted.when_and_who));
        if !is_empty(noted.value) {
            write_inner(text, noted.value, depth + 1);
        }
    } else if value.is_object() || value.is_array() {
        text.push_str(&format!("{indent}{name}{colon}\n"));
        write_inner(text, value, depth + 1);
    } else {
        text.push_str(&format!("{indent}{name}{colon} {}\n", plain(value)));
    }
}

/// Something that somebody gave at some time: both in one line, then what it was.
struct Noted<'v> {
    when_and_who: String,
    value: &'v Value,
}

fn noted(value: &Value) -> Option<Noted<'_>> {
    let fields: &Map<String, Value> = value.as_object()?;
    let (at, by) = (fields.get("at")?.as_str()?, fields.get("by")?.as_str()?);
    let position = fields.get("position")?.as_u64()?;
    let when_and_who = format!("{at}, {by} (entry {position})");
    Some(Noted { when_and_who, value: fields.get("value")? })
}

fn is_empty(value: &Value) -> bool {
    match value {
        Value::Null => true,
        Value::String(text) => text.is_empty(),
        Value::Array(values) => values.is_empty(),
        Value::Object(fields) => fields.is_empty(),
        _ => false,
    }
}

fn plain(value: &Value) -> String {
    match value {
        Value::String(text) => text.clone(),
        Value::Bool(yes) => if *yes { "yes" } else { "no" }.to_owned(),
        Value::Null => String::new(),
        other => other.to_string(),
    }
}

fn indent(depth: usize) -> String {
    "  ".repeat(depth)
}

#[cfg(test)]
mod tests {
    use super::readable;
    use serde_json::json;

    #[test]
    fn people_read_lines_not_braces() {
        let value = json!({
            "code": "JAR-1",
            "opening_mm": null,
            "standings": [
                { "at": "2026-01-01T00:00:00Z", "by": "AB", "position": 7,
                  "value": { "standing": "held", "reason": "" } },
            ],
            "worked": ["a", "b"],
            "reference": true,
            "registered": { "at": "2026-01-01T00:00:00Z", "by": "AB", "position": 3, "value": null },
        });
        assert_eq!(
            readable(&value),
            "code: JAR-1\nreference: yes\nregistered: 2026-01-01T00:00:00Z, AB (entry 3)\nstandings:\n  \
             - 2026-01-01T00:00:00Z, AB (entry 7)\n    standing: held\nworked:\n  - a\n  - b\n"
        );
    }
}
