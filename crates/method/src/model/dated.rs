//! How an edition of a method is written.

use super::Method;

impl Method {
    /// The document with its edition, as each publisher writes it: `ASTM D6928-10`,
    /// `EN 1097-1:2011, annex A`, `Ontario LS-618 (2000)`; without a date where none is known.
    pub fn dated(&self) -> String {
        let Self { designation, edition, .. } = self;
        let (document, part) = match designation.split_once(", ") {
            Some((document, part)) => (document, format!(", {part}")),
            None => (designation.as_str(), String::new()),
        };
        let is_year = edition.len() == 4 && edition.bytes().all(|digit| digit.is_ascii_digit());
        let is_by = |publishers: &[&str]| {
            publishers.iter().any(|one| document.starts_with(&format!("{one} ")))
        };
        if edition.is_empty() || edition == "undated" {
            designation.clone()
        } else if is_year && is_by(&["ASTM", "AASHTO"]) {
            format!("{document}-{}{part}", &edition[2..])
        } else if is_year && is_by(&["EN", "ISO", "CSA", "BS EN", "NF EN", "DIN EN"]) {
            format!("{document}:{edition}{part}")
        } else {
            format!("{designation} ({edition})")
        }
    }

    /// Whether `typed` names this edition: by its identity, or as it is written on a page.
    pub fn answers_to(&self, typed: &str) -> bool {
        self.key().answers_to(typed) || self.dated().eq_ignore_ascii_case(typed.trim())
    }
}

#[cfg(test)]
mod tests {
    use crate::library::built_in_methods;

    #[test]
    fn an_edition_is_written_as_its_publisher_writes_it() {
        let method = built_in_methods().into_iter().next().unwrap();
        for (designation, edition, written) in [
            ("ASTM D6928", "2010", "ASTM D6928-10"),
            ("AASHTO T 327", "2012", "AASHTO T 327-12"),
            ("EN 1097-1", "2011", "EN 1097-1:2011"),
            ("EN 1097-1, annex A", "2024", "EN 1097-1:2024, annex A"),
            ("ASTM C88, sodium sulfate", "undated", "ASTM C88, sodium sulfate"),
            ("ASTM C88, sodium sulfate", "2018", "ASTM C88-18, sodium sulfate"),
            ("Ontario LS-618", "2000", "Ontario LS-618 (2000)"),
            ("ASTM D6928", "2010a", "ASTM D6928 (2010a)"),
            ("Our own", "draft 3", "Our own (draft 3)"),
        ] {
            let mut method = method.clone();
            method.designation = designation.to_owned();
            method.edition = edition.to_owned();
            assert_eq!(method.dated(), written);
            assert!(method.answers_to(&written.to_lowercase()), "{written}");
            assert!(!method.answers_to("ASTM D6928-13"), "{written}");
        }
    }
}
