//! Moments in time in the one written form that the journal hashes.

use jiff::Timestamp;
use jiff::civil::DateTime;
use jiff::tz::Offset;
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use std::fmt;
use std::ops::Range;
use std::str::FromStr;

/// A moment in UTC to the millisecond, written `2026-11-24T10:41:07.250Z`.
///
/// Always 24 characters: bytes that are hashed must not depend on whether the last digit happens
/// to be a zero. The years are 0 to 9999, as in RFC 3339.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Instant(Timestamp);

/// A text that is not an instant in the written form of the journal.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("an instant is written in UTC with three decimals, as 2026-11-24T10:41:07.250Z")]
pub struct InstantError;

/// 0000-01-01T00:00:00Z, in milliseconds from 1970.
const YEAR_ZERO: i64 = -62_167_219_200_000;

impl Instant {
    /// The moment, with a zero below the millisecond.
    pub fn timestamp(self) -> Timestamp {
        self.0
    }
}

impl From<Timestamp> for Instant {
    /// Cuts to the millisecond (towards the past). A moment before the year 0, which no clock
    /// shows and RFC 3339 cannot write, becomes the beginning of that year.
    fn from(exact: Timestamp) -> Self {
        let floor = exact.as_nanosecond().div_euclid(1_000_000);
        let milliseconds = i64::try_from(floor).unwrap_or(YEAR_ZERO).max(YEAR_ZERO);
        // Within jiff's own range, since `exact` was and the floor of its least value is not used.
        Self(Timestamp::from_millisecond(milliseconds).unwrap_or(Timestamp::UNIX_EPOCH))
    }
}

impl fmt::Display for Instant {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:.3}", self.0)
    }
}

impl FromStr for Instant {
    type Err = InstantError;

    /// Reads the one written form: no other zone, no other number of decimals, no leap second.
    fn from_str(text: &str) -> Result<Self, InstantError> {
        let bytes: &[u8; 24] = text.as_bytes().try_into().map_err(|_| InstantError)?;
        let shape = bytes
            .iter()
            .zip(b"0000-00-00T00:00:00.000Z")
            .all(|(byte, form)| if *form == b'0' { byte.is_ascii_digit() } else { byte == form });
        // A 60th second would be read as the 59th: two texts for one instant.
        if !shape || bytes[17] > b'5' {
            return Err(InstantError);
        }
        // Every place is known, so the numbers are taken from theirs: an instant is read for every fact at every
        // start.
        let number = |places: Range<usize>| {
            bytes[places].iter().fold(0_i16, |number, digit| number * 10 + i16::from(digit - b'0'))
        };
        let short = |from: usize| number(from..from + 2) as i8;
        let milliseconds = i32::from(number(20..23));
        DateTime::new(
            number(0..4),
            short(5),
            short(8),
            short(11),
            short(14),
            short(17),
            milliseconds * 1_000_000,
        )
        .and_then(|moment| Offset::UTC.to_timestamp(moment))
        .map(Self)
        .map_err(|_| InstantError)
    }
}

impl Serialize for Instant {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for Instant {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        crate::canonical::from_text(
            deserializer,
            "an instant in UTC with three decimals, as 2026-11-24T10:41:07.250Z",
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn three_decimals_always() {
        for (exact, written) in [
            ("2026-11-24T10:41:07Z", "2026-11-24T10:41:07.000Z"),
            ("2026-11-24T10:41:07.25Z", "2026-11-24T10:41:07.250Z"),
            ("2026-11-24T10:41:07.999999999Z", "2026-11-24T10:41:07.999Z"),
            ("2026-11-24T11:41:07.001+01:00", "2026-11-24T10:41:07.001Z"),
            ("1969-12-31T23:59:59.9999Z", "1969-12-31T23:59:59.999Z"),
            ("-000001-12-31T23:59:59Z", "0000-01-01T00:00:00.000Z"),
        ] {
            let instant = Instant::from(exact.parse::<Timestamp>().unwrap());
            assert_eq!(instant.to_string(), written);
            assert_eq!(written.parse(), Ok(instant));
        }
        let _ = (Instant::from(Timestamp::MIN), Instant::from(Timestamp::MAX));
    }

    #[test]
    fn only_the_written_form_is_read() {
        for text in [
            "",
            "2026-11-24T10:41:07Z",
            "2026-11-24T10:41:07.25Z",
            "2026-11-24T10:41:07.2500Z",
            "2026-11-24 10:41:07.250Z",
            "2026-11-24T10:41:07,250Z",
            "2026-11-24t10:41:07.250z",
            "2026-11-24T10:41:07.250+",
            "2026-11-24T10:41:60.250Z",
            "2026-11-31T10:41:07.250Z",
            "2026-11-24T24:00:00.000Z",
            "2026-11-24T10:60:00.000Z",
            "2026-13-24T10:41:00.000Z",
            "2026-00-24T10:41:00.000Z",
            "2026-02-29T10:41:00.000Z",
            "2026-11-24T10:41:0/.000Z",
            "2026-11-24T10:41:07.25:Z",
        ] {
            assert_eq!(text.parse::<Instant>(), Err(InstantError), "{text}");
        }
    }

    proptest! {
        #[test]
        fn written_and_read_back(milliseconds in YEAR_ZERO..253_370_764_800_000) {
            let instant = Instant::from(Timestamp::from_millisecond(milliseconds).unwrap());
            prop_assert_eq!(instant.timestamp().as_millisecond(), milliseconds);
            prop_assert_eq!(instant.to_string().len(), 24);
            prop_assert_eq!(instant.to_string().parse(), Ok(instant));
        }
    }
}
