//! The sieves of the general sets, by opening and by US designation.
//!
//! Two series are in use for aggregates and share many openings:
//! * the US set (ASTM E11), whose sieves below 6.3 mm also go by a number and those above by
//!   inches: 19.0 mm is 3/4 in., 4.75 mm is No. 4;
//! * the metric series R20 (ISO 565, ISO 3310-1 and -2) of which EN test methods take their sieves.
//!
//! Where the openings come from: 19.0, 16.0, 12.5, 9.5, 6.3, 4.75 and 1.18 mm are seen in the
//! micro-Deval documents (MN1216, SLIDES), 13.2 and 6.7 mm in the Ontario ones (LS603), 31.5 to
//! 1.6 mm of the R20 series in the European ones (MDS, BRE-MDmethod). Every other opening, and
//! every US designation, is from memory and unconfirmed.

use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;
use stonewear_measure::Decimal;
use thiserror::Error;

/// A sieve of a general set, known by its opening.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Sieve {
    opening_mm: Decimal,
}

/// A text that names no sieve of a general set.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum SieveError {
    /// Nothing was typed.
    #[error("a sieve is missing; write its opening in mm, or its US designation")]
    Missing,
    /// Neither an opening nor a designation.
    #[error(
        "“{typed}” is not a sieve; write its opening in mm like 19.0, or its US designation like 3/4 in. or No. 4"
    )]
    NotASieve {
        /// What was typed.
        typed: String,
    },
    /// A number, but no sieve of a general set has this opening.
    #[error("no sieve of the general sets has an opening of {typed} mm; the nearest are {nearest}")]
    Unknown {
        /// The opening that was typed.
        typed: String,
        /// The sieves around it.
        nearest: String,
    },
    /// A number that can be read in two ways.
    #[error("{0}")]
    Number(String),
}

/// US set (ASTM E11), coarsest first: opening in mm, and what people call it.
const US: [(&str, &str); 56] = [
    ("125", "5 in."),
    ("106", "4.24 in."),
    ("100", "4 in."),
    ("90", "3 1/2 in."),
    ("75", "3 in."),
    ("63", "2 1/2 in."),
    ("53", "2.12 in."),
    ("50", "2 in."),
    ("45", "1 3/4 in."),
    ("37.5", "1 1/2 in."),
    ("31.5", "1 1/4 in."),
    ("26.5", "1.06 in."),
    ("25.0", "1 in."),
    ("22.4", "7/8 in."),
    ("19.0", "3/4 in."),
    ("16.0", "5/8 in."),
    ("13.2", "0.530 in."),
    ("12.5", "1/2 in."),
    ("11.2", "7/16 in."),
    ("9.5", "3/8 in."),
    ("8.0", "5/16 in."),
    ("6.7", "0.265 in."),
    ("6.3", "1/4 in."),
    ("5.6", "No. 3 1/2"),
    ("4.75", "No. 4"),
    ("4.00", "No. 5"),
    ("3.35", "No. 6"),
    ("2.80", "No. 7"),
    ("2.36", "No. 8"),
    ("2.00", "No. 10"),
    ("1.70", "No. 12"),
    ("1.40", "No. 14"),
    ("1.18", "No. 16"),
    ("1.00", "No. 18"),
    ("0.850", "No. 20"),
    ("0.710", "No. 25"),
    ("0.600", "No. 30"),
    ("0.500", "No. 35"),
    ("0.425", "No. 40"),
    ("0.355", "No. 45"),
    ("0.300", "No. 50"),
    ("0.250", "No. 60"),
    ("0.212", "No. 70"),
    ("0.180", "No. 80"),
    ("0.150", "No. 100"),
    ("0.125", "No. 120"),
    ("0.106", "No. 140"),
    ("0.090", "No. 170"),
    ("0.075", "No. 200"),
    ("0.063", "No. 230"),
    ("0.053", "No. 270"),
    ("0.045", "No. 325"),
    ("0.038", "No. 400"),
    ("0.032", "No. 450"),
    ("0.025", "No. 500"),
    ("0.020", "No. 635"),
];

/// One decade of the R20 series, as its standard rounds it, in hundredths.
const R20: [i64; 20] = [
    100, 112, 125, 140, 160, 180, 200, 224, 250, 280, 315, 355, 400, 450, 500, 560, 630, 710, 800,
    900,
];

/// The finest opening of the R20 series that is woven for aggregates, and the coarsest, mm.
const R20_FROM_TO: (Decimal, Decimal) =
    (Decimal::from_parts(20, 0, 0, false, 3), Decimal::from_parts(125, 0, 0, false, 0));

impl Sieve {
    /// The sieve with this opening, mm, if a general set has it.
    pub fn with_opening(opening_mm: Decimal) -> Option<Self> {
        let known = us_of(opening_mm).is_some() || is_r20(opening_mm);
        known.then(|| Self { opening_mm: opening_mm.normalize() })
    }

    /// The opening, mm.
    pub fn opening_mm(self) -> Decimal {
        self.opening_mm
    }

    /// The opening as its set writes it, mm: `19.0`, `0.600`, `20`.
    pub fn in_mm(self) -> String {
        us_of(self.opening_mm)
            .map_or_else(|| self.opening_mm.to_string(), |(opening, _)| opening.to_owned())
    }

    /// What the US set calls it: `3/4 in.`, `No. 16`; `None` where only the metric series has it.
    pub fn us_designation(self) -> Option<&'static str> {
        us_of(self.opening_mm).map(|(_, name)| name)
    }

    /// The next coarser sieve of the US set or, for a sieve that only it has, of the R20 series.
    #[must_use]
    pub fn next_coarser(self) -> Option<Self> {
        let coarser = all().filter(|other| other.opening_mm > self.opening_mm);
        let same_set = |other: &Self| {
            self.us_designation().is_none() == other.us_designation().is_none()
                || is_r20(self.opening_mm) && is_r20(other.opening_mm)
        };
        coarser.filter(same_set).min()
    }
}

/// `19.0 mm (3/4 in.)`, or `20 mm` where the US set has no such sieve.
impl fmt::Display for Sieve {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} mm", self.in_mm())?;
        self.us_designation().map_or(Ok(()), |name| write!(f, " ({name})"))
    }
}

/// Reads an opening (`19.0`, `19,0 mm`, `75 µm`) or a US designation (`3/4 in.`, `1 1/2"`,
/// `No. 4`, `#200`). A bare number is an opening in mm.
impl FromStr for Sieve {
    type Err = SieveError;
    fn from_str(typed: &str) -> Result<Self, SieveError> {
        let text = typed.trim().to_lowercase();
        if text.is_empty() {
            return Err(SieveError::Missing);
        }
        let shown: String = typed.trim().chars().take(40).collect();
        if let Some(sieve) = by_designation(&text) {
            return Ok(sieve);
        }
        let micro = ["µm", "μm", "um"].iter().find_map(|unit| text.strip_suffix(unit));
        let number = micro.or_else(|| text.strip_suffix("mm")).unwrap_or(&text);
        let opening = match stonewear_measure::read(number) {
            Ok(opening) if micro.is_some() => opening / Decimal::ONE_THOUSAND,
            Ok(opening) => opening,
            Err(error @ stonewear_measure::ReadingError::Ambiguous { .. }) => {
                return Err(SieveError::Number(error.to_string()));
            }
            Err(_) => return Err(SieveError::NotASieve { typed: shown }),
        };
        Self::with_opening(opening).ok_or_else(|| SieveError::Unknown {
            typed: opening.to_string(),
            nearest: nearest(opening),
        })
    }
}

/// Which sieves are stacked by default: a field each on the page. A stack is the laboratory's
/// own choice (common practice); these cover what the methods of this program ask for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum SieveSet {
    /// Coarse aggregate, US set.
    CoarseUs,
    /// Fine aggregate, US set.
    FineUs,
    /// Coarse aggregate, metric series R20.
    CoarseMetric,
    /// Fine aggregate, metric series R20.
    FineMetric,
}

impl SieveSet {
    /// All of them.
    pub const ALL: [Self; 4] = [Self::CoarseUs, Self::FineUs, Self::CoarseMetric, Self::FineMetric];

    /// Its name, as a command or an address writes it.
    pub fn name(self) -> &'static str {
        match self {
            Self::CoarseUs => "coarse-us",
            Self::FineUs => "fine-us",
            Self::CoarseMetric => "coarse-metric",
            Self::FineMetric => "fine-metric",
        }
    }

    /// In words.
    pub fn in_words(self) -> &'static str {
        match self {
            Self::CoarseUs => "coarse, US set (ASTM E11)",
            Self::FineUs => "fine, US set (ASTM E11)",
            Self::CoarseMetric => "coarse, metric (ISO 565 R20)",
            Self::FineMetric => "fine, metric (ISO 565 R20)",
        }
    }

    /// Its sieves, coarsest first.
    pub fn sieves(self) -> Vec<Sieve> {
        let openings: &[&str] = match self {
            Self::CoarseUs => {
                &["37.5", "25.0", "19.0", "16.0", "12.5", "9.5", "6.3", "4.75", "2.36"]
            }
            Self::FineUs => &["9.5", "4.75", "2.36", "1.18", "0.600", "0.300", "0.150", "0.075"],
            Self::CoarseMetric => {
                &["40", "31.5", "20", "16", "14", "12.5", "11.2", "10", "8", "6.3", "5", "4", "2"]
            }
            Self::FineMetric => &["8", "4", "2", "1", "0.5", "0.25", "0.125", "0.063"],
        };
        openings.iter().filter_map(|opening| opening.parse().ok()).collect()
    }
}

/// A text that names no set of sieves.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("“{0}” is not a set of sieves; write coarse-us, fine-us, coarse-metric or fine-metric")]
pub struct UnknownSet(String);

impl FromStr for SieveSet {
    type Err = UnknownSet;
    fn from_str(text: &str) -> Result<Self, UnknownSet> {
        Self::ALL
            .into_iter()
            .find(|set| set.name() == text)
            .ok_or_else(|| UnknownSet(text.to_owned()))
    }
}

/// Every sieve of both series, in no order.
fn all() -> impl Iterator<Item = Sieve> {
    let us = US.iter().filter_map(|(opening, _)| opening.parse::<Decimal>().ok());
    let r20 = (0..=4_u32).flat_map(|decade| {
        // 0.01 mm upwards; the two series overlap, which does no harm here.
        R20.iter().map(move |digits| {
            Decimal::new(*digits, 4).saturating_mul(Decimal::from(10_u32.pow(decade)))
        })
    });
    let metric = r20.filter(|opening| is_r20(*opening));
    us.chain(metric).map(|opening_mm: Decimal| Sieve { opening_mm: opening_mm.normalize() })
}

fn us_of(opening_mm: Decimal) -> Option<(&'static str, &'static str)> {
    US.into_iter().find(|(opening, _)| opening.parse::<Decimal>() == Ok(opening_mm))
}

fn is_r20(opening_mm: Decimal) -> bool {
    let (finest, coarsest) = R20_FROM_TO;
    if opening_mm < finest || opening_mm > coarsest {
        return false;
    }
    // Shifted into the decade from 1 to 10, in hundredths.
    let mut hundredths = opening_mm.saturating_mul(Decimal::ONE_HUNDRED);
    while hundredths < Decimal::ONE_HUNDRED {
        hundredths = hundredths.saturating_mul(Decimal::TEN);
    }
    while hundredths >= Decimal::ONE_THOUSAND {
        hundredths /= Decimal::TEN;
    }
    R20.iter().any(|digits| Decimal::from(*digits) == hundredths)
}

/// A sieve by what the US set calls it, in the ways that people write it.
fn by_designation(text: &str) -> Option<Sieve> {
    let named = ["no.", "no", "nº", "n°", "№", "#"].iter().find_map(|sign| text.strip_prefix(sign));
    let inches = ["inches", "inch", "in.", "in", "\"", "″", "”"]
        .iter()
        .find_map(|unit| text.strip_suffix(unit));
    let wanted = match (named, inches) {
        (Some(number), _) => format!("No. {}", spaced(number)),
        (None, Some(length)) => format!("{} in.", spaced(length)),
        // A fraction is never an opening in millimetres.
        (None, None) if text.contains('/') => format!("{} in.", spaced(text)),
        (None, None) => return None,
    };
    let (opening, _) = US.iter().find(|(_, name)| *name == wanted)?;
    Some(Sieve { opening_mm: opening.parse::<Decimal>().ok()?.normalize() })
}

/// One space between a whole number and its fraction: `1-1/2`, `1½` and `1  1/2` become `1 1/2`.
fn spaced(text: &str) -> String {
    let plain = text
        .replace(['-', '\u{2013}'], " ")
        .replace('½', " 1/2")
        .replace('¼', " 1/4")
        .replace('¾', " 3/4");
    plain.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn nearest(opening_mm: Decimal) -> String {
    let below = all().filter(|sieve| sieve.opening_mm < opening_mm).max();
    let above = all().filter(|sieve| sieve.opening_mm > opening_mm).min();
    let names: Vec<String> =
        [below, above].into_iter().flatten().map(|sieve| sieve.to_string()).collect();
    names.join(" and ")
}

#[cfg(test)]
mod tests;
