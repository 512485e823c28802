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
