//! What a page sends of an answer: its parts in base64url without padding (RFC 4648, 5), with dots between
//! them, in one field of a form.

use super::Fault;
use base64::Engine;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;

/// Longer than any answer without attestation.
const LONGEST: usize = 16 * 1024;

/// A key was made.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KeyMade {
    /// What the browser says: JSON.
    pub client: Vec<u8>,
    /// What the authenticator says: CBOR.
    pub attestation: Vec<u8>,
}

/// A key was used.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KeyUsed {
    /// Which key.
    pub id: Vec<u8>,
    /// What the browser says: JSON.
    pub client: Vec<u8>,
    /// What the authenticator says.
    pub authenticator: Vec<u8>,
    /// Its signature over both.
    pub signature: Vec<u8>,
    /// Whose key it is, as the authenticator remembers; empty where it does not say.
    pub user: Vec<u8>,
}

impl KeyMade {
    /// Reads `client.attestation`.
    ///
    /// # Errors
    /// When it is not that.
    pub fn read(sent: &str) -> Result<Self, Fault> {
        let [client, attestation] = parts(sent)?;
        Ok(Self { client, attestation })
    }
}

impl KeyUsed {
    /// Reads `id.client.authenticator.signature.user`.
    ///
    /// # Errors
    /// When it is not that.
    pub fn read(sent: &str) -> Result<Self, Fault> {
        let [id, client, authenticator, signature, user] = parts(sent)?;
        Ok(Self { id, client, authenticator, signature, user })
    }
}

fn parts<const N: usize>(sent: &str) -> Result<[Vec<u8>; N], Fault> {
    if sent.len() > LONGEST {
        return Err(Fault::Unreadable);
    }
    let read = sent.split('.').map(|part| URL_SAFE_NO_PAD.decode(part));
    let read = read.collect::<Result<Vec<_>, _>>().map_err(|_| Fault::Unreadable)?;
    read.try_into().map_err(|_| Fault::Unreadable)
}

/// Bytes as a page takes and sends them.
pub fn written(bytes: &[u8]) -> String {
    URL_SAFE_NO_PAD.encode(bytes)
}
