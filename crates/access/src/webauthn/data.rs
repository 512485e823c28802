//! The three things that an answer is made of: what the browser says (5.8.1), what the authenticator says
//! (6.1), and how it vouches for a new key (6.5).

use super::key::{CoseKey, map, of};
use super::{Expected, Fault, is_same};
use crate::signature::Written;
use base64::Engine;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use ciborium::Value;
use ring::digest::{SHA256, digest};
use serde::Deserialize;

/// Bits of the flags (6.1): present, verified, may be copied, is copied, brings a key, brings extensions.
const PRESENT: u8 = 1;
const VERIFIED: u8 = 1 << 2;
const MAY_BE_COPIED: u8 = 1 << 3;
const IS_COPIED: u8 = 1 << 4;
const HAS_KEY: u8 = 1 << 6;
const HAS_EXTENSIONS: u8 = 1 << 7;

/// What the browser says. It may say more, and more may be added to it: that is left alone.
#[derive(Debug, Deserialize)]
#[serde(rename_all = "camelCase")]
pub(super) struct Client {
    #[serde(rename = "type")]
    kind: String,
    challenge: String,
    origin: String,
    #[serde(default)]
    cross_origin: bool,
    #[serde(default)]
    top_origin: Option<String>,
}

impl Client {
    pub(super) fn read(json: &[u8]) -> Result<Self, Fault> {
        // Browsers of old began it with a byte order mark (5.8.1.2 decodes as UTF-8 without one).
        let json = json.strip_prefix(b"\xef\xbb\xbf").unwrap_or(json);
        serde_json::from_slice(json).map_err(|_| Fault::Unreadable)
    }

    pub(super) fn challenge(&self) -> Result<Vec<u8>, Fault> {
        URL_SAFE_NO_PAD.decode(&self.challenge).map_err(|_| Fault::Unreadable)
    }

    /// That it answers to what was asked, on a page of ours that stands in no other.
    pub(super) fn holds(&self, kind: &str, expected: &Expected<'_>) -> Result<(), Fault> {
        if self.kind != kind {
            return Err(Fault::Kind);
        }
        if !is_same(&self.challenge()?, expected.challenge) {
            return Err(Fault::Challenge);
        }
        if self.origin != expected.origin || self.cross_origin || self.top_origin.is_some() {
            return Err(Fault::Origin);
        }
        Ok(())
    }
}

/// A key as the authenticator's data brings it.
#[derive(Debug)]
pub(super) struct Credential<'a> {
    pub(super) id: &'a [u8],
    pub(super) key: &'a [u8],
}

/// What the authenticator says.
#[derive(Debug)]
pub(super) struct Authenticator<'a> {
    name: &'a [u8],
    flags: u8,
    pub(super) counter: u32,
    pub(super) credential: Option<Credential<'a>>,
}

impl<'a> Authenticator<'a> {
    pub(super) fn read(bytes: &'a [u8]) -> Result<Self, Fault> {
        let mut rest = bytes;
        let name = take(&mut rest, 32)?;
        let flags = take(&mut rest, 1)?[0];
        let counter = take(&mut rest, 4)?.try_into().map_err(|_| Fault::Unreadable)?;
        let mut credential = None;
        if flags & HAS_KEY != 0 {
            // The make, which is not asked for.
            take(&mut rest, 16)?;
            let length = take(&mut rest, 2)?;
            let length = usize::from(u16::from_be_bytes([length[0], length[1]]));
            let id = take(&mut rest, length)?;
            let before = rest;
            map(&mut rest)?;
            credential = Some(Credential { id, key: &before[..before.len() - rest.len()] });
        }
        if flags & HAS_EXTENSIONS != 0 {
            map(&mut rest)?;
        }
        if !rest.is_empty() {
            return Err(Fault::Unreadable);
        }
        Ok(Self { name, flags, counter: u32::from_be_bytes(counter), credential })
    }

    pub(super) fn may_be_copied(&self) -> bool {
        self.flags & MAY_BE_COPIED != 0
    }

    /// That it is for this name, and that its person was there and was looked at.
    pub(super) fn holds(&self, expected: &Expected<'_>) -> Result<(), Fault> {
        if !is_same(self.name, digest(&SHA256, expected.name.as_bytes()).as_ref()) {
            return Err(Fault::Name);
        }
        if self.flags & PRESENT == 0 {
            return Err(Fault::NobodyThere);
        }
        if self.flags & VERIFIED == 0 {
            return Err(Fault::NotVerified);
        }
        if self.flags & IS_COPIED != 0 && !self.may_be_copied() {
            return Err(Fault::Copies);
        }
        Ok(())
    }
}

fn take<'a>(rest: &mut &'a [u8], length: usize) -> Result<&'a [u8], Fault> {
    let (taken, left) = rest.split_at_checked(length).ok_or(Fault::Unreadable)?;
    *rest = left;
    Ok(taken)
}

/// How an authenticator vouches for a new key.
#[derive(Debug)]
pub(super) struct Attestation {
    format: String,
    statement: Vec<(Value, Value)>,
    pub(super) data: Vec<u8>,
}

impl Attestation {
    pub(super) fn read(cbor: &[u8]) -> Result<Self, Fault> {
        let mut rest = cbor;
        let entries = map(&mut rest)?;
        let named = |name: &str| of(&entries, &Value::from(name)).cloned();
        match (named("fmt"), named("attStmt"), named("authData")) {
            (Some(Value::Text(format)), Some(Value::Map(statement)), Some(Value::Bytes(data)))
                if rest.is_empty() =>
            {
                Ok(Self { format, statement, data })
            }
            _ => Err(Fault::Unreadable),
        }
    }

    /// Whether it says nothing (8.7), or the key vouches for itself (8.2, without a certificate).
    pub(super) fn is_unasked_and_harmless(&self, key: &CoseKey, signed: &[u8]) -> bool {
        let named = |name: &str| of(&self.statement, &Value::from(name));
        match self.format.as_str() {
            "none" => self.statement.is_empty(),
            "packed" if self.statement.len() == 2 => {
                let is_its_own = named("alg").is_some_and(|alg| *alg == Value::from(key.algorithm));
                let signature = named("sig").and_then(Value::as_bytes);
                is_its_own
                    && signature.is_some_and(|sig| key.public.verifies(signed, sig, Written::Asn1))
            }
            _ => false,
        }
    }
}
