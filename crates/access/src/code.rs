//! A one-time code: what is read off a terminal or a slip and typed once, to open an account.
//!
//! 60 random bits in twelve signs of Crockford's base 32, which has no signs that look alike. It holds
//! for a day and is asked for under the limits of [`crate::limits`]: nobody guesses it in that time.

use crate::base::{AccessError, hash, random};
use jiff::SignedDuration;
use std::fmt;
use subtle::ConstantTimeEq;

const SIGNS: &[u8; 32] = b"0123456789ABCDEFGHJKMNPQRSTVWXYZ";
/// How many signs a code has.
const LENGTH: usize = 12;
/// Signs that stand together.
const GROUP: usize = 4;
/// How long a code can be used that an owner or the command line gave.
pub const HOLDS_FOR: SignedDuration = SignedDuration::from_hours(24);

/// A one-time code, as it is shown: `K7QM-2XRD-9FHT`.
#[derive(Clone, PartialEq, Eq)]
pub struct Code(String);

impl Code {
    /// Makes a code.
    ///
    /// # Errors
    /// When the system gives no random bytes.
    pub fn new() -> Result<Self, AccessError> {
        let bytes = random::<LENGTH>()?;
        // 256 is a multiple of 32: every sign is as likely as any other.
        let sign = |byte: u8| char::from(SIGNS[usize::from(byte) % SIGNS.len()]);
        Ok(Self(bytes.into_iter().map(sign).collect()))
    }

    /// What is kept of it.
    pub fn sha256(&self) -> [u8; 32] {
        hash(&self.0)
    }

    /// Whether this was typed, however it was written: small letters, spaces, O for 0, I or L for 1.
    /// Compared in constant time.
    pub fn is(kept: &[u8], typed: &str) -> bool {
        hash(&read(typed)).as_slice().ct_eq(kept).into()
    }
}

/// What was typed, as it would be shown, without its dashes.
fn read(typed: &str) -> String {
    let signs = typed.chars().filter(|sign| sign.is_alphanumeric());
    let plain = signs.map(|sign| match sign.to_ascii_uppercase() {
        'O' => '0',
        'I' | 'L' => '1',
        other => other,
    });
    plain.collect()
}

impl fmt::Display for Code {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let groups = self.0.as_bytes().chunks(GROUP).map(String::from_utf8_lossy);
        f.write_str(&groups.collect::<Vec<_>>().join("-"))
    }
}

// It is a secret: a log of a structure that holds one must not show it.
impl fmt::Debug for Code {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Code(…)")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn it_is_read_however_it_is_written_and_no_other_is_taken() {
        let code = Code("10AB-CDEF-GH01".replace('-', ""));
        assert_eq!(code.to_string(), "10AB-CDEF-GH01");
        let kept = code.sha256();
        for typed in ["10AB-CDEF-GH01", "10abcdefgh01", " lOab cdef ghOI ", "i0AB–CDEF–GHo1"] {
            assert!(Code::is(&kept, typed), "{typed}");
        }
        for typed in ["", "10AB-CDEF-GH02", "10AB-CDEF-GH0", "10AB-CDEF-GH011"] {
            assert!(!Code::is(&kept, typed), "{typed}");
        }
        assert!(!Code::is(&[], "10AB-CDEF-GH01"));
    }

    #[test]
    fn no_two_codes_are_alike_and_none_shows_itself() {
        let codes: Vec<Code> = (0..50).map(|_| Code::new().unwrap()).collect();
        for (number, code) in codes.iter().enumerate() {
            assert_eq!(code.to_string().len(), 14);
            assert!(!codes[..number].contains(code));
            assert!(!format!("{code:?}").contains(&code.0));
        }
    }
}
