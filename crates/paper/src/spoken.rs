//! A paper in its language.
//!
//! What a paper says is made in English, as everything that the trade's rooms say; its fingerprint is
//! taken of that, so that a better word in a catalogue makes no other paper. Here the finished data are
//! said again by the catalogue of the paper's language, and so are the texts that the templates
//! themselves hold.

use crate::world::TEMPLATES;
use serde_json::{Map, Value};
use stonewear_language::Language;
use stonewear_report::{Text, each_text};

/// Under this name the templates find their own texts.
const SAY: &str = "say";
/// How a template says a text of its own.
const ASKED: &str = "say(";

/// Says the data of a paper in the language that they name, and gives the templates their own texts in
/// it. Nothing changes in English.
pub(crate) fn say_in_its_language(data: &mut Value, texts: &[String]) {
    let tag = data.get("language").and_then(Value::as_str).unwrap_or_default();
    let catalogue = Language::of_tag(tag).and_then(Language::catalogue);
    let mut own = Map::new();
    if let Some(catalogue) = catalogue {
        for text in texts {
            if let Some(said) = catalogue.message(text) {
                own.insert(text.clone(), said.into());
            }
        }
        each_text(data, &mut |text| match text {
            Text::Words(words) => *words = catalogue.text(words),
            Text::Drawing(svg) => *svg = with_room(&catalogue.page(svg)),
        });
    }
    if let Value::Object(fields) = data {
        fields.insert(SAY.to_owned(), own.into());
    }
}

/// Words of other languages are longer than English ones, and a paper cuts off what stands beside a
/// drawing: it gets an eighth of its width more on the right.
fn with_room(svg: &str) -> String {
    let widened = || {
        let (before, rest) = svg.split_once("viewBox=\"0 0 ")?;
        let (size, after) = rest.split_once('"')?;
        let (width, height) = size.split_once(' ')?;
        let wide = width.parse::<f64>().ok()? * 1.125;
        let after =
            after.replacen(&format!(" width=\"{width}\""), &format!(" width=\"{wide}\""), 1);
        Some(format!("{before}viewBox=\"0 0 {wide} {height}\"{after}"))
    };
    widened().unwrap_or_else(|| svg.to_owned())
}

/// The texts that the templates say, each once, in the order in which they stand.
pub(crate) fn of_templates() -> Vec<String> {
    let mut texts: Vec<String> = Vec::new();
    for (_, template) in TEMPLATES {
        for call in template.split(ASKED).skip(1) {
            let text = call.trim_start().strip_prefix('"').and_then(|rest| rest.split_once('"'));
            if let Some((text, _)) = text
                && !texts.iter().any(|known| known == text)
            {
                texts.push(text.to_owned());
            }
        }
    }
    texts
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn what_is_ours_is_said_and_what_is_theirs_stays() {
        let paper = |language: &str| {
            let mut data = json!({
                "language": language,
                "report": {
                    "title": "Benches", "remark": "Benches", "customer": {"name": "Benches"},
                    "masses": ["499.6"], "verdict": "inside", "position": 3,
                    "svg": "<svg><text>Benches</text></svg>",
                },
            });
            say_in_its_language(&mut data, &["Page {number1} of {number2}".to_owned()]);
            data
        };
        let french = paper("fr");
        assert_eq!(
            french["report"],
            json!({
                "title": "Postes d’essai", "remark": "Benches", "customer": {"name": "Benches"},
                "masses": ["499,6"], "verdict": "inside", "position": 3,
                "svg": "<svg><text>Postes d’essai</text></svg>",
            })
        );
        assert_eq!(french[SAY]["Page {number1} of {number2}"], "Page {number1} sur {number2}");
        let english = paper("en");
        assert_eq!(english["report"]["title"], "Benches");
        assert_eq!(english[SAY], json!({}));
        assert_eq!(paper("it")["report"], english["report"]);
    }

    #[test]
    fn a_drawing_gets_room_for_longer_words() {
        let svg =
            "<svg viewBox=\"0 0 360 72\" width=\"360\" height=\"72\"><rect width=\"360\"/></svg>";
        assert_eq!(
            with_room(svg),
            "<svg viewBox=\"0 0 405 72\" width=\"405\" height=\"72\"><rect width=\"360\"/></svg>"
        );
        assert_eq!(with_room("<svg></svg>"), "<svg></svg>");
    }

    #[test]
    fn no_template_holds_a_text_that_no_catalogue_could_say() {
        // Words within brackets are printed as they are, past every catalogue.
        for (name, template) in TEMPLATES {
            for (at, line) in template.lines().enumerate() {
                let code = line.split("//").next().unwrap_or_default();
                let mut rest = code;
                while let Some((_, after)) = rest.split_once('[') {
                    let inside = after.split([']', '#', '[']).next().unwrap_or_default();
                    assert!(
                        !inside.chars().any(char::is_alphabetic)
                            || inside == "a-z0-9"
                            || inside == " k = ",
                        "{name}, line {}: “{inside}”",
                        at + 1
                    );
                    rest = after;
                }
            }
        }
    }

    #[test]
    fn every_language_says_every_text_of_the_templates() {
        let texts = of_templates();
        assert!(texts.len() > 60, "{}", texts.len());
        for catalogue in Language::ALL.into_iter().filter_map(Language::catalogue) {
            let missing: Vec<&String> =
                texts.iter().filter(|text| catalogue.message(text).is_none()).collect();
            assert!(missing.is_empty(), "{}: {missing:#?}", catalogue.language().tag());
        }
    }
}
