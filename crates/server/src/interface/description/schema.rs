//! What can be typed into a request, as JSON Schema, with a body that shows what is meant.

use crate::interface::forms::{self, Sendable};
use serde_json::{Map, Value, json};
use stonewear_lab::request::{Form, Kind as FieldKind};

/// Rows that forms are made of, by name.
pub(super) type Rows = std::collections::BTreeMap<String, Value>;

pub(super) fn rows() -> Rows {
    let mut rows = Rows::default();
    for Sendable { form, .. } in forms::ALL.values() {
        of_form(form, &mut rows);
    }
    rows
}

pub(super) fn of_form(form: &Form, rows: &mut Rows) -> Value {
    let properties: Map<String, Value> = form
        .fields
        .iter()
        .map(|field| {
            let mut schema = of_kind(&field.kind, rows);
            schema["description"] = field.says.into();
            (field.name.to_owned(), schema)
        })
        .collect();
    json!({
        "type": "object",
        "description": form.says,
        "additionalProperties": false,
        "properties": properties,
    })
}

fn of_kind(kind: &FieldKind, rows: &mut Rows) -> Value {
    match kind {
        // A number is taken by its digits, so that both ways of sending it mean the same.
        FieldKind::Text => json!({ "type": ["string", "number"] }),
        FieldKind::Whole => json!({ "type": "integer", "minimum": 0 }),
        FieldKind::List(each) => json!({ "type": "array", "items": of_kind(each, rows) }),
        FieldKind::Form(form) => {
            let row = of_form(form, rows);
            rows.insert(form.name.to_owned(), row);
            json!({ "$ref": format!("#/components/schemas/{}", form.name) })
        }
        FieldKind::Apparatus => json!({
            "anyOf": [{ "$ref": "#/components/schemas/Apparatus" }, { "type": "null" }],
        }),
    }
}

/// How an apparatus is built, as `docs/procedures.md` describes it.
pub(super) fn apparatus() -> Value {
    json!({
        "type": "object",
        "description": "How an apparatus is built; what is left away is as usual.",
        "additionalProperties": false,
        "properties": {
            "name": { "type": "string", "description": "What people call it." },
            "control": {
                "type": "array",
                "description": "How a run can be made to end.",
                "items": { "enum": ["time", "revolutions"] },
            },
            "time_step": { "type": "string", "description": "Resolution of the timer: 1 min." },
            "counter_senses": { "enum": ["roller", "jar lid", "nothing"] },
            "mode_change": { "enum": ["at the panel", "power off and on"] },
            "after_power_loss": { "enum": ["count lost", "count kept"] },
            "nominal_rpm": {
                "type": "string",
                "description": "Nominal speed, revolutions per minute.",
                "pattern": "^[0-9]{1,6}(\\.[0-9]{1,3})?$",
            },
            "tiers": {
                "type": "array",
                "description": "The tiers, top first.",
                "items": {
                    "type": "object",
                    "additionalProperties": false,
                    "required": ["name", "positions"],
                    "properties": {
                        "name": { "type": "string" },
                        "positions": { "type": "integer", "minimum": 0, "maximum": 1000 },
                    },
                },
            },
            "doors": {
                "type": "array",
                "description": "The doors of the guard.",
                "items": {
                    "type": "object",
                    "additionalProperties": false,
                    "required": ["name", "close"],
                    "properties": {
                        "name": { "type": "string" },
                        "close": { "type": "integer", "minimum": 0, "maximum": 1000 },
                        "latch": { "type": "boolean" },
                    },
                },
            },
            "interlock": { "type": "boolean", "description": "Whether an open door stops the drive." },
            "separate_stop": { "type": "boolean" },
        },
    })
}

/// A body that shows what is meant, for the requests of a usual day.
pub(super) fn example(name: &str) -> Option<Value> {
    let example = match name {
        "receive-sample" => json!({
            "source": "Invented quarry, bench 2", "material": "crushed granite",
            "nominal_maximum_mm": "19.0", "limit_percent": "17.0",
        }),
        "begin-specimen" => {
            json!({ "sample": "S26-001", "method": "astm-d6928", "grading": "19.0" })
        }
        "weigh-fractions" => {
            json!({ "specimen": "S26-001-1", "masses_g": ["375.2", "375.1", "750.3"] })
        }
        "weigh-before" => {
            json!({ "specimen": "S26-001-1", "mass_g": "1500.4", "balance": "BAL-1" })
        }
        "start-run" => json!({
            "apparatus": "MILL-1", "ended_by": "revolutions", "water_c": "20.5",
            "placements": [{
                "tier": "upper", "position": "1", "specimen": "S26-001-1", "jar": "JAR-1",
                "charge": "BALLS-1", "charge_g": "5000.0", "water_l": "2.00", "soaked_h": "1.5",
            }],
        }),
        "stop-run" => json!({ "run": "R26-001", "revolutions": "12000", "minutes": "120" }),
        "weigh-after" => json!({ "specimen": "S26-001-1", "mass_g": "1281.6" }),
        "observe" => json!({ "check": "C26-001", "step": "speed", "seen": "100.2" }),
        "release-result" => json!({ "result": "L26-001", "remark": "" }),
        _ => return None,
    };
    Some(example)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::interface::body;
    use std::collections::BTreeSet;

    #[test]
    fn examples_are_requests() {
        let mut examples = 0;
        for (name, sendable) in forms::ALL.iter() {
            if let Some(example) = example(name) {
                body::read(name, &sendable.form, example.to_string().as_bytes()).expect(name);
                examples += 1;
            }
        }
        assert_eq!(examples, 9);
    }

    #[test]
    fn what_is_said_of_an_apparatus_is_what_is_read() {
        let usual = serde_json::to_value(stonewear_procedure::Apparatus::default()).unwrap();
        let described = apparatus();
        let properties = described["properties"].as_object().unwrap();
        let keys: BTreeSet<&String> = properties.keys().collect();
        assert_eq!(keys, usual.as_object().unwrap().keys().collect());
        for field in ["control", "counter_senses", "mode_change", "after_power_loss"] {
            let choices = &properties[field]["enum"];
            let choices =
                if choices.is_null() { &properties[field]["items"]["enum"] } else { choices };
            for choice in choices.as_array().unwrap() {
                let value = if field == "control" { json!([choice]) } else { choice.clone() };
                let typed = json!({ field: value });
                serde_json::from_value::<stonewear_procedure::Apparatus>(typed).expect(field);
            }
        }
    }
}
