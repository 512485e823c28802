//! From what a browser sends to a request, and back to what was typed.

use serde_json::{Map, Value};
use std::collections::BTreeMap;
use stonewear_lab::{Problem, Request};
use stonewear_language::Language;

/// How deep the names of a form's fields go at the most: `placements.0.jar` is three. No form of ours
/// comes near it, and a name of a hundred thousand levels would take the program's stack.
const DEEPEST: usize = 8;

/// What was typed in a form that was not accepted: shown again, with what is wrong beside it.
#[derive(Debug, Clone, Default)]
pub(crate) struct Typed {
    /// The name of the request that the form makes.
    pub(crate) request: String,
    fields: BTreeMap<String, String>,
    /// What is wrong.
    pub(crate) problems: Vec<Problem>,
}

impl Typed {
    /// What a form sent, before anybody looked at it.
    pub(crate) fn sent(fields: BTreeMap<String, String>) -> Self {
        let request = fields.get("request").cloned().unwrap_or_default();
        Self { request, fields, problems: Vec::new() }
    }

    /// What was typed into a field of this request's form.
    pub(crate) fn value(&self, request: &str, field: &str) -> Option<&str> {
        if self.request == request { self.fields.get(field).map(String::as_str) } else { None }
    }

    /// What is wrong with a field of this request's form.
    pub(crate) fn problem(&self, request: &str, field: &str) -> Option<&Problem> {
        let here = self.request == request;
        self.problems.iter().find(|problem| here && problem.field == field)
    }

    /// Whether the form of this request was refused.
    pub(crate) fn was_refused(&self, request: &str) -> bool {
        self.request == request && !self.problems.is_empty()
    }

    /// Whether all that is wrong could be excused by a recorded reason.
    pub(crate) fn is_excusable(&self, request: &str) -> bool {
        self.was_refused(request) && self.problems.iter().all(|problem| problem.excusable)
    }

    /// A field as it was sent.
    pub(crate) fn sent_field(&self, name: &str) -> Option<&str> {
        self.fields.get(name).map(String::as_str)
    }

    /// Numbers that a reader of `language` may mean in two ways: `1.500` is one and a half to one and
    /// fifteen hundred to another where points group thousands, as `1,500` is everywhere. None of them
    /// is guessed at, and what would be right is written as the language writes it.
    pub(crate) fn doubtful_numbers(&self, language: Language) -> Vec<Problem> {
        let decimals = self.fields.keys().filter_map(|name| name.strip_prefix("_decimal."));
        decimals
            .filter_map(|field| {
                let typed = self.fields.get(field)?.trim();
                let (whole, decimals) = typed.split_once(language.doubtful_marks())?;
                let digits = |part: &str| part.bytes().all(|byte| byte.is_ascii_digit());
                let groups = digits(whole)
                    && digits(decimals)
                    && decimals.len() == 3
                    && (1..=3).contains(&whole.len())
                    && whole != "0";
                groups.then(|| Problem {
                    field: field.to_owned(),
                    rule: "input-ambiguous",
                    message: format!("“{typed}” can mean {whole}{decimals} or {whole},{decimals}"),
                    hint: format!("write {whole}{decimals}, or {whole},{decimals}0 with a comma"),
                    excusable: false,
                })
            })
            .collect()
    }

    /// Under which name the browser keeps what was typed into this form at `path`: each step of a
    /// check is a form of its own, so that what was typed for one never lands in another.
    pub(crate) fn draft(&self, path: &str) -> String {
        draft(path, &self.request, self.sent_field("step").filter(|_| self.request == "observe"))
    }

    /// The request that the form makes.
    ///
    /// # Errors
    /// In words, when the form is not one of ours.
    pub(crate) fn request(&self) -> Result<Request, String> {
        let mut fields = Map::new();
        for (name, value) in self.fields.iter().filter(|(name, _)| !name.starts_with('_')) {
            if name.split('.').nth(DEEPEST).is_some() {
                return Err(format!(
                    "the form cannot be read: the name of a field has more than {DEEPEST} parts"
                ));
            }
            insert(&mut fields, name, value);
        }
        let mut value = arrays(Value::Object(fields));
        if self.request == "register-item" {
            crate::page::apparatus_form::describe(&mut value);
        }
        serde_json::from_value(value).map_err(|error| format!("the form cannot be read: {error}"))
    }
}

/// The name of a draft: the form at a path, or its part.
pub(crate) fn draft(path: &str, request: &str, part: Option<&str>) -> String {
    let name = format!("{path}:{request}");
    part.map_or_else(|| name.clone(), |part| format!("{name}:{part}"))
}

/// Puts `placements.0.jar` where it belongs.
fn insert(fields: &mut Map<String, Value>, name: &str, value: &str) {
    match name.split_once('.') {
        None => {
            fields.insert(name.to_owned(), Value::String(value.to_owned()));
        }
        Some((head, rest)) => {
            let entry = fields.entry(head).or_insert_with(|| Value::Object(Map::new()));
            if let Value::Object(inner) = entry {
                insert(inner, rest, value);
            }
        }
    }
}

/// Objects whose keys are all numbers are lists, in the order of the numbers.
fn arrays(value: Value) -> Value {
    let Value::Object(fields) = value else { return value };
    let numbers: Option<Vec<usize>> = fields.keys().map(|key| key.parse().ok()).collect();
    match numbers {
        Some(numbers) if !numbers.is_empty() => {
            let mut list: Vec<(usize, Value)> = numbers
                .into_iter()
                .zip(fields.into_iter().map(|(_, value)| arrays(value)))
                .collect();
            list.sort_by_key(|(number, _)| *number);
            Value::Array(list.into_iter().map(|(_, value)| value).collect())
        }
        _ => Value::Object(fields.into_iter().map(|(key, value)| (key, arrays(value))).collect()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use stonewear_lab::request::{AddPerson, Placement, StartRun};

    fn typed(fields: &[(&str, &str)]) -> Typed {
        Typed::sent(
            fields.iter().map(|(name, value)| ((*name).to_owned(), (*value).to_owned())).collect(),
        )
    }

    #[test]
    fn dotted_names_become_lists_and_structures() {
        let sent = typed(&[
            ("request", "start-run"),
            ("apparatus", "MILL"),
            ("placements.10.jar", "J10"),
            ("placements.2.jar", "J2"),
            ("placements.2.specimen", "S26-001-1"),
            ("_key", "not part of the request"),
        ]);
        let placed = |jar: &str, specimen: &str| Placement {
            jar: jar.into(),
            specimen: specimen.into(),
            ..Placement::default()
        };
        let wanted = StartRun {
            apparatus: "MILL".into(),
            placements: vec![placed("J2", "S26-001-1"), placed("J10", "")],
            ..StartRun::default()
        };
        assert_eq!(sent.request(), Ok(wanted.into()));
    }

    #[test]
    fn ticked_boxes_are_a_list() {
        let sent = typed(&[
            ("request", "add-person"),
            ("code", "XY"),
            ("rights.0", "test"),
            ("rights.2", "manage"),
        ]);
        let wanted = AddPerson {
            code: "XY".into(),
            rights: vec!["test".into(), "manage".into()],
            ..AddPerson::default()
        };
        assert_eq!(sent.request(), Ok(wanted.into()));
    }

    #[test]
    fn a_point_before_three_digits_is_asked_about_where_points_group_thousands() {
        let sent = |value: &str| {
            typed(&[
                ("request", "weigh"),
                ("mass_g", value),
                ("_decimal.mass_g", ""),
                ("note", "1.500"),
            ])
        };
        for value in ["1.500", " 12.345 "] {
            for language in [Language::German, Language::Spanish] {
                let problems = sent(value).doubtful_numbers(language);
                assert_eq!(problems.len(), 1, "{value}");
                assert_eq!(problems[0].field, "mass_g");
            }
            // No point sets thousands apart in French and in English.
            assert_eq!(sent(value).doubtful_numbers(Language::French), []);
            assert_eq!(sent(value).doubtful_numbers(Language::English), []);
        }
        // Where the comma is the decimal mark the way out is one that the page itself takes.
        for language in [Language::French, Language::Spanish, Language::German] {
            let hint = &sent("1,500").doubtful_numbers(language)[0].hint;
            assert_eq!(hint, "write 1500, or 1,5000 with a comma");
        }
        for value in ["1500", "1500.000", "0.500", "1.50", "S S  1.500 g", ""] {
            assert_eq!(sent(value).doubtful_numbers(Language::German), [], "{value}");
        }
        let hint = &sent("1.500").doubtful_numbers(Language::German)[0].hint;
        assert_eq!(hint, "write 1500, or 1,5000 with a comma");
        assert_eq!(
            stonewear_measure::read("1,5000"),
            Ok(stonewear_measure::Decimal::new(15000, 4))
        );
    }

    #[test]
    fn a_form_that_is_not_ours_is_said_to_be_so() {
        let error = typed(&[("request", "open-the-door")]).request().unwrap_err();
        assert!(
            error.starts_with("the form cannot be read: unknown variant `open-the-door`"),
            "{error}"
        );
        assert!(typed(&[("request", "add-person"), ("colour", "blue")]).request().is_err());
        assert!(typed(&[]).request().is_err());
    }
    /// Found by hostile input: each part of a name is a level of nesting, and a form of 256 KiB has room
    /// for a hundred thousand, which took the stack and with it the program.
    #[test]
    fn a_name_of_many_parts_is_refused_before_it_is_taken_apart() {
        let sent = |parts: usize| {
            typed(&[("request", "add-person"), (&vec!["a"; parts].join("."), "1")]).request()
        };
        let error = sent(100_000).unwrap_err();
        assert_eq!(error, "the form cannot be read: the name of a field has more than 8 parts");
        assert_eq!(sent(DEEPEST + 1).unwrap_err(), error);
        // Up to there it is a form like another, with a field that nobody knows.
        assert!(sent(DEEPEST).unwrap_err().contains("unknown field `a`"));
    }
}
