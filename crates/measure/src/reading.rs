//! A number as somebody typed it, read without losing a digit.

use rust_decimal::Decimal;
use thiserror::Error;

/// Digits allowed before the point. No balance, counter or clock in this trade shows more,
/// and with [`MOST_DECIMALS`] it keeps every product of two readings inside 28 digits.
const MOST_WHOLE_DIGITS: usize = 9;
/// Digits allowed after the point.
const MOST_DECIMALS: usize = 6;

/// Why a typed text is not a reading.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum ReadingError {
    /// Nothing was typed.
    #[error("a number is missing")]
    Missing,
    /// Something else than a number was typed.
    #[error("“{typed}” is not a number; write digits with at most one decimal point, like 1500.2")]
    NotANumber {
        /// What was typed.
        typed: String,
    },
    /// One comma before three digits: a thousand or a decimal?
    #[error(
        "“{typed}” can mean {as_thousands} or {as_decimal}; write {as_thousands} or {with_point}"
    )]
    Ambiguous {
        /// What was typed.
        typed: String,
        /// The value if the comma groups thousands.
        as_thousands: String,
        /// The value if the comma is the decimal mark, with that mark.
        as_decimal: String,
        /// The same with a decimal point.
        with_point: String,
    },
    /// More digits than any instrument of the trade shows.
    #[error(
        "“{typed}” has too many digits; at most {MOST_WHOLE_DIGITS} before and {MOST_DECIMALS} after the point can be kept"
    )]
    TooLong {
        /// What was typed.
        typed: String,
    },
}

/// Reads a typed number exactly, with the decimals it was typed with (`1500.0` keeps its zero).
///
/// A decimal comma is understood where it can mean nothing else; `1,500` is refused, because it
/// is one and a half to one reader and fifteen hundred to another. Spaces around the number and a
/// typographic minus sign are accepted; exponents and units are not.
///
/// # Errors
/// Says what is wrong with the text and what would be right.
pub fn read(typed: &str) -> Result<Decimal, ReadingError> {
    let text = typed.trim();
    if text.is_empty() {
        return Err(ReadingError::Missing);
    }
    let not_a_number = || ReadingError::NotANumber { typed: shorten(text) };
    let (sign, digits) = match text.strip_prefix(['-', '−']) {
        Some(rest) => ("-", rest),
        None => ("", text.strip_prefix('+').unwrap_or(text)),
    };
    let (whole, decimals) = match digits.split_once(['.', ',']) {
        Some((whole, decimals)) => (whole, decimals),
        None => (digits, ""),
    };
    let all_digits = |part: &str| part.bytes().all(|byte| byte.is_ascii_digit());
    if !all_digits(whole) || !all_digits(decimals) || (whole.is_empty() && decimals.is_empty()) {
        return Err(not_a_number());
    }
    let groups_thousands = digits.contains(',')
        && decimals.len() == 3
        && (1..=3).contains(&whole.len())
        && whole != "0";
    if groups_thousands {
        return Err(ReadingError::Ambiguous {
            typed: text.to_owned(),
            as_thousands: format!("{sign}{whole}{decimals}"),
            as_decimal: text.to_owned(),
            with_point: format!("{sign}{whole}.{decimals}"),
        });
    }
    if whole.trim_start_matches('0').len() > MOST_WHOLE_DIGITS || decimals.len() > MOST_DECIMALS {
        return Err(ReadingError::TooLong { typed: shorten(text) });
    }
    // At most fifteen digits, so the number without its point fits.
    let value = whole.bytes().chain(decimals.bytes()).fold(0_i64, |value, digit| {
        value.saturating_mul(10).saturating_add(i64::from(digit - b'0'))
    });
    let mut reading = Decimal::new(value, u32::try_from(decimals.len()).unwrap_or_default());
    reading.set_sign_negative(sign == "-");
    Ok(reading)
}

/// Keeps a message readable when somebody pasted a page into a field.
fn shorten(text: &str) -> String {
    const SHOWN: usize = 40;
    if text.chars().count() <= SHOWN {
        text.to_owned()
    } else {
        text.chars().take(SHOWN).chain(['…']).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn what_is_typed_is_kept_to_the_digit() {
        for (typed, read_as) in [
            ("1500", "1500"),
            ("1500.0", "1500.0"),
            (" 1499.80 ", "1499.80"),
            ("1499,8", "1499.8"),
            ("0,125", "0.125"),
            ("1500,125", "1500.125"),
            (".5", "0.5"),
            ("5.", "5"),
            ("-3.1", "-3.1"),
            ("−3.1", "-3.1"),
            ("+7", "7"),
            ("007", "7"),
        ] {
            assert_eq!(read(typed).unwrap().to_string(), read_as, "{typed}");
        }
    }

    #[test]
    fn what_is_no_number_is_refused_in_words() {
        for (typed, starts) in [
            ("", "a number is missing"),
            ("   ", "a number is missing"),
            ("abc", "“abc” is not a number"),
            ("1500 g", "“1500 g” is not a number"),
            ("1e3", "“1e3” is not a number"),
            ("1.2.3", "“1.2.3” is not a number"),
            ("1 500", "“1 500” is not a number"),
            ("NaN", "“NaN” is not a number"),
            ("inf", "“inf” is not a number"),
            ("-", "“-” is not a number"),
            ("٣", "“٣” is not a number"),
            ("1,500", "“1,500” can mean 1500 or 1,500; write 1500 or 1.500"),
            ("99999999999", "“99999999999” has too many digits"),
            ("0.1234567", "“0.1234567” has too many digits"),
        ] {
            let message = read(typed).unwrap_err().to_string();
            assert!(message.starts_with(starts), "{typed}: {message}");
        }
        let pasted = read(&"x".repeat(10_000)).unwrap_err().to_string();
        assert!(pasted.len() < 200);
    }

    proptest! {
        #[test]
        fn no_text_makes_it_panic(text in "\\PC*") {
            let _ = read(&text);
        }

        #[test]
        fn a_decimal_reads_back_as_it_prints(units in -999_999_999_i64..999_999_999, scale in 0_u32..=6) {
            let value = Decimal::new(units, scale);
            prop_assert_eq!(read(&value.to_string()).unwrap().to_string(), value.to_string());
        }
    }
}
