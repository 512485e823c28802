//! From JSON as it was sent to a request. Every value is text, as it was typed; a JSON number is
//! taken by the very digits that were sent, never through a binary float.

use serde::Deserialize;
use serde::de::{Deserializer, Error as _, MapAccess, Visitor};
use serde_json::value::RawValue;
use serde_json::{Map, Value};
use std::fmt;
use stonewear_lab::request::{Form, Kind};
use stonewear_lab::{Problem, Request};

/// Reads the body of a request by its form.
///
/// # Errors
/// Everything that is wrong with it, each at its field.
pub(crate) fn read(name: &str, form: &Form, bytes: &[u8]) -> Result<Request, Vec<Problem>> {
    let text = std::str::from_utf8(bytes)
        .map_err(|_| vec![wrong("", "the body is not UTF-8 text", "send JSON in UTF-8")])?;
    let mut reader = Reader { problems: Vec::new() };
    let mut fields = reader.form("", form, text);
    if !reader.problems.is_empty() {
        return Err(reader.problems);
    }
    fields.insert("request".to_owned(), name.into());
    serde_json::from_value(Value::Object(fields))
        .map_err(|error| vec![wrong("", format!("the body cannot be read: {error}"), "")])
}

fn wrong(field: &str, message: impl Into<String>, hint: impl Into<String>) -> Problem {
    Problem {
        field: field.to_owned(),
        rule: "input-form",
        message: message.into(),
        hint: hint.into(),
        excusable: false,
    }
}

/// Goes through a body side by side with what it should be, so that no depth is gone into that no
/// form has.
struct Reader {
    problems: Vec<Problem>,
}

impl Reader {
    fn form(&mut self, at: &str, form: &Form, text: &str) -> Map<String, Value> {
        let mut read = Map::new();
        let fields = match serde_json::from_str::<Fields<'_>>(text) {
            Ok(fields) => fields.0,
            Err(error) => {
                let hint = "send one JSON object with the fields of the form";
                self.problems.push(wrong(at, format!("this is not an object: {error}"), hint));
                return read;
            }
        };
        for (name, raw) in fields {
            let place = if at.is_empty() { name.clone() } else { format!("{at}.{name}") };
            match form.field(&name) {
                Some(field) => {
                    let value = self.value(&place, &field.kind, raw.get());
                    read.insert(name, value);
                }
                None => {
                    let known: Vec<&str> = form.fields.iter().map(|field| field.name).collect();
                    let hint = format!("the fields are {}", known.join(", "));
                    self.problems.push(wrong(&place, "there is no such field", hint));
                }
            }
        }
        read
    }

    fn value(&mut self, at: &str, kind: &Kind, text: &str) -> Value {
        match kind {
            Kind::Text => self.text(at, text),
            Kind::Whole => match text.parse::<u64>() {
                Ok(whole) => whole.into(),
                Err(_) => {
                    let message = format!("{text} is no whole number");
                    self.problems.push(wrong(at, message, "send digits alone"));
                    Value::Null
                }
            },
            Kind::List(each) => match serde_json::from_str::<Vec<&RawValue>>(text) {
                Ok(list) => {
                    let values = list.iter().enumerate();
                    values
                        .map(|(index, raw)| self.value(&format!("{at}.{index}"), each, raw.get()))
                        .collect()
                }
                Err(_) => {
                    self.problems.push(wrong(at, "this is not a list", "send a JSON array"));
                    Value::Null
                }
            },
            Kind::Form(form) => Value::Object(self.form(at, form, text)),
            Kind::Apparatus => self.apparatus(at, text),
        }
    }

    fn text(&mut self, at: &str, text: &str) -> Value {
        match text.as_bytes().first() {
            Some(b'"') => match serde_json::from_str::<String>(text) {
                Ok(typed) => return typed.into(),
                Err(error) => {
                    self.problems.push(wrong(at, format!("the text cannot be read: {error}"), ""));
                }
            },
            // The digits as they were sent: 10.50 stays 10.50.
            Some(b'-' | b'0'..=b'9') => return text.into(),
            _ => {
                let hint = "send text, as it would be typed; leave a field away to leave it empty";
                self.problems.push(wrong(at, format!("{text} is neither text nor a number"), hint));
            }
        }
        Value::Null
    }

    fn apparatus(&mut self, at: &str, text: &str) -> Value {
        if text == "null" {
            return Value::Null;
        }
        let described = serde_json::from_str::<Value>(text).map(|mut described| {
            whole_numbers(&mut described);
            described
        });
        match described.and_then(serde_json::from_value::<stonewear_procedure::Apparatus>) {
            Ok(apparatus) => serde_json::to_value(apparatus).unwrap_or_default(),
            Err(error) => {
                let hint = "docs/procedures.md tells what describes an apparatus";
                self.problems.push(wrong(at, format!("it cannot be read: {error}"), hint));
                Value::Null
            }
        }
    }
}

/// Writes `2.0` as `2`: JSON Schema calls both an integer, and so does whoever sends it.
fn whole_numbers(value: &mut Value) {
    match value {
        Value::Number(number) => {
            let whole = number.as_f64().filter(|real| real.fract() == 0.0 && real.abs() < 1e9);
            if let (None, Some(whole)) = (number.as_i64(), whole) {
                *value = Value::from(whole as i64);
            }
        }
        Value::Array(values) => values.iter_mut().for_each(whole_numbers),
        Value::Object(fields) => fields.values_mut().for_each(whole_numbers),
        _ => {}
    }
}

/// The fields of an object as they stand in its text; none may be there twice.
struct Fields<'a>(Vec<(String, &'a RawValue)>);

impl<'de> Deserialize<'de> for Fields<'de> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Each;

        impl<'de> Visitor<'de> for Each {
            type Value = Fields<'de>;

            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("an object")
            }

            fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Self::Value, A::Error> {
                let mut fields: Vec<(String, &'de RawValue)> = Vec::new();
                while let Some((name, value)) = map.next_entry::<String, &'de RawValue>()? {
                    if fields.iter().any(|(known, _)| *known == name) {
                        return Err(A::Error::custom(format!("“{name}” is there twice")));
                    }
                    fields.push((name, value));
                }
                Ok(Fields(fields))
            }
        }

        deserializer.deserialize_map(Each)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use stonewear_lab::request::{RegisterItem, StartRun, WeighBefore, WeighFractions};

    fn of(empty: impl Into<Request>, body: &str) -> Result<Request, Vec<Problem>> {
        let empty = empty.into();
        read(&empty.name(), &empty.form(), body.as_bytes())
    }

    fn places(read: Result<Request, Vec<Problem>>) -> Vec<String> {
        read.unwrap_err().into_iter().map(|problem| problem.field).collect()
    }

    #[test]
    fn numbers_keep_the_digits_that_were_sent() {
        let sent = r#"{"specimen": "S26-001-1", "mass_g": 1499.80}"#;
        let wanted = WeighBefore {
            specimen: "S26-001-1".into(),
            mass_g: "1499.80".into(),
            ..WeighBefore::default()
        };
        assert_eq!(of(WeighBefore::default(), sent), Ok(wanted.into()));
        for digits in ["0.1", "-0", "1e3", "12345678901234567890.12345678901234567890"] {
            let read = of(WeighBefore::default(), &format!(r#"{{"mass_g":{digits}}}"#));
            let Ok(Request::WeighBefore(read)) = read else { panic!("{read:?}") };
            assert_eq!(read.mass_g, digits);
        }
    }

    #[test]
    fn lists_and_rows_are_read() {
        let read = of(WeighFractions::default(), r#"{"masses_g": ["750.1", 750, ""]}"#);
        let Ok(Request::WeighFractions(read)) = read else { panic!("{read:?}") };
        assert_eq!(read.masses_g, ["750.1", "750", ""]);
        let read = of(StartRun::default(), r#"{"placements": [{"jar": "J1", "position": 1}]}"#);
        let Ok(Request::StartRun(read)) = read else { panic!("{read:?}") };
        assert_eq!(
            (read.placements[0].jar.as_str(), read.placements[0].position.as_str()),
            ("J1", "1")
        );
    }

    #[test]
    fn an_apparatus_is_read_with_its_whole_numbers() {
        let sent = r#"{"apparatus": {"tiers": [{"name": "upper", "positions": 4.0}]}}"#;
        let read = of(RegisterItem::default(), sent);
        let Ok(Request::RegisterItem(read)) = read else { panic!("{read:?}") };
        assert_eq!(read.apparatus.map(|apparatus| apparatus.tiers[0].positions), Some(4));
        let half = r#"{"apparatus": {"tiers": [{"name": "upper", "positions": 4.5}]}}"#;
        assert_eq!(places(of(RegisterItem::default(), half)), ["apparatus"]);
    }

    #[test]
    fn everything_that_is_wrong_is_named_at_its_field() {
        let sent = r#"{"specimen": null, "colour": 1, "mass_g": true, "oven": {"a": 1}}"#;
        assert_eq!(
            places(of(WeighBefore::default(), sent)),
            ["specimen", "colour", "mass_g", "oven"]
        );
        let sent = r#"{"placements": [{"jar": "J1"}, {"jr": "J2"}, 3, {"jar": []}]}"#;
        assert_eq!(
            places(of(StartRun::default(), sent)),
            ["placements.1.jr", "placements.2", "placements.3.jar"]
        );
        assert_eq!(places(of(WeighFractions::default(), r#"{"masses_g": "1"}"#)), ["masses_g"]);
    }

    #[test]
    fn what_is_no_object_is_said_to_be_none() {
        for sent in
            ["", "[]", "1", "null", "\"x\"", "{", "{\"a\":1}}", "{\"mass_g\":1,\"mass_g\":2}"]
        {
            assert_eq!(of(WeighBefore::default(), sent).unwrap_err().len(), 1, "{sent}");
        }
        assert!(
            read("weigh-before", &Request::from(WeighBefore::default()).form(), &[0xff]).is_err()
        );
        let deep = format!("{{\"mass_g\":{}1{}}}", "[".repeat(100_000), "]".repeat(100_000));
        assert!(of(WeighBefore::default(), &deep).is_err(), "no depth breaks it");
    }

    #[test]
    fn the_name_of_the_request_stands_in_the_address_only() {
        assert_eq!(
            places(of(WeighBefore::default(), r#"{"request": "weigh-after"}"#)),
            ["request"]
        );
    }
}
