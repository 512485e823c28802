//! What the program says, in other languages than English.
//!
//! The rooms of the trade speak English, in whole sentences with their values in place: a page, a
//! refusal, a check file, the words of a fact. Here the finished text is said again in the reader's
//! language. A [`Catalogue`] is a file in the open PO format of gettext: the English message, with
//! `{holes}` where a value stands, and its translation. So one place holds all texts, a rule of the
//! trade needs no knowledge of languages, and what an older version of the program wrote into the
//! journal is translated, too.
//!
//! ```
//! use stonewear_language::Language;
//! let french = Language::French.catalogue().unwrap();
//! assert_eq!(french.text("Benches"), "Postes d’essai");
//! // Numbers and days are written as the language writes them; codes and names stay.
//! assert_eq!(french.text("18.2 %"), "18,2 %");
//! ```
//!
//! Nothing is guessed: what no message says stays English, and [`Catalogue::missing`] names it. The
//! tests of the pages walk the whole demo laboratory in every language and allow none.

mod catalogue;
mod lines;
mod local;
mod markup;
mod pattern;

pub use catalogue::{Catalogue, CatalogueError};

use std::sync::LazyLock;

/// A language that the program speaks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Default)]
pub enum Language {
    /// The language of the messages themselves.
    #[default]
    English,
    /// With the terms of the French editions of the European standards.
    French,
    /// With the terms of the Spanish editions of the European standards.
    Spanish,
    /// With the terms of the German editions of the European standards.
    German,
}

impl Language {
    /// All, in the order in which they are offered.
    pub const ALL: [Self; 4] = [Self::English, Self::French, Self::Spanish, Self::German];

    /// Its tag (BCP 47).
    pub fn tag(self) -> &'static str {
        match self {
            Self::English => "en",
            Self::French => "fr",
            Self::Spanish => "es",
            Self::German => "de",
        }
    }

    /// What it calls itself.
    pub fn own_name(self) -> &'static str {
        match self {
            Self::English => "English",
            Self::French => "Français",
            Self::Spanish => "Español",
            Self::German => "Deutsch",
        }
    }

    /// A text of ours, said in it.
    pub fn say(self, english: &str) -> String {
        self.catalogue().map_or_else(|| english.to_owned(), |catalogue| catalogue.text(english))
    }

    /// The signs in a number that may be a decimal mark to one of its readers and set thousands apart
    /// for another, where the decimal mark is a comma; none in English, whose readings say it
    /// themselves.
    pub fn doubtful_marks(self) -> &'static [char] {
        match self {
            Self::English => &[],
            Self::French => &[','],
            Self::Spanish | Self::German => &[',', '.'],
        }
    }

    /// The language of a tag, whatever the region: `de-AT` is German.
    pub fn of_tag(tag: &str) -> Option<Self> {
        let primary = tag.trim().split(['-', '_']).next()?;
        Self::ALL.into_iter().find(|language| language.tag().eq_ignore_ascii_case(primary))
    }

    /// The language that a browser prefers by its `Accept-Language` (RFC 9110, 12.5.4), among ours.
    pub fn preferred(accepted: &str) -> Option<Self> {
        let mut best: Option<(f64, Self)> = None;
        for range in accepted.split(',') {
            let mut parts = range.split(';').map(str::trim);
            let Some(language) = parts.next().and_then(Self::of_tag) else { continue };
            let weight = parts
                .find_map(|part| part.strip_prefix("q="))
                .map_or(Some(1.0), |weight| weight.parse().ok())
                .filter(|weight: &f64| (0.0..=1.0).contains(weight))
                .unwrap_or(0.0);
            if weight > best.map_or(0.0, |(weight, _)| weight) {
                best = Some((weight, language));
            }
        }
        best.map(|(_, language)| language)
    }

    /// What the program says in it; `None` for English, which needs no saying again.
    pub fn catalogue(self) -> Option<&'static Catalogue> {
        static FRENCH: LazyLock<Catalogue> =
            LazyLock::new(|| ours(Language::French, include_str!("../languages/fr.po")));
        static SPANISH: LazyLock<Catalogue> =
            LazyLock::new(|| ours(Language::Spanish, include_str!("../languages/es.po")));
        static GERMAN: LazyLock<Catalogue> =
            LazyLock::new(|| ours(Language::German, include_str!("../languages/de.po")));
        match self {
            Self::English => None,
            Self::French => Some(&FRENCH),
            Self::Spanish => Some(&SPANISH),
            Self::German => Some(&GERMAN),
        }
    }
}

/// A catalogue that is built in; the tests read each, so a fault cannot reach a user. Should one do
/// so all the same, English is better than nothing.
fn ours(language: Language, po: &str) -> Catalogue {
    Catalogue::read(language, po).unwrap_or_else(|_| Catalogue::empty(language))
}

#[cfg(test)]
mod tests {
    use super::{Catalogue, Language};

    #[test]
    fn every_catalogue_can_be_read() {
        for (language, po) in [
            (Language::French, include_str!("../languages/fr.po")),
            (Language::Spanish, include_str!("../languages/es.po")),
            (Language::German, include_str!("../languages/de.po")),
        ] {
            let catalogue = Catalogue::read(language, po).unwrap_or_else(|error| panic!("{error}"));
            assert!(catalogue.messages().count() > 3000, "{}", language.tag());
            // None of its messages is said by another one, or by none.
            assert_ne!(catalogue.text("Benches"), "Benches");
        }
    }

    #[test]
    fn a_browser_gets_the_language_that_it_prefers_among_ours() {
        for (accepted, expected) in [
            ("de", Some(Language::German)),
            ("de-AT,de;q=0.9,en;q=0.8", Some(Language::German)),
            ("it,fr-CA;q=0.7,en;q=0.8", Some(Language::English)),
            ("pt-BR, ES ; q=0.5", Some(Language::Spanish)),
            ("it", None),
            ("fr;q=0", None),
            ("fr;q=much", None),
            ("*", None),
            ("", None),
        ] {
            assert_eq!(Language::preferred(accepted), expected, "{accepted}");
        }
    }
}
