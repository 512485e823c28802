//! Keys: one that signs, in a file that only its owner reads, and one that anybody may know.

use super::SignatureError;
use crate::hash::Hash;
use ed25519_dalek::pkcs8::spki::der::pem::LineEnding;
use ed25519_dalek::pkcs8::{DecodePrivateKey, DecodePublicKey, EncodePrivateKey, EncodePublicKey};
use ed25519_dalek::{Signature, Signer, SigningKey, VerifyingKey};
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use std::fmt;
use std::io::Write;
use std::path::Path;
use std::str::FromStr;

/// The key by which signatures are checked.
#[derive(Clone, Copy, PartialEq, Eq)]
pub struct PublicKey(VerifyingKey);

/// A text that is no public key.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("a public key is 64 hexadecimal digits in lower case, or the text of a PEM file")]
pub struct PublicKeyError;

impl PublicKey {
    /// What people compare: the SHA-256 of its 32 bytes.
    pub fn fingerprint(&self) -> Hash {
        Hash::of(self.0.as_bytes())
    }

    /// As other programs read it: PEM of the SubjectPublicKeyInfo (RFC 8410).
    pub fn pem(&self) -> String {
        self.0.to_public_key_pem(LineEnding::LF).unwrap_or_default()
    }

    /// Whether this key made the signature of a text. Weak keys and signatures that could be of
    /// several texts are refused.
    pub fn verifies(&self, text: &[u8], signature: &[u8; 64]) -> bool {
        self.0.verify_strict(text, &Signature::from_bytes(signature)).is_ok()
    }
}

impl fmt::Display for PublicKey {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        // The digits of 32 bytes are written as those of a hash are.
        fmt::Display::fmt(&Hash::from_bytes(self.0.to_bytes()), f)
    }
}

impl fmt::Debug for PublicKey {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(self, f)
    }
}

impl FromStr for PublicKey {
    type Err = PublicKeyError;

    fn from_str(text: &str) -> Result<Self, PublicKeyError> {
        let text = text.trim();
        let key = if text.starts_with("-----") {
            VerifyingKey::from_public_key_pem(text).map_err(|_| PublicKeyError)?
        } else {
            let bytes: Hash = text.parse().map_err(|_| PublicKeyError)?;
            VerifyingKey::from_bytes(bytes.as_bytes()).map_err(|_| PublicKeyError)?
        };
        Ok(Self(key))
    }
}

impl Serialize for PublicKey {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for PublicKey {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        crate::canonical::from_text(deserializer, "a public key: 64 hexadecimal digits")
    }
}

/// The key that signs.
pub struct SecretKey(SigningKey);

impl fmt::Debug for SecretKey {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "SecretKey of {}", self.public())
    }
}

impl SecretKey {
    /// A new one, from the chance of the system.
    ///
    /// # Errors
    /// When the system gives none.
    pub fn generate() -> Result<Self, SignatureError> {
        let mut seed = [0; 32];
        getrandom::fill(&mut seed).map_err(|error| SignatureError::NoChance(error.to_string()))?;
        Ok(Self(SigningKey::from_bytes(&seed)))
    }

    /// The key in a file; `None` where there is no file.
    ///
    /// # Errors
    /// When it cannot be read, or holds no key.
    pub fn load(path: &Path) -> Result<Option<Self>, SignatureError> {
        let text = match std::fs::read_to_string(path) {
            Ok(text) => text,
            Err(error) if error.kind() == std::io::ErrorKind::NotFound => return Ok(None),
            Err(source) => return Err(SignatureError::file(path, source)),
        };
        SigningKey::from_pkcs8_pem(&text)
            .map(|key| Some(Self(key)))
            .map_err(|_| SignatureError::NotAKey(path.to_owned()))
    }

    /// Writes it into a new file that only its owner may read (PEM, PKCS #8, RFC 8410).
    ///
    /// # Errors
    /// When there is such a file already, or it cannot be written.
    pub fn save(&self, path: &Path) -> Result<(), SignatureError> {
        let mut options = std::fs::OpenOptions::new();
        options.write(true).create_new(true);
        #[cfg(unix)]
        {
            use std::os::unix::fs::OpenOptionsExt;
            options.mode(0o600);
        }
        let fault = |source| SignatureError::file(path, source);
        let text = self
            .0
            .to_pkcs8_pem(LineEnding::LF)
            .map_err(|_| SignatureError::NotAKey(path.to_owned()))?;
        let mut file = options.open(path).map_err(fault)?;
        file.write_all(text.as_bytes()).and_then(|()| file.sync_all()).map_err(fault)
    }

    /// The key by which others check what this one signed.
    pub fn public(&self) -> PublicKey {
        PublicKey(self.0.verifying_key())
    }

    pub(super) fn sign(&self, text: &[u8]) -> [u8; 64] {
        self.0.sign(text).to_bytes()
    }
}
