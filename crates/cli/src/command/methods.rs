//! `stonewear methods`: the test methods, as data.

use crate::answer::{Answer, Failure};
use serde_json::json;
use stonewear_method::Method;
use stonewear_method::figures::figures;
use stonewear_method::library::built_in_methods;

/// List the test methods, or show one whole with the source and confidence of every number.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Example:\n\
\x20 stonewear methods astm-d6928@2010")]
pub(crate) struct Methods {
    /// The method: astm-d6928, with its edition astm-d6928@2010, or a file of your own, mine.toml.
    id: Option<String>,
}

pub(crate) fn run(methods: &Methods) -> Result<Answer, Failure> {
    match &methods.id {
        None => Ok(list(&built_in_methods())),
        Some(id) => Ok(whole(&super::find_method(id)?)),
    }
}

fn list(methods: &[Method]) -> Answer {
    let mut text = String::new();
    let mut rows = Vec::new();
    for method in methods {
        let figures = figures(method);
        let sure = figures.iter().filter(|figure| figure.confidence.is_sure()).count();
        text.push_str(&format!(
            "{:26} {} ({sure} of {} numbers seen in a source)\n",
            method.key().as_str(),
            method.title,
            figures.len()
        ));
        rows.push(json!({
            "id": method.id,
            "edition": method.edition,
            "designation": method.designation,
            "title": method.title,
            "numbers": figures.len(),
            "sure": sure,
        }));
    }
    Answer::new(text, json!({ "methods": rows }))
}

fn whole(method: &Method) -> Answer {
    let mut text = format!("{} · {} ({})\n", method.key(), method.designation, method.title);
    for note in &method.notes {
        text.push_str(&format!("note: {note}\n"));
    }
    for figure in figures(method) {
        let value = format!("{} {}", figure.value, figure.unit);
        text.push_str(&format!(
            "{:58} {:24} {}\n",
            figure.path,
            value.trim_end(),
            figure.confidence.in_words()
        ));
        if let Some(note) = &figure.note {
            text.push_str(&format!("{:58} note: {note}\n", ""));
        }
    }
    for (key, source) in &method.sources {
        text.push_str(&format!("[{key}] {source}\n"));
    }
    let json = serde_json::to_value(method).unwrap_or_default();
    Answer::new(text, json)
}
