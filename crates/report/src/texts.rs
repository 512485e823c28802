//! The texts of a paper, for whoever says them in another language.

use serde_json::Value;

/// Fields whose texts are names, references, somebody's own words, or not for people at all.
const KEPT: [&str; 38] = [
    // Whose paper it is, and what tells it from others.
    "laboratory",
    "customer",
    "project",
    "number",
    "mark",
    "anchor",
    "journal",
    "files",
    "sha256",
    "scanned",
    "code",
    "designation",
    "edition",
    "replaces",
    "who",
    "balance",
    "grading",
    "symbol",
    // The customer's and the laboratory's own words.
    "material",
    "source",
    "sampling",
    "intended_use",
    "reason",
    "remark",
    "external",
    "made_by",
    "document",
    // For the templates.
    "language",
    "is",
    "verdict",
    "outcome",
    "cell",
    "block",
    "paper",
    "width",
    "size",
    "issued_at",
    "made_at",
];

/// A text that is the program's own to say.
#[derive(Debug)]
pub enum Text<'a> {
    /// Plain words.
    Words(&'a mut String),
    /// A drawing (SVG) with words in it.
    Drawing(&'a mut String),
}

/// Visits every text of a paper that is the program's to say, in its plain data as JSON. Names,
/// references, and what somebody wrote in their own words are passed over.
///
/// ```
/// use stonewear_report::{Sheet, Text, each_text};
/// let mut data = serde_json::to_value(Sheet::new("Study Y26-001", "Four positions")).unwrap();
/// let mut words = Vec::new();
/// each_text(&mut data, &mut |text| {
///     if let Text::Words(text) = text {
///         words.push(text.clone());
///     }
/// });
/// assert!(words.contains(&"Four positions".to_owned()));
/// assert!(!words.contains(&"a4".to_owned()));
/// ```
pub fn each_text(value: &mut Value, visit: &mut impl FnMut(Text<'_>)) {
    match value {
        Value::String(text) => visit(Text::Words(text)),
        Value::Array(items) => items.iter_mut().for_each(|item| each_text(item, visit)),
        Value::Object(fields) => {
            for (name, field) in fields {
                match field {
                    Value::String(drawing) if name == "svg" => visit(Text::Drawing(drawing)),
                    // A number names an edition; words of ours say that there is none.
                    Value::String(text)
                        if name == "edition" && !text.contains(|c: char| c.is_ascii_digit()) =>
                    {
                        visit(Text::Words(text));
                    }
                    _ if KEPT.contains(&name.as_str()) => {}
                    field => each_text(field, visit),
                }
            }
        }
        Value::Null | Value::Bool(_) | Value::Number(_) => {}
    }
}
