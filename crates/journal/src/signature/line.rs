//! One line of the file of signatures: its form, what is signed of it, its canonical text.

use super::{PublicKey, SecretKey};
use crate::canonical;
use crate::hash::Hash;
use crate::instant::Instant;
use crate::store::Head;
use serde::{Deserialize, Serialize};

/// What stands before the text that is signed, so that a signature is never one of something else.
const MARK: &[u8] = b"stonewear signature, format 1\n";

/// What the first line names as the one before it: the SHA-256 of `stonewear signatures, format 1`.
pub(super) fn genesis() -> Hash {
    Hash::of(b"stonewear signatures, format 1")
}

/// What a line is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Kind {
    /// A key signs how far the journal has come.
    Checkpoint,
    /// A key is introduced: by the one before it, or by itself.
    Key,
    /// Somebody took over that entries at the end are lost.
    AcceptedLoss,
}

/// A line of the file of signatures.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Line {
    /// When it was signed.
    pub at: Instant,
    /// The hash of the entry at `position`.
    pub head: Hash,
    /// The fingerprint of the key that signs.
    pub key: Hash,
    /// What it is for.
    pub kind: Kind,
    /// The hash of the journal's first entry: which laboratory it is.
    pub laboratory: Hash,
    /// The last place that was acknowledged and is lost; of an accepted loss only.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lost_until: Option<u64>,
    /// How far the journal had come.
    pub position: u64,
    /// The SHA-256 of the line before, without its line feed.
    pub previous: Hash,
    /// The key that is introduced; of a line for a key only.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub public_key: Option<PublicKey>,
    /// The signature, as 128 hexadecimal digits.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub signature: String,
    /// The occasion, or the reason that somebody gave.
    pub why: String,
}

impl Line {
    /// How far the journal had come.
    pub fn head(&self) -> Head {
        Head { position: self.position, hash: self.head }
    }

    /// The fingerprint of the key that signs behind this line.
    pub fn key_behind(&self) -> Hash {
        self.public_key.map_or(self.key, |key| key.fingerprint())
    }

    /// What is signed: the canonical text without the signature, behind a mark of its own.
    fn signed_text(&self) -> Vec<u8> {
        let bare = Self { signature: String::new(), ..self.clone() };
        [MARK, &canonical::bytes(&bare).unwrap_or_default()].concat()
    }

    /// The line with its signature.
    pub(super) fn signed(mut self, key: &SecretKey) -> Self {
        let signature = key.sign(&self.signed_text());
        self.signature = signature.iter().map(|byte| format!("{byte:02x}")).collect();
        self
    }

    /// Whether the key made the signature of this line.
    pub(super) fn is_signed_by(&self, key: &PublicKey) -> bool {
        let digits = self.signature.as_bytes();
        let mut bytes = [0; 64];
        if digits.len() != 128 {
            return false;
        }
        for (byte, pair) in bytes.iter_mut().zip(digits.chunks_exact(2)) {
            let text = std::str::from_utf8(pair).unwrap_or_default();
            match u8::from_str_radix(text, 16) {
                Ok(value) if pair.iter().all(|digit| *digit != b'+') => *byte = value,
                _ => return false,
            }
        }
        key.verifies(&self.signed_text(), &bytes)
    }

    /// Its canonical text, without a line feed.
    pub(super) fn text(&self) -> Vec<u8> {
        canonical::bytes(self).unwrap_or_default()
    }
}
