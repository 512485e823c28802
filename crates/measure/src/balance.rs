//! A mass as a person types it or a balance prints it, read without losing a digit.
//!
//! A balance that is connected as a keyboard types its whole print line into the field, and how
//! such a line looks depends on the balance. What is understood here is what such lines have in
//! common:
//!
//! ```text
//! [flags] [sign] number unit [flags]        ST,GS,+ 1501.2 g     N  +  1.5012 kg     1501.2 g
//! [sign] number                             1501.2               +  1501.2           (grams)
//! ```
//!
//! * Flags say whether the reading stood still (`ST`, `S`; not yet: `US`, `D`, `?`) and what it is
//!   the mass of (`GS`, `G` gross; `NT`, `N` net; `TR`, `T`, `PT` the tare alone). Which letters
//!   balances use is common practice, no published source; no make's own print format is held to.
//! * The unit is grams, kilograms or pounds. A number alone is in grams, because the field says
//!   so; a line with flags and no unit is refused, because nobody has said so.
//! * Whatever else stands there is refused. A mass that is taken for another is worse than one
//!   that has to be typed again.
//!
//! Source: 1 lb = 0.453 592 37 kg exactly, international yard and pound agreement of 1959, in
//! NIST SP 811 (2008), appendix B.

mod words;

use crate::reading::{self, ReadingError};
use rust_decimal::Decimal;
use std::fmt;
use thiserror::Error;
use words::{Word, words};

/// Grams in one pound: 453.59237, exactly.
const GRAMS_IN_A_POUND: Decimal = Decimal::from_parts(45_359_237, 0, 0, false, 5);
/// No print line is longer, in characters; what is longer was pasted.
const LONGEST_LINE: usize = 60;
/// No balance of the trade shows more decimals of a gram.
const FINEST_BALANCE: u32 = 4;

/// The unit of a mass.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MassUnit {
    /// g.
    Gram,
    /// kg, 1000 g.
    Kilogram,
    /// lb, 453.59237 g.
    Pound,
}

impl MassUnit {
    /// How it is written behind a number.
    pub fn symbol(self) -> &'static str {
        match self {
            Self::Gram => "g",
            Self::Kilogram => "kg",
            Self::Pound => "lb",
        }
    }

    fn named(word: &str) -> Option<Self> {
        match word.to_ascii_lowercase().as_str() {
            "g" | "gram" | "grams" => Some(Self::Gram),
            "kg" | "kilogram" | "kilograms" => Some(Self::Kilogram),
            "lb" | "lbs" | "pound" | "pounds" => Some(Self::Pound),
            _ => None,
        }
    }

    /// Exactly this many of the unit, in grams. `None` when that does not fit in 28 digits.
    fn in_grams(self, value: Decimal) -> Option<Decimal> {
        match self {
            Self::Gram => Some(value),
            // The point moves by three; a product would bring zeros that nobody has read.
            Self::Kilogram if value.scale() >= 3 => {
                Decimal::try_from_i128_with_scale(value.mantissa(), value.scale() - 3).ok()
            }
            Self::Kilogram => value.checked_mul(Decimal::ONE_THOUSAND).map(|grams| grams.trunc()),
            Self::Pound => value.checked_mul(GRAMS_IN_A_POUND).map(|grams| grams.normalize()),
        }
    }
}

/// A mass with everything that was said about it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MassReading {
    value: Decimal,
    unit: MassUnit,
    grams: Decimal,
    line: Option<String>,
}

impl MassReading {
    /// The number as it was read, in [`MassReading::unit`], with the decimals that were there.
    pub fn value(&self) -> Decimal {
        self.value
    }

    /// The unit that it was read in.
    pub fn unit(&self) -> MassUnit {
        self.unit
    }

    /// The exact mass, g.
    pub fn grams(&self) -> Decimal {
        self.grams
    }

    /// What stood there, where it was more than a number of grams: to be kept beside the mass.
    pub fn as_read(&self) -> Option<&str> {
        self.line.as_deref()
    }
}

/// What was understood: `1.5012 kg = 1501.2 g`; in grams only the mass.
impl fmt::Display for MassReading {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.unit != MassUnit::Gram {
            write!(f, "{} {} = ", self.value, self.unit.symbol())?;
        }
        write!(f, "{} g", shown(self.grams))
    }
}

/// Why a text is not a mass.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum MassError {
    /// The number itself cannot be read.
    #[error(transparent)]
    Number(#[from] ReadingError),
    /// The reading still moved.
    #[error(
        "the balance says that the reading had not settled (“{flag}”); wait until it stands still and take it again"
    )]
    Unsettled {
        /// What says so.
        flag: String,
    },
    /// There is more or less on the balance than it can weigh.
    #[error(
        "the balance says that it is out of its range (“{flag}”); look at what is on the pan and weigh again"
    )]
    OutOfRange {
        /// What says so.
        flag: String,
    },
    /// It is the mass of the vessel.
    #[error("this is the tare (“{flag}”), not what was weighed in it; print the net mass")]
    Tare {
        /// What says so.
        flag: String,
    },
    /// It is in a unit that is not understood.
    #[error("“{unit}” is not a unit of mass that is understood here; weigh in g, kg or lb")]
    UnitUnknown {
        /// What stands where the unit should.
        unit: String,
    },
    /// It is a line of a balance that names no unit.
    #[error(
        "the line “{line}” names no unit; let the balance print it, or type {number} alone if it is in g"
    )]
    UnitMissing {
        /// What was typed.
        line: String,
        /// The number in it.
        number: String,
    },
    /// There is more than one number.
    #[error(
        "“{line}” holds more than one number, {first} and {second}; give one mass, like 1501.2 or 1.5012 kg"
    )]
    Several {
        /// What was typed.
        line: String,
        /// The first number.
        first: String,
        /// The second.
        second: String,
    },
    /// Something stands there that could change what the number means.
    #[error(
        "“{part}” in “{line}” is not understood; give the mass like 1501.2, 1.5012 kg or 3.3095 lb"
    )]
    NotUnderstood {
        /// What was typed.
        line: String,
        /// What of it.
        part: String,
    },
}

/// Reads a mass that somebody typed, or a print line of a balance.
///
/// ```
/// use stonewear_measure::balance;
/// let mass = balance::read("ST,GS,+  1.5012 kg").unwrap();
/// assert_eq!(mass.grams().to_string(), "1501.2");
/// assert_eq!(mass.to_string(), "1.5012 kg = 1501.2 g");
/// ```
///
/// # Errors
/// Says what is not understood, or why the balance's reading cannot stand, and what would be right.
pub fn read(typed: &str) -> Result<MassReading, MassError> {
    let text = typed.trim_matches(|c: char| c.is_whitespace() || c.is_control());
    if text.is_empty() || text.chars().count() > LONGEST_LINE {
        return Err(no_number(text));
    }
    let line = one_line(text);
    let words = words(&line);
    let mut numbers = words.iter().enumerate().filter_map(|(at, word)| match word {
        Word::Number(number) => Some((at, number.as_str())),
        _ => None,
    });
    let Some((at, number)) = numbers.next() else {
        judge_flags(&line, &words)?;
        return Err(no_number(&line));
    };
    if let Some((_, second)) = numbers.next() {
        return Err(MassError::Several {
            first: number.to_owned(),
            second: second.to_owned(),
            line,
        });
    }
    let (before, behind) = (&words[..at], &words[at + 1..]);
    let (unit, behind) = match behind.split_first() {
        Some((Word::Letters(unit), behind)) => (Some(unit), behind),
        _ => (None, behind),
    };
    // Why a reading cannot stand is told first: a unit would not mend it.
    judge_flags(&line, before)?;
    judge_flags(&line, behind)?;
    let has_flags = !before.is_empty() || !behind.is_empty();
    let unit = match unit {
        // Letters that were typed for digits: no unit was meant.
        Some(unit) if unit.chars().all(|c| "oOlI".contains(c)) => return Err(no_number(&line)),
        Some(unit) => {
            MassUnit::named(unit).ok_or_else(|| MassError::UnitUnknown { unit: unit.to_owned() })?
        }
        None if has_flags => {
            return Err(MassError::UnitMissing { number: number.to_owned(), line });
        }
        None => MassUnit::Gram,
    };
    let value = reading::read(number)?;
    let too_long = || ReadingError::TooLong { typed: number.to_owned() };
    let grams = unit.in_grams(value).ok_or_else(too_long)?;
    let is_plain = unit == MassUnit::Gram && !has_flags;
    Ok(MassReading { value, unit, grams, line: (!is_plain).then_some(line) })
}

/// A mass in grams as it is shown to people: as it was read, or, where a unit conversion brought
/// more digits than a balance has, to the hundredth of a gram. What is recorded stays exact.
pub fn shown(grams: Decimal) -> Decimal {
    if grams.scale() > FINEST_BALANCE { grams.round_dp(2) } else { grams }
}

/// What is wrong with a text that holds no number.
fn no_number(text: &str) -> MassError {
    reading::read(text).err().unwrap_or(ReadingError::Missing).into()
}

/// Refuses flags that say that the reading cannot stand, and flags that are not known.
fn judge_flags(line: &str, flags: &[Word]) -> Result<(), MassError> {
    let flags: Vec<String> = flags.iter().map(|flag| flag.as_text().to_uppercase()).collect();
    for flag in flags {
        match flag.as_str() {
            "ST" | "S" | "STABLE" => {}
            "GS" | "G" | "GROSS" | "NT" | "N" | "NET" | "WEIGHT" | "WT" | "MASS" => {}
            "US" | "D" | "UNSTABLE" | "?" => return Err(MassError::Unsettled { flag }),
            "TR" | "T" | "PT" | "TARE" => return Err(MassError::Tare { flag }),
            "OL" | "UL" | "OVERLOAD" | "UNDERLOAD" | "ERR" | "ERROR" => {
                return Err(MassError::OutOfRange { flag });
            }
            // A display full of one sign shows that there is nothing to show.
            _ if is_full_of_one_sign(&flag) => return Err(MassError::OutOfRange { flag }),
            // Nothing but a word: no number was typed at all.
            _ if flag == line.to_uppercase() => return Err(no_number(line)),
            _ => {
                return Err(MassError::NotUnderstood { line: line.to_owned(), part: flag });
            }
        }
    }
    Ok(())
}

/// Whether a word is one sign, or H or L, again and again.
fn is_full_of_one_sign(flag: &str) -> bool {
    let mut letters = flag.chars();
    let first = letters.next();
    flag.len() >= 3
        && first.is_some_and(|c| "+-HL".contains(c))
        && letters.all(|c| Some(c) == first)
}

/// A text whose runs of spaces and control characters are one space each.
fn one_line(text: &str) -> String {
    let parts = text.split(|c: char| c.is_whitespace() || c.is_control());
    parts.filter(|part| !part.is_empty()).collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests;
