//! Short readable codes: what people write on bags, jars and papers.
//!
//! People and equipment get the code that the laboratory gives them. Samples, specimens, checks,
//! runs and results get the next code of their kind and year, worked out from the state, so that
//! the same facts always lead to the same codes.
//!
//! A laboratory holds a code for everything that was ever done, by whom and with what. One of up to 15 bytes,
//! which is every code that we give, is held where it stands and not on the heap.

use ecow::EcoString;
use serde::{Deserialize, Serialize};
use std::fmt;

macro_rules! code {
    ($(#[$doc:meta])* $name:ident) => {
        $(#[$doc])*
        #[derive(
            Debug, Clone, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize,
        )]
        #[serde(transparent)]
        pub struct $name(EcoString);

        impl $name {
            /// The code as text.
            pub fn as_str(&self) -> &str {
                &self.0
            }
        }

        impl From<String> for $name {
            fn from(text: String) -> Self {
                Self(text.into())
            }
        }

        impl From<&str> for $name {
            fn from(text: &str) -> Self {
                Self(text.into())
            }
        }

        impl std::borrow::Borrow<str> for $name {
            fn borrow(&self) -> &str {
                &self.0
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str(&self.0)
            }
        }
    };
}

code!(
    /// A person: their initials, say `RVK`.
    PersonCode
);
code!(
    /// A piece of equipment: `JAR-3`, as it is marked on the item.
    ItemCode
);
code!(
    /// What a person is authorised for: `A26-003`, the third that was granted in 2026.
    AuthorisationCode
);
code!(
    /// A check: `C26-014`, the fourteenth that was begun in 2026.
    CheckCode
);
code!(
    /// What was received: `S26-031`.
    SampleCode
);
code!(
    /// What was made up for one jar: `S26-031-2`, the second of its sample.
    SpecimenCode
);
code!(
    /// One turning of jars: `R26-027`.
    RunCode
);
code!(
    /// A loss: `L26-022`.
    ResultCode
);
code!(
    /// A doubt that was opened: `D26-001`.
    DoubtCode
);
code!(
    /// A designed study: `Y26-001`.
    StudyCode
);

code!(
    /// A lot of reference aggregate: `RA-2`, as it is marked on its bin.
    LotCode
);
code!(
    /// An investigation of a reference result: `N26-001`.
    InvestigationCode
);
code!(
    /// A round between laboratories: `B26-001`.
    RoundCode
);
code!(
    /// Under which a laboratory takes part in one round: `KT-47`.
    ParticipantCode
);
code!(
    /// A score in a proficiency round: `P26-004`.
    ScoreCode
);
code!(
    /// An experiment: `X26-001`.
    ExperimentCode
);
code!(
    /// A file of the past that was taken over: `H26-001`.
    ImportCode
);

/// The code `letter`+`year`-`number`, numbers of at least three digits.
pub(crate) fn numbered(letter: char, year: i16, number: usize) -> String {
    format!("{letter}{:02}-{number:03}", year.rem_euclid(100))
}

/// Whether a code could be one that [`numbered`] gives, now or later. No item may have it: what is
/// found by a code alone, such as an attached file, must belong to one thing.
pub(crate) fn is_numbered(code: &str) -> bool {
    let Some((head, number)) = code.split_once('-') else { return false };
    let is_digits = |text: &str| text.bytes().all(|b| b.is_ascii_digit());
    let year = head
        .strip_prefix(['A', 'B', 'C', 'D', 'G', 'H', 'L', 'M', 'N', 'P', 'R', 'S', 'X', 'Y'])
        .unwrap_or_default();
    let number = number.split_once('-').map_or(number, |(sample, _)| sample);
    year.len() == 2 && is_digits(year) && number.len() >= 3 && is_digits(number)
}

/// Upper-cases a typed code and keeps it only if it can be written on a label: letters, digits,
/// `-` and `.`, beginning with a letter or digit, 16 characters at most.
pub(crate) fn tidy(typed: &str) -> Option<String> {
    let code = typed.trim().to_uppercase();
    let fits = (1..=16).contains(&code.len());
    let allowed = code.bytes().all(|b| b.is_ascii_alphanumeric() || b"-.".contains(&b));
    let starts_well = code.bytes().next().is_some_and(|b| b.is_ascii_alphanumeric());
    (fits && allowed && starts_well).then_some(code)
}

/// The code in what was typed or scanned, in capitals: a label may hold the address of a page,
/// `http://…/find?q=JAR-3`, instead of the code alone.
pub fn scanned(typed: &str) -> String {
    let typed = typed.trim();
    let code = typed.split_once("/find?q=").map_or(typed, |(_, code)| code);
    code.to_uppercase()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_code_is_found_in_what_a_scanner_types() {
        for (typed, code) in [
            ("jar-3", "JAR-3"),
            (" S26-031-2\r", "S26-031-2"),
            ("http://bench.example:7007/find?q=JAR-3", "JAR-3"),
            ("", ""),
        ] {
            assert_eq!(scanned(typed), code, "{typed}");
        }
    }

    #[test]
    fn codes_are_short_and_fit_on_a_label() {
        assert_eq!(numbered('S', 2026, 31), "S26-031");
        assert_eq!(numbered('C', 2031, 1204), "C31-1204");
        assert_eq!(tidy(" jar-3 "), Some("JAR-3".to_owned()));
        for taken in ["S26-031", "C31-1204", "S26-031-2", "R00-000"] {
            assert!(is_numbered(taken), "{taken}");
        }
        for free in ["S118", "JAR-3", "S26-31", "S2X-001", "Q26-001", "S026-001", "S26-00A"] {
            assert!(!is_numbered(free), "{free}");
        }
        for bad in ["", "-3", "jar 3", "jar#3", "A23456789012345678", "é"] {
            assert_eq!(tidy(bad), None, "{bad}");
        }
    }
}
