//! Making every text printable without hiding anything.
//!
//! A name may hold letters that the built-in fonts lack, or characters that turn the reading
//! direction. A report must neither fail because of them nor drop them silently: what cannot be
//! drawn is named by its code point, `[U+77F3]`. (An archival PDF may not show an empty box.)

use serde_json::Value;

/// Makes every text inside the value printable, names of fields aside.
pub(crate) fn make_printable(value: &mut Value, draws: &dyn Fn(char) -> bool) {
    match value {
        Value::String(text) => *text = printable(text, draws),
        Value::Array(items) => items.iter_mut().for_each(|item| make_printable(item, draws)),
        Value::Object(fields) => fields.values_mut().for_each(|item| make_printable(item, draws)),
        Value::Null | Value::Bool(_) | Value::Number(_) => {}
    }
}

/// White space becomes single spaces, what cannot be drawn is named.
fn printable(text: &str, draws: &dyn Fn(char) -> bool) -> String {
    let mut out = String::with_capacity(text.len());
    for word in text.split_whitespace() {
        if !out.is_empty() {
            out.push(' ');
        }
        for character in word.chars() {
            if draws(character) && !misleads(character) {
                out.push(character);
            } else {
                out.push_str(&format!("[U+{:04X}]", u32::from(character)));
            }
        }
    }
    out
}

/// Characters that have no shape, no fixed meaning, or change how others are read.
fn misleads(character: char) -> bool {
    character.is_control()
        || matches!(character,
            '\u{AD}' | '\u{200B}'..='\u{200F}' | '\u{2028}'..='\u{202E}' | '\u{2060}'..='\u{206F}'
            | '\u{E000}'..='\u{F8FF}' | '\u{FE00}'..='\u{FE0F}' | '\u{FEFF}'
            | '\u{FFF0}'..='\u{FFFF}' | '\u{E0000}'..='\u{10FFFF}')
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn nothing_is_dropped() {
        let latin = |character: char| character < '\u{250}';
        for (text, shown) in [
            ("Łódź & Groß", "Łódź & Groß"),
            ("a\tb\r\n  c ", "a b c"),
            ("石 quarry", "[U+77F3] quarry"),
            ("pay\u{202E}001", "pay[U+202E]001"),
            ("bell\u{7}", "bell[U+0007]"),
            ("soft\u{AD}hyphen", "soft[U+00AD]hyphen"),
            ("", ""),
        ] {
            assert_eq!(printable(text, &latin), shown);
        }
    }

    #[test]
    fn every_text_is_reached() {
        let mut value = json!({"a": ["é", {"b": "é"}], "c": 3, "d": null});
        make_printable(&mut value, &|character| character.is_ascii());
        assert_eq!(value, json!({"a": ["[U+00E9]", {"b": "[U+00E9]"}], "c": 3, "d": null}));
    }
}
