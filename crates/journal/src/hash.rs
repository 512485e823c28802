//! SHA-256 as a value: computed from bytes, shown and read as 64 lower-case hexadecimal digits.

use serde::{Deserialize, Deserializer, Serialize, Serializer};
use sha2::{Digest, Sha256};
use std::fmt;
use std::str::FromStr;

/// A SHA-256 digest.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Hash([u8; 32]);

/// A text that is not 64 lower-case hexadecimal digits.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("a hash is 64 hexadecimal digits in lower case")]
pub struct HashError;

impl Hash {
    /// What the first entry names as `previous`: the SHA-256 of `stonewear journal, format 1`.
    ///
    /// A text rather than zeros, for two reasons: the chain names its own format, so that no entry
    /// of another format can stand at its beginning; and zeros, which a careless program writes
    /// where it knows nothing, can never pass for a beginning.
    pub const GENESIS: Self = Self([
        0xa5, 0x47, 0xf3, 0xa1, 0xff, 0x33, 0x61, 0x10, 0xd3, 0x3d, 0xe2, 0x66, 0xbe, 0xb8, 0xbd,
        0x1f, 0x0b, 0xfa, 0xf6, 0xa3, 0x7f, 0x1c, 0xa9, 0x8d, 0xed, 0x1b, 0x6f, 0x3e, 0xb8, 0xdc,
        0x94, 0xe3,
    ]);

    /// The SHA-256 of `bytes`.
    pub fn of(bytes: &[u8]) -> Self {
        Self(Sha256::digest(bytes).into())
    }

    /// A digest that was computed elsewhere.
    pub const fn from_bytes(bytes: [u8; 32]) -> Self {
        Self(bytes)
    }

    /// The 32 bytes.
    pub const fn as_bytes(&self) -> &[u8; 32] {
        &self.0
    }

    /// The digits, as ASCII.
    pub(crate) fn hex(&self) -> [u8; 64] {
        const DIGITS: &[u8; 16] = b"0123456789abcdef";
        let mut text = [0; 64];
        for (pair, byte) in text.chunks_exact_mut(2).zip(self.0) {
            pair[0] = DIGITS[usize::from(byte >> 4)];
            pair[1] = DIGITS[usize::from(byte & 15)];
        }
        text
    }
}

impl fmt::Display for Hash {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.hex().iter().try_for_each(|digit| fmt::Write::write_char(f, char::from(*digit)))
    }
}

impl fmt::Debug for Hash {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(self, f)
    }
}

impl FromStr for Hash {
    type Err = HashError;

    /// Reads 64 lower-case digits; capitals are refused, since a hash has one written form.
    fn from_str(text: &str) -> Result<Self, HashError> {
        let digits: &[u8; 64] = text.as_bytes().try_into().map_err(|_| HashError)?;
        let (mut bytes, mut seen) = ([0; 32], 0);
        for (byte, pair) in bytes.iter_mut().zip(digits.chunks_exact(2)) {
            let (high, low) = (VALUES[usize::from(pair[0])], VALUES[usize::from(pair[1])]);
            seen |= high | low;
            *byte = high << 4 | low & 15;
        }
        if seen == NO_DIGIT { Err(HashError) } else { Ok(Self(bytes)) }
    }
}

/// Has every bit set, so that one such among the values seen outweighs all digits.
const NO_DIGIT: u8 = 0xff;

/// The value of every character as a digit. A table without branches, since a hash is read for
/// every fact at every start.
const VALUES: [u8; 256] = {
    let (mut values, mut digit) = ([NO_DIGIT; 256], 0);
    while digit < 16 {
        values[b"0123456789abcdef"[digit] as usize] = digit as u8;
        digit += 1;
    }
    values
};

impl Serialize for Hash {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for Hash {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        crate::canonical::from_text(deserializer, "64 hexadecimal digits in lower case")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_genesis_hash_is_that_of_its_text() {
        assert_eq!(Hash::GENESIS, Hash::of(b"stonewear journal, format 1"));
    }

    /// The one-block example of FIPS 180-4 (message `abc`), from memory, unconfirmed.
    #[test]
    fn published_digest() {
        assert_eq!(
            Hash::of(b"abc").to_string(),
            "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
        );
    }

    #[test]
    fn text_and_back() {
        let hash = Hash::of(b"stone");
        assert_eq!(hash.to_string().parse(), Ok(hash));
        let json = serde_json::to_string(&hash).unwrap();
        assert_eq!(json, format!("\"{hash}\""));
        assert_eq!(serde_json::from_str::<Hash>(&json).unwrap(), hash);
    }

    #[test]
    fn other_texts_are_refused() {
        let good = Hash::of(b"stone").to_string();
        let capital = good.to_uppercase();
        for text in ["", &good[1..], &format!("{good}0"), &capital, &good.replace(&good[..1], "g")]
        {
            assert_eq!(text.parse::<Hash>(), Err(HashError), "{text}");
        }
        let wide = "é".repeat(32);
        assert_eq!(wide.parse::<Hash>(), Err(HashError));
    }
}
