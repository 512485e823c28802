//! The mark of a paper: a fingerprint of what it says, in print, in a square code, and in the
//! properties of its file, so that anybody who holds the paper can ask whether it still stands.

use crate::{Sheet, TestReport};
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use std::fmt::Write;
use stonewear_lab::state::PRINTED_FINGERPRINT;

/// How the mark begins in the properties of a file.
const BEGINS: &str = "stonewear-paper/1";
/// Stands where there is no number.
const NONE: &str = "-";

/// What tells a paper from all others.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Mark {
    /// What it is: `test-report`, `check-record`.
    pub paper: String,
    /// Its number, if it has one.
    pub number: String,
    /// SHA-256 of what it says: its plain data as canonical JSON (RFC 8785), without this mark.
    pub fingerprint: String,
    /// The laboratory: the hash of the first fact of its journal.
    pub laboratory: String,
    /// Where the journal stood when the paper was made.
    pub position: u64,
    /// What the square code says: the address of the paper's page, or its fingerprint.
    pub scanned: String,
}

/// Where a paper is made.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Origin {
    /// The laboratory: the hash of the first fact of its journal.
    pub laboratory: String,
    /// Where the journal stands.
    pub position: u64,
    /// The address of the laboratory's page; may be empty.
    pub page: String,
}

impl Mark {
    fn new(paper: &str, number: &str, said: &impl Serialize, origin: &Origin) -> Self {
        let fingerprint = fingerprint(said);
        let short = fingerprint.get(..PRINTED_FINGERPRINT).unwrap_or_default().to_uppercase();
        Self {
            paper: paper.to_owned(),
            number: number.to_owned(),
            scanned: if origin.page.is_empty() {
                short
            } else {
                format!("{}/papers/{short}", origin.page)
            },
            fingerprint,
            laboratory: origin.laboratory.clone(),
            position: origin.position,
        }
    }

    /// The fingerprint as it is printed: its first digits in groups of four.
    pub fn printed(&self) -> String {
        printed(&self.fingerprint)
    }

    /// The mark as it stands in the properties of a file.
    pub fn in_file(&self) -> String {
        let is_plain = |number: &str| {
            !number.is_empty()
                && number.bytes().all(|b| b.is_ascii_alphanumeric() || b"-/.".contains(&b))
        };
        let number = if is_plain(&self.number) { self.number.as_str() } else { NONE };
        format!(
            "{BEGINS} {} {number} {} {} {}",
            self.paper, self.fingerprint, self.laboratory, self.position
        )
    }

    /// Finds the mark in the bytes of a file; `None` in a file that carries none.
    pub fn read(file: &[u8]) -> Option<Self> {
        let starts = file.windows(BEGINS.len()).enumerate();
        starts
            .filter(|(_, window)| *window == BEGINS.as_bytes())
            .find_map(|(at, _)| Self::parse(&file[at..]))
    }

    fn parse(bytes: &[u8]) -> Option<Self> {
        // Long enough for every mark; the rest of the file is something else.
        let text: String = bytes
            .iter()
            .take(400)
            .map(|b| char::from(*b))
            .take_while(|c| c.is_ascii_alphanumeric() || " -/.".contains(*c))
            .collect();
        let mut words = text.split(' ').skip(1);
        let mut word = || words.next().map(str::to_owned);
        let (paper, number) = (word()?, word()?);
        let (fingerprint, laboratory) = (word()?, word()?);
        let position = word()?;
        let is_hash = |text: &str| text.len() == 64 && text.bytes().all(|b| b.is_ascii_hexdigit());
        if !is_hash(&fingerprint) || !is_hash(&laboratory) {
            return None;
        }
        Some(Self {
            paper,
            number: if number == NONE { String::new() } else { number },
            fingerprint,
            laboratory,
            position: position.parse().ok()?,
            scanned: String::new(),
        })
    }
}

/// A fingerprint as it is printed: its first digits in groups of four.
pub fn printed(fingerprint: &str) -> String {
    let digits = fingerprint.get(..PRINTED_FINGERPRINT).unwrap_or(fingerprint).to_uppercase();
    let groups: Vec<String> =
        digits.as_bytes().chunks(4).map(|few| String::from_utf8_lossy(few).into_owned()).collect();
    groups.join(" ")
}

/// SHA-256 of what is said, as canonical JSON (RFC 8785), in hexadecimal.
pub(crate) fn fingerprint(said: &impl Serialize) -> String {
    // Plain data of texts, lists and whole numbers always has this form.
    hash(&serde_json_canonicalizer::to_vec(said).unwrap_or_default())
}

/// SHA-256 of bytes in hexadecimal.
pub(crate) fn hash(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().fold(String::new(), |mut digits, byte| {
        let _ = write!(digits, "{byte:02x}");
        digits
    })
}

impl TestReport {
    /// With the mark of what it says.
    #[must_use]
    pub fn marked(self, origin: &Origin) -> Self {
        let plain = Self { mark: None, ..self };
        // Only an issued report goes by its number: a copy for checking is not that report.
        let (paper, number) = if plain.authorised.is_none() {
            ("draft", "")
        } else if plain.before_issue {
            ("copy-for-checking", "")
        } else {
            ("test-report", plain.number.as_str())
        };
        let mark = Mark::new(paper, number, &plain, origin);
        Self { mark: Some(mark), ..plain }
    }
}

impl Sheet {
    /// With the mark of what it says, as a paper of this kind with this number; the number may be
    /// empty.
    #[must_use]
    pub fn marked(self, paper: &str, number: &str, origin: &Origin) -> Self {
        let plain = Self { mark: None, ..self };
        let mark = Mark::new(paper, number, &plain, origin);
        Self { mark: Some(mark), ..plain }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn origin() -> Origin {
        Origin { laboratory: "ab".repeat(32), position: 41, page: String::new() }
    }

    #[test]
    fn what_is_said_makes_the_fingerprint_and_nothing_else_does() {
        let report = TestReport::example().marked(&origin());
        let mark = report.mark.clone().unwrap();
        assert_eq!(mark.scanned.len(), PRINTED_FINGERPRINT);
        // Marked twice, or made elsewhere in the journal, it says the same.
        let later = Origin { position: 42, page: "http://bench:7007".into(), ..origin() };
        let again = report.clone().marked(&later).mark.unwrap();
        assert_eq!(again.fingerprint, mark.fingerprint);
        assert_eq!(again.scanned, format!("http://bench:7007/papers/{}", mark.scanned));
        // Each word that is said counts.
        let mut changed = report;
        changed.loss.value = "14.7".into();
        assert_ne!(changed.marked(&origin()).mark.unwrap().fingerprint, mark.fingerprint);
    }

    #[test]
    fn a_mark_is_found_again_in_the_middle_of_a_file() {
        let mark = TestReport::example().marked(&origin()).mark.unwrap();
        let file =
            format!("%PDF-1.7 stonewear-paper/1 torn <rdf:li>{}</rdf:li> xx", mark.in_file());
        let read = Mark::read(file.as_bytes()).unwrap();
        assert_eq!(read, Mark { scanned: String::new(), ..mark.clone() });
        let sheet = Sheet::new("Check C26-001", "x").marked("check-record", "", &origin());
        let plain = sheet.mark.unwrap();
        assert_eq!(Mark::read(plain.in_file().as_bytes()).unwrap().number, "");
        for broken in ["", "stonewear-paper/1", "stonewear-paper/1 test-report L26-001/1 ab cd 7"] {
            assert_eq!(Mark::read(broken.as_bytes()), None, "{broken}");
        }
    }

    #[test]
    fn it_is_printed_in_groups() {
        assert_eq!(printed("0123456789abcdef0123456789abcdef"), "0123 4567 89AB CDEF 0123 4567");
    }
}
