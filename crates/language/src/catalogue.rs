//! All messages of a language, and a text said again by them.

use crate::Language;
use crate::lines;
use crate::local::localised;
use crate::markup;
use crate::pattern::{self, Part, Tag};
use std::cell::Cell;
use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::sync::{Arc, PoisonError, RwLock};
use thiserror::Error;

/// Texts that were said before are kept, up to so many; a page says mostly the same.
const MOST_KEPT: usize = 20_000;
/// A text within a text within a text is looked at so deep.
const DEEPEST: u8 = 8;
/// So many places are tried for the holes of messages in one text, so that no text, whoever typed it, keeps a
/// page waiting; what is not found till then stays English.
const MOST_TRIES: u32 = 120_000;
/// A text of more bytes is no message of ours, and is cut into sentences first.
const LONGEST: usize = 1_200;
/// A message with fewer characters of words for each hole is a light one, such as “{a} and {b}”: it is
/// asked last, and counts only where what is in its holes is said, too.
const LIGHT: usize = 7;
/// Where a text is cut when no message says the whole of it, the strongest first.
const JOINTS: [&str; 11] = ["\n", ". ", "; ", " · ", " – ", ": ", " (", ") ", ", ", " → ", ")"];

/// Why a catalogue cannot be read.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum CatalogueError {
    /// It is not a PO file.
    #[error("the file of {} is not a PO file: {why}", .language.tag())]
    Po {
        /// Whose file.
        language: Language,
        /// What is wrong with it.
        why: String,
    },
    /// A message or its translation cannot be meant.
    #[error("{}, “{message}”: {why}", .language.tag())]
    Message {
        /// Whose file.
        language: Language,
        /// The English message.
        message: String,
        /// What is wrong with it.
        why: String,
    },
}

/// How deep within another text a text stands, and how many tries are left for all of it.
#[derive(Debug, Clone, Copy)]
struct Ask<'t> {
    deep: u8,
    tries: &'t Cell<u32>,
}

impl<'t> Ask<'t> {
    fn top(tries: &'t Cell<u32>) -> Self {
        Self { deep: DEEPEST, tries }
    }

    fn deeper(self) -> Option<Self> {
        let deep = self.deep.checked_sub(1).filter(|_| self.tries.get() > 0)?;
        Some(Self { deep, ..self })
    }

    fn is_kept(self) -> bool {
        self.deep == DEEPEST || self.deep > 1 && self.tries.get() > 0
    }
}

/// A text said otherwise, and what in it no message says.
#[derive(Debug, Default)]
struct Said {
    words: String,
    missing: Vec<String>,
}

impl Said {
    fn push(&mut self, part: &Self) {
        self.words.push_str(&part.words);
        self.missing.extend(part.missing.iter().cloned());
    }
}

#[derive(Debug)]
struct Message {
    english: Vec<Part>,
    said: Vec<Part>,
    /// How many characters of the text its words take: the more, the surer.
    weight: usize,
}

impl Message {
    fn is_light(&self) -> bool {
        // A hole that takes only numbers or codes takes nothing by mistake.
        let takes_all = |part: &&Part| match part {
            Part::Words(_) => false,
            Part::Hole(name) => {
                !["number", "day", "code"].iter().any(|kind| name.starts_with(kind))
            }
        };
        self.weight < 2 * LIGHT * self.english.iter().filter(takes_all).count()
    }
}

/// What the program says in one language.
#[derive(Debug)]
pub struct Catalogue {
    language: Language,
    /// Messages without holes, by their text.
    whole: HashMap<String, String>,
    /// Messages with holes.
    holed: Vec<Message>,
    /// Which of them have a word: those whose rarest word does not stand in a text need no look.
    by_word: HashMap<String, Vec<usize>>,
    /// All messages, also those without a translation, and what the file says for each.
    english: BTreeMap<String, String>,
    kept: RwLock<HashMap<String, Arc<Said>>>,
}

impl Catalogue {
    /// A catalogue that says nothing.
    pub(crate) fn empty(language: Language) -> Self {
        Self {
            language,
            whole: HashMap::new(),
            holed: Vec::new(),
            by_word: HashMap::new(),
            english: BTreeMap::new(),
            kept: RwLock::new(HashMap::new()),
        }
    }

    /// Reads a PO file: `msgid` is the English message, `msgstr` its translation.
    ///
    /// # Errors
    /// Names the message that cannot be meant, and why: an unknown hole, an element that is lost.
    pub fn read(language: Language, po: &str) -> Result<Self, CatalogueError> {
        let no_po = |why: String| CatalogueError::Po { language, why };
        if let Some(fault) = lines::fault(po) {
            return Err(no_po(fault));
        }
        let file = polib::po_file::parse_from_reader(po.as_bytes())
            .map_err(|error| no_po(error.to_string()))?;
        let mut catalogue = Self::empty(language);
        let mut words = Vec::new();
        for message in file.messages() {
            let wrong = |why: String| CatalogueError::Message {
                language,
                message: message.msgid().to_owned(),
                why,
            };
            let english = pattern::read(message.msgid()).map_err(wrong)?;
            pattern::can_be_found(&english).map_err(wrong)?;
            let translation = message.msgstr().map_err(|why| wrong(format!("{why:?}")))?;
            catalogue.english.insert(message.msgid().to_owned(), translation.to_owned());
            if translation.is_empty() {
                continue;
            }
            let said = pattern::read(translation).map_err(wrong)?;
            same_holes(&english, &said).map_err(wrong)?;
            match (english.as_slice(), said.as_slice()) {
                ([Part::Words(text)], [Part::Words(said)]) => {
                    catalogue.whole.insert(plain_spaces(text), said.clone());
                }
                _ => {
                    let rarest = rare_words(&english);
                    if rarest.is_empty() {
                        return Err(wrong("it has no word of its own".to_owned()));
                    }
                    words.push(rarest);
                    let weight = weight(&english);
                    catalogue.holed.push(Message { english, said, weight });
                }
            }
        }
        catalogue.index(&words);
        Ok(catalogue)
    }

    /// Files each message with holes under the one of its words that the fewest others have.
    fn index(&mut self, words: &[Vec<String>]) {
        let mut often: HashMap<&str, usize> = HashMap::new();
        for word in words.iter().flatten() {
            *often.entry(word).or_default() += 1;
        }
        for (at, words) in words.iter().enumerate() {
            if let Some(word) = words.iter().min_by_key(|word| often[word.as_str()]) {
                self.by_word.entry(word.clone()).or_default().push(at);
            }
        }
    }

    /// Its language.
    pub fn language(&self) -> Language {
        self.language
    }

    /// Every English message of the file.
    pub fn messages(&self) -> impl Iterator<Item = &str> {
        self.english.keys().map(String::as_str)
    }

    /// A message as the file has it, with its holes: for whoever fills them on their own.
    pub fn message(&self, english: &str) -> Option<&str> {
        self.english.get(english).map(String::as_str).filter(|said| !said.is_empty())
    }

    /// A plain text, said in the language; what no message says stays as it is.
    pub fn text(&self, english: &str) -> String {
        self.said(english, Ask::top(&Cell::new(MOST_TRIES))).words.clone()
    }

    /// A page of ours, or a part of one, said in the language. Code, scripts, what is typed in a
    /// field and every element with `translate="no"` stay as they are.
    pub fn page(&self, html: &str) -> String {
        markup::rewrite(html, self.language, &mut |text| self.text(text))
    }

    /// The texts of a page that no message says: what a translator has still to do. Codes, numbers
    /// and units are nobody's work.
    pub fn missing(&self, html: &str) -> BTreeSet<String> {
        let mut missing = BTreeSet::new();
        markup::rewrite(html, self.language, &mut |text| {
            let said = self.said(text, Ask::top(&Cell::new(MOST_TRIES)));
            missing.extend(said.missing.iter().cloned());
            said.words.clone()
        });
        missing
    }

    fn said(&self, text: &str, ask: Ask<'_>) -> Arc<Said> {
        if let Some(said) = self.kept.read().unwrap_or_else(PoisonError::into_inner).get(text) {
            return Arc::clone(said);
        }
        let said = Arc::new(self.say(text, ask));
        // Near the bottom, or out of tries, a text may be said less well than from the top.
        if ask.is_kept() {
            let mut kept = self.kept.write().unwrap_or_else(PoisonError::into_inner);
            if kept.len() >= MOST_KEPT {
                kept.clear();
            }
            kept.insert(text.to_owned(), Arc::clone(&said));
        }
        said
    }

    fn say(&self, text: &str, ask: Ask<'_>) -> Said {
        let inner = text.trim();
        if !has_words(inner) {
            return Said { words: localised(text, self.language), missing: Vec::new() };
        }
        let start = text.len() - text.trim_start().len();
        let mut said = self
            .in_any_form(inner, |form| self.by_whole_message(form))
            .or_else(|| self.in_any_form(inner, |form| self.by_message(form, ask)))
            .or_else(|| self.in_parts(inner, ask))
            .or_else(|| self.by_a_light_message(inner, ask))
            .unwrap_or_else(|| Said {
                words: localised(inner, self.language),
                missing: vec![inner.to_owned()],
            });
        said.words = format!("{}{}{}", &text[..start], said.words, &text[start + inner.len()..]);
        said
    }

    /// As a message without holes says it.
    fn by_whole_message(&self, text: &str) -> Option<Said> {
        let (canonical, numbers) = canonical(text);
        let said = self.whole.get(&canonical)?;
        let number_of = |number: u32| numbers.get((number as usize).checked_sub(1)?).copied();
        Some(Said { words: renumbered(said, number_of), missing: Vec::new() })
    }

    /// As the message with holes says it that fits the whole of the text best.
    fn by_message(&self, text: &str, ask: Ask<'_>) -> Option<Said> {
        let ask = ask.deeper().filter(|_| text.len() <= LONGEST)?;
        let candidates = self.candidates(&plain_spaces(text), false);
        candidates.iter().find_map(|message| self.filled(message, text, ask))
    }

    fn by_a_light_message(&self, text: &str, ask: Ask<'_>) -> Option<Said> {
        let ask = ask.deeper().filter(|_| text.len() <= LONGEST)?;
        let said = |message: &&Message| {
            self.filled(message, text, ask).filter(|said| said.missing.is_empty())
        };
        self.candidates(text, true).iter().find_map(said)
    }

    /// Messages with holes that may fit, the heaviest first.
    fn candidates(&self, text: &str, light: bool) -> Vec<&Message> {
        let mut candidates: Vec<&Message> = words_of(text)
            .filter_map(|word| self.by_word.get(word))
            .flatten()
            .map(|at| &self.holed[*at])
            .filter(|message| message.is_light() == light)
            .collect();
        candidates.sort_by_key(|message| std::cmp::Reverse(message.weight));
        candidates
    }

    /// The message with what stands in its holes, said too; `None` where it does not fit.
    fn filled(&self, message: &Message, text: &str, ask: Ask<'_>) -> Option<Said> {
        let found = pattern::find(&message.english, text, ask.tries)?;
        let mut said = Said::default();
        for part in &message.said {
            match part {
                Part::Words(words) => said.words.push_str(&renumbered(words, |number| {
                    found.elements.iter().find(|(known, _)| *known == number).map(|(_, is)| *is)
                })),
                Part::Hole(name) => {
                    let (_, held) = found.holes.iter().find(|(known, _)| known == name)?;
                    said.push(&self.said(held, ask));
                }
            }
        }
        Some(said)
    }

    /// The text as it stands, else with a small letter at its front, else without the sign at its end,
    /// else both: what was taken away is put back.
    fn in_any_form(&self, text: &str, say: impl Fn(&str) -> Option<Said>) -> Option<Said> {
        let in_either_case = |text: &str| {
            say(text).or_else(|| {
                let first = text.chars().next().filter(|c| c.is_uppercase())?;
                let small = first.to_lowercase().chain(text.chars().skip(1)).collect::<String>();
                let mut said = say(&small)?;
                let mut letters = said.words.chars();
                let first = letters.next()?;
                said.words = first.to_uppercase().chain(letters).collect();
                Some(said)
            })
        };
        in_either_case(text).or_else(|| {
            let sign = text.chars().next_back().filter(|c| ".:!?".contains(*c))?;
            let mut said = in_either_case(text[..text.len() - 1].trim_end())?;
            // A double sign stands apart in French.
            if self.language == Language::French && sign != '.' {
                said.words.push('\u{a0}');
            }
            said.words.push(sign);
            Some(said)
        })
    }

    /// No message says the whole: element by element, then sentence by sentence. `None` where that
    /// says no more.
    fn in_parts(&self, text: &str, ask: Ask<'_>) -> Option<Said> {
        let is_tag = |c: char| Tag::of(c).is_some();
        if text.contains(is_tag) {
            let mut said = Said::default();
            for piece in text.split_inclusive(is_tag) {
                let words = piece.trim_end_matches(is_tag);
                said.push(&self.said(words, ask));
                said.words.push_str(&piece[words.len()..]);
            }
            return Some(said);
        }
        // Cut at the first joint where at least one of the parts is said.
        let ask = ask.deeper()?;
        JOINTS.iter().filter(|joint| text.contains(**joint)).find_map(|joint| {
            let parts: Vec<Arc<Said>> =
                text.split(joint).map(|part| self.said(part, ask)).collect();
            let is_said = |(part, said): (&str, &Arc<Said>)| {
                !part.trim().is_empty() && said.missing.is_empty()
            };
            if !text.split(joint).zip(&parts).any(is_said) {
                return None;
            }
            let mut said = Said::default();
            for (at, part) in parts.iter().enumerate() {
                if at > 0 {
                    // A double sign stands apart in French.
                    said.words.push_str(match (self.language, *joint) {
                        (Language::French, ": ") => "\u{a0}: ",
                        (Language::French, "; ") => "\u{202f}; ",
                        (_, joint) => joint,
                    });
                }
                said.push(part);
            }
            Some(said)
        })
    }
}

/// Whether a text says anything that could be said otherwise: a word that is neither a code nor a
/// unit nor, where it stands alone, a name for programs such as `half-even`.
fn has_words(text: &str) -> bool {
    let is_name = text.contains(['-', '@', '_', '/'])
        && text
            .chars()
            .all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || "-@_/.".contains(c));
    let mut words = text
        .split(|c: char| !c.is_alphanumeric() && !"-_'’@/{}".contains(c))
        .filter(|word| !pattern::is_slot(word));
    !is_name
        && words.any(|word| {
            word.chars().filter(|c| c.is_alphabetic()).count() > 1
                && !word.contains(|c: char| c.is_ascii_digit() || c == '@')
                && word.chars().any(char::is_lowercase)
                && !word.chars().skip(1).any(char::is_uppercase)
                && !SAME_EVERYWHERE.contains(&word)
        })
}

/// Words that are the same in every language.
const SAME_EVERYWHERE: [&str; 14] = [
    "mm",
    "kg",
    "cm",
    "ml",
    "µm",
    "min",
    "rpm",
    "http",
    "https",
    "www",
    "pt",
    "ewma",
    "cusum",
    "Stonewear",
];

fn plain_spaces(text: &str) -> String {
    text.chars().map(|c| if matches!(c, '\u{a0}' | '\u{202f}') { ' ' } else { c }).collect()
}

/// The text with its elements counted from 1 in the order in which they begin, and their own numbers.
fn canonical(text: &str) -> (String, Vec<u32>) {
    let mut numbers: Vec<u32> = Vec::new();
    let text = plain_spaces(text)
        .chars()
        .map(|c| match Tag::of(c) {
            None => c,
            Some(tag) => {
                let known = numbers.iter().position(|number| *number == tag.number());
                let at = known.unwrap_or_else(|| {
                    numbers.push(tag.number());
                    numbers.len() - 1
                });
                tag.with(u32::try_from(at + 1).unwrap_or(Tag::MOST)).char()
            }
        })
        .collect();
    (text, numbers)
}

fn renumbered(text: &str, number_of: impl Fn(u32) -> Option<u32>) -> String {
    text.chars()
        .map(|c| match Tag::of(c) {
            None => c,
            Some(tag) => tag.with(number_of(tag.number()).unwrap_or(Tag::MOST)).char(),
        })
        .collect()
}

/// The words of a text as they are filed: letters that follow each other.
fn words_of(text: &str) -> impl Iterator<Item = &str> {
    let words: BTreeSet<&str> =
        text.split(|c: char| !c.is_alphabetic()).filter(|word| !word.is_empty()).collect();
    words.into_iter()
}

/// The words of a message that must stand in a text as whole words.
fn rare_words(message: &[Part]) -> Vec<String> {
    let mut all = Vec::new();
    for (at, part) in message.iter().enumerate() {
        let Part::Words(words) = part else { continue };
        // A word that touches a hole may be half a word in the text.
        let mut words: &str = words;
        if at > 0 {
            words = words.trim_start_matches(char::is_alphabetic);
        }
        if at + 1 < message.len() {
            words = words.trim_end_matches(char::is_alphabetic);
        }
        all.extend(words_of(words).map(str::to_owned));
    }
    all
}

fn weight(message: &[Part]) -> usize {
    let words = message.iter().map(|part| match part {
        Part::Words(words) => words.chars().count() * 2,
        // A hole that takes only some texts is surer than one that takes all.
        Part::Hole(name) => usize::from(name.starts_with("number") || name.starts_with("code")),
    });
    words.sum()
}

/// A translation uses the holes and elements of its message, each of them at least once.
fn same_holes(english: &[Part], said: &[Part]) -> Result<(), String> {
    let holes = |parts: &[Part]| -> BTreeSet<String> {
        parts
            .iter()
            .flat_map(|part| match part {
                Part::Hole(name) => vec![format!("{{{name}}}")],
                Part::Words(words) => words
                    .chars()
                    .filter_map(Tag::of)
                    .map(|tag| format!("<{}>", tag.number()))
                    .collect(),
            })
            .collect()
    };
    let (wanted, has) = (holes(english), holes(said));
    if wanted == has {
        return Ok(());
    }
    let list = |set: &BTreeSet<String>, other: &BTreeSet<String>| {
        set.difference(other).cloned().collect::<Vec<_>>().join(" ")
    };
    Err(format!(
        "lost in translation: “{}”; not in the message: “{}”",
        list(&wanted, &has),
        list(&has, &wanted)
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn german(messages: &[(&str, &str)]) -> Catalogue {
        let head = "msgid \"\"\nmsgstr \"Content-Type: text/plain; charset=UTF-8\\n\"\n".to_owned();
        let po = messages.iter().fold(head, |po, (english, said)| {
            format!("{po}\nmsgid \"{english}\"\nmsgstr \"{said}\"\n")
        });
        Catalogue::read(Language::German, &po).unwrap()
    }

    #[test]
    fn the_surest_message_wins() {
        let catalogue = german(&[
            ("register it first", "zuerst anmelden"),
            ("Register {what}", "{what} anmelden"),
            ("a jar", "einen Prüfzylinder"),
            ("{a} and {b}", "{a} und {b}"),
            ("{what} is held", "{what}: gesperrt"),
            ("held", "gesperrt"),
            ("{number} entries wait", "{number} Eingaben warten"),
            ("Recorded", "Erfasst"),
        ]);
        for (english, said) in [
            // The whole text before one with a hole, whatever its first letter and its last sign.
            ("Register it first.", "Zuerst anmelden."),
            ("Register a jar", "einen Prüfzylinder anmelden"),
            // A light message joins what is said, and nothing else.
            ("a jar and held", "einen Prüfzylinder und gesperrt"),
            ("sand and gravel", "sand and gravel"),
            ("JAR-3 is held; a jar", "JAR-3: gesperrt; einen Prüfzylinder"),
            // A slot of the script's stays.
            ("{number} entries wait", "{number} Eingaben warten"),
            ("Recorded: {what}.", "Erfasst: {what}."),
        ] {
            assert_eq!(catalogue.text(english), said, "{english}");
        }
    }

    #[test]
    fn a_translation_keeps_what_its_message_has() {
        for (english, said, fault) in [
            ("made by {person}", "gemacht", "lost in translation: “{person}”"),
            ("made", "gemacht {day}", "not in the message: “{day}”"),
            ("<1>made</1>", "gemacht", "lost in translation: “<1>”"),
            ("{a}{b}", "{a}{b}", "nothing stands between"),
            ("{a}: {b}", "{a}: {b}", "no word of its own"),
        ] {
            let head = "msgid \"\"\nmsgstr \"Language: fr\\n\"";
            let po = format!("{head}\n\nmsgid \"{english}\"\nmsgstr \"{said}\"\n");
            let error = Catalogue::read(Language::French, &po).unwrap_err().to_string();
            assert!(error.contains(fault), "{error}");
        }
    }

    /// Whoever types a text cannot make a page wait: it is left as it is after so many tries.
    #[test]
    fn a_long_text_is_left_and_does_not_keep_anybody_waiting() {
        let catalogue = Language::French.catalogue().unwrap();
        let sentence = "a jar is held and a balance is not in service; ";
        for often in [20, 300, 2000] {
            let said = catalogue.text(&sentence.repeat(often));
            assert!(said.len() >= sentence.len() * often / 2);
        }
    }
}
