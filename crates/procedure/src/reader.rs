//! Reads a TOML file key by key and keeps every fault with its line.
//!
//! Not by `serde`: it stops at the first fault and forgets the lines of what it has read, and
//! numbers must arrive as the digits that were written.

use crate::file_faults::{Fault, FileFaults};
use std::ops::Range;
use stonewear_measure::Decimal;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// A value with its place.
pub(crate) type Value<'t> = Spanned<DeValue<'t>>;

/// A table with its place and what it is called in messages.
#[derive(Clone)]
pub(crate) struct Fields<'a, 't> {
    table: &'a DeTable<'t>,
    place: usize,
    called: String,
}

impl<'a, 't> Fields<'a, 't> {
    /// Where it begins, as an offset into the text.
    pub(crate) fn place(&self) -> usize {
        self.place
    }

    /// Where a key's value begins, or else the table.
    pub(crate) fn place_of(&self, key: &str) -> usize {
        self.get(key).map_or(self.place, |value| value.span().start)
    }

    /// The value of a key.
    pub(crate) fn get(&self, key: &str) -> Option<&'a Value<'t>> {
        self.table.get(key)
    }

    /// Every key that is there, with its value.
    pub(crate) fn entries(&self) -> impl Iterator<Item = (&'a str, &'a Value<'t>)> {
        self.table.iter().map(|(key, value)| (key.as_ref().as_ref(), value))
    }
}

/// A text being read, and the faults found so far.
pub(crate) struct Reader<'t> {
    text: &'t str,
    faults: Vec<Fault>,
}

/// Parses the text and hands the whole file to `read`, which notes what is wrong on the way.
///
/// # Errors
/// Faults of the notation, or those that `read` noted.
pub(crate) fn read_file<T>(
    file: &str,
    text: &str,
    read: impl FnOnce(&mut Reader<'_>, &Fields<'_, '_>) -> Option<T>,
) -> Result<T, FileFaults> {
    let mut reader = Reader { text, faults: Vec::new() };
    let (root, errors) = DeTable::parse_recoverable(text);
    for error in &errors {
        let place = error.span().map_or(0, |span: Range<usize>| span.start);
        reader.fault(place, error.message().trim(), "write it as TOML: `key = value`");
    }
    // A file that cannot be parsed would only give faults that follow from the first.
    let found = if errors.is_empty() {
        let root = Fields { table: root.get_ref(), place: 0, called: "the file".to_owned() };
        read(&mut reader, &root)
    } else {
        None
    };
    let mut faults = reader.faults;
    faults.sort_by_key(|fault| fault.line);
    match found {
        Some(found) if faults.is_empty() => Ok(found),
        _ => Err(FileFaults { file: file.to_owned(), faults }),
    }
}

impl Reader<'_> {
    /// Notes a fault at an offset into the text.
    pub(crate) fn fault(
        &mut self,
        place: usize,
        wrong: impl Into<String>,
        right: impl Into<String>,
    ) {
        let line = 1 + self.text.bytes().take(place).filter(|byte| *byte == b'\n').count();
        self.faults.push(Fault { line, wrong: wrong.into(), right: right.into() });
    }

    /// True when nothing wrong was found yet.
    pub(crate) fn is_clean(&self) -> bool {
        self.faults.is_empty()
    }

    /// Notes every key that is not one of those.
    pub(crate) fn only(&mut self, fields: &Fields<'_, '_>, known: &[&str]) {
        for (key, _) in fields.table {
            let name: &str = key.as_ref();
            if !known.contains(&name) {
                let wrong = format!("“{name}” is not a key of {}", fields.called);
                self.fault(key.span().start, wrong, format!("write one of {}", known.join(", ")));
            }
        }
    }

    fn other(&mut self, value: &Value<'_>, key: &str, wanted: &str) {
        let kind = match value.get_ref() {
            DeValue::String(_) => "a text",
            DeValue::Integer(_) | DeValue::Float(_) => "a number in an unusual form or place",
            DeValue::Boolean(_) => "true or false",
            DeValue::Datetime(_) => "a date",
            DeValue::Array(_) => "a list",
            DeValue::Table(_) => "a table",
        };
        self.fault(value.span().start, format!("“{key}” is {kind}"), format!("write {wanted}"));
    }

    /// Notes that a key is missing.
    pub(crate) fn missing(&mut self, fields: &Fields<'_, '_>, key: &str, right: &str) {
        let wrong = format!("{} has no “{key}”", fields.called);
        self.fault(fields.place, wrong, format!("write {right}"));
    }

    /// A text.
    pub(crate) fn text(&mut self, value: &Value<'_>, key: &str) -> Option<String> {
        let found = value.get_ref().as_str().map(|text| text.trim().to_owned());
        if found.is_none() {
            self.other(value, key, "a text in quotation marks");
        }
        found
    }

    /// A text that must be there and say something.
    pub(crate) fn needed_text(&mut self, fields: &Fields<'_, '_>, key: &str) -> Option<String> {
        let Some(value) = fields.get(key) else {
            self.missing(fields, key, &format!("{key} = \"…\""));
            return None;
        };
        let text = self.text(value, key)?;
        if text.is_empty() {
            self.fault(value.span().start, format!("“{key}” is empty"), "say it in words");
            return None;
        }
        Some(text)
    }

    /// A text that may be missing.
    pub(crate) fn optional_text(&mut self, fields: &Fields<'_, '_>, key: &str) -> Option<String> {
        fields.get(key).and_then(|value| self.text(value, key))
    }

    /// One of several words.
    pub(crate) fn word<T: Copy>(
        &mut self,
        value: &Value<'_>,
        key: &str,
        words: &[(&str, T)],
    ) -> Option<T> {
        let text = self.text(value, key)?;
        let found = words.iter().find(|(word, _)| *word == text).map(|(_, meaning)| *meaning);
        if found.is_none() {
            let list: Vec<String> = words.iter().map(|(word, _)| format!("\"{word}\"")).collect();
            let wrong = format!("“{text}” is not a value of “{key}”");
            self.fault(value.span().start, wrong, format!("write {}", list.join(" or ")));
        }
        found
    }

    /// Yes or no.
    pub(crate) fn flag(&mut self, value: &Value<'_>, key: &str) -> Option<bool> {
        let found = value.get_ref().as_bool();
        if found.is_none() {
            self.other(value, key, "true or false");
        }
        found
    }

    /// An exact decimal, written as a number or, where the zeros at its end matter, as a text.
    pub(crate) fn decimal(&mut self, value: &Value<'_>, key: &str) -> Option<Decimal> {
        let digits = match value.get_ref() {
            DeValue::Integer(whole) if whole.radix() == 10 => whole.as_str(),
            DeValue::Float(number) => number.as_str(),
            DeValue::String(text) => text.as_ref(),
            _ => {
                self.other(value, key, "a number, such as 100 or 9.5");
                return None;
            }
        };
        match stonewear_measure::read(digits) {
            Ok(number) => Some(number),
            Err(error) => {
                // The error says itself what would be right.
                let wrong = format!("“{key}” cannot be read");
                self.fault(value.span().start, wrong, error.to_string());
                None
            }
        }
    }

    /// A whole number from 0.
    pub(crate) fn whole(&mut self, value: &Value<'_>, key: &str) -> Option<u32> {
        let found = value
            .get_ref()
            .as_integer()
            .filter(|whole| whole.radix() == 10)
            .and_then(|whole| whole.as_str().parse().ok());
        if found.is_none() {
            let wrong = format!("“{key}” is not a whole number from 0");
            self.fault(value.span().start, wrong, "write digits only, such as 1");
        }
        found
    }

    /// A list.
    pub(crate) fn list<'a, 't>(&mut self, value: &'a Value<'t>, key: &str) -> Vec<&'a Value<'t>> {
        match value.get_ref().as_array() {
            Some(list) => list.iter().collect(),
            None => {
                self.other(value, key, "a list in square brackets");
                Vec::new()
            }
        }
    }

    /// A table, to be called so in messages.
    pub(crate) fn table<'a, 't>(
        &mut self,
        value: &'a Value<'t>,
        called: String,
    ) -> Option<Fields<'a, 't>> {
        match value.get_ref().as_table() {
            Some(table) => Some(Fields { table, place: value.span().start, called }),
            None => {
                self.other(value, &called, "a table, such as { name = \"upper\" }");
                None
            }
        }
    }
}
