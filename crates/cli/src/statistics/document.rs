//! A JSON object whose figures may be undefined, and answers from it.

use crate::answer::{Answer, Failure};
use serde_json::{Map, Value, json};
use stonewear_stats::regression::Interval;
use stonewear_stats::{Figure, StatsError, Undefined};

/// An object under construction.
#[derive(Debug, Default)]
pub(super) struct Document {
    fields: Map<String, Value>,
    undefined: Map<String, Value>,
}

impl Document {
    pub(super) fn new() -> Self {
        Self::default()
    }

    pub(super) fn put(mut self, name: &str, value: impl Into<Value>) -> Self {
        self.fields.insert(name.to_owned(), value.into());
        self
    }

    /// A figure, or null and its reason.
    pub(super) fn figure(self, name: &str, figure: &Figure) -> Self {
        match figure {
            Ok(value) => self.put(name, *value),
            Err(why) => self.missing(name, why),
        }
    }

    /// An interval, or null and its reason.
    pub(super) fn interval(self, name: &str, interval: &Result<Interval, Undefined>) -> Self {
        match interval {
            Ok(ends) => self.put(name, json!({ "lower": ends.lower, "upper": ends.upper })),
            Err(why) => self.missing(name, why),
        }
    }

    pub(super) fn missing(mut self, name: &str, why: impl ToString) -> Self {
        self.undefined.insert(name.to_owned(), why.to_string().into());
        self.put(name, Value::Null)
    }

    pub(super) fn value(mut self) -> Value {
        if !self.undefined.is_empty() {
            self.fields.insert("undefined".to_owned(), Value::Object(self.undefined));
        }
        Value::Object(self.fields)
    }
}

/// The answer, or, when all of it is undefined, every one of `fields` as null with the reason. Anything
/// else that is wrong is wrong input.
pub(super) fn defined(
    result: Result<Answer, StatsError>,
    fields: &[&str],
) -> Result<Answer, Failure> {
    match result {
        Ok(answer) => Ok(answer),
        Err(StatsError::Undefined(why)) => {
            let empty = fields.iter().fold(Document::new(), |d, name| d.missing(name, &why));
            Ok(Answer::new(format!("Not defined: {why}."), empty.value()))
        }
        Err(wrong) => Err(Failure::wrong_input(wrong)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_not_defined_is_null_with_its_reason() {
        let why = Undefined::TooFew { need: 2, got: 1 };
        let json =
            Document::new().put("n", 1).figure("s", &Err(why)).figure("mean", &Ok(2.5)).value();
        assert_eq!(
            json.to_string(),
            r#"{"mean":2.5,"n":1,"s":null,"undefined":{"s":"needs at least 2 values, there are 1"}}"#
        );
    }

    #[test]
    fn an_answer_that_is_undefined_as_a_whole_names_its_fields() {
        let nothing = Err(StatsError::Undefined(Undefined::NoVariation { what: "x" }));
        let answer = defined(nothing, &["slope"]).expect("an answer");
        assert_eq!(answer.json["undefined"]["slope"], "x does not vary");
        assert!(answer.json["slope"].is_null());
        let wrong = Err(StatsError::Layout("the rows do not fit".to_owned()));
        assert!(matches!(defined(wrong, &[]), Err(Failure::WrongInput(_))));
    }
}
