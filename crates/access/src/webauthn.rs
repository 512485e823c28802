//! What an authenticator answers, judged: Web Authentication (W3C), Level 2 and 3, 7.1 for a key that is
//! made and 7.2 for a key that is used. Pure: the challenge, the origin and the key that is known are given.
//!
//! Attestation is not asked for: which make an authenticator is says nothing of its person. So only “none”
//! is taken, and “packed” where the key vouches for itself, which some authenticators send unasked. A
//! person must have been verified (finger, face or PIN of the device): a passkey stands for the phrase.
//!
//! No library does it here. Those that there are bring OpenSSL, another licence, or cryptography that is in
//! the program a second time; and what is left beside CBOR and the signatures is the two lists of checks.

mod answer;
mod data;
mod key;

pub use answer::{KeyMade, KeyUsed, written};

use crate::signature::Written;
use data::{Attestation, Authenticator, Client};
use key::CoseKey;
use ring::digest::{SHA256, digest};
use subtle::ConstantTimeEq;

/// The algorithms that are asked for, best first, as COSE numbers them: ES256, EdDSA, RS256.
pub const ALGORITHMS: [i64; 3] = [-7, -8, -257];
/// The longest name of a key (7.1).
const LONGEST_ID: usize = 1023;

/// What an answer must answer to.
#[derive(Debug, Clone, Copy)]
pub struct Expected<'a> {
    /// The challenge that was given.
    pub challenge: &'a [u8],
    /// Where the page comes from: `https://lab.example.org`.
    pub origin: &'a str,
    /// The name that keys are made for: `lab.example.org`.
    pub name: &'a str,
}

/// A key that was made, as it is kept.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Made {
    /// By which the authenticator knows it.
    pub id: Vec<u8>,
    /// The public key as COSE writes it (RFC 9052, 7).
    pub key: Vec<u8>,
    /// How often it was used, as far as the authenticator counts.
    pub counter: u32,
    /// Whether it may be on several devices of its person.
    pub may_be_copied: bool,
}

/// A key that is known.
#[derive(Debug, Clone, Copy)]
pub struct Known<'a> {
    /// The public key as COSE writes it.
    pub key: &'a [u8],
    /// How often it was used when it was used last.
    pub counter: u32,
    /// Whether it may be on several devices of its person.
    pub may_be_copied: bool,
}

/// Why an answer is not taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum Fault {
    /// It is not what a browser sends.
    #[error("the answer of the passkey cannot be read")]
    Unreadable,
    /// It answers to something else: making instead of using, or the other way round.
    #[error("the answer is one to another question")]
    Kind,
    /// The challenge was not given, not here, too long ago, or answered before.
    #[error("the question is too old, or was answered before")]
    Challenge,
    /// Another page asked for it.
    #[error("another page asked for the answer")]
    Origin,
    /// It was made for another name.
    #[error("the passkey is one of another name")]
    Name,
    /// Nobody was there.
    #[error("nobody touched the passkey")]
    NobodyThere,
    /// The authenticator did not look who was there.
    #[error("the passkey did not look who used it; it must ask for a finger, a face or a PIN")]
    NotVerified,
    /// An algorithm that was not asked for.
    #[error("the passkey signs in a way that was not asked for")]
    Algorithm,
    /// It vouches for its make in a way that was not asked for.
    #[error("the passkey vouches for its make, which was not asked for")]
    Attestation,
    /// What it says of copies contradicts itself or what it said before.
    #[error("what the passkey says of its copies contradicts itself")]
    Copies,
    /// The signature is not by this key.
    #[error("the signature is not that of the passkey")]
    Signature,
    /// It counts less uses than before.
    #[error("the passkey counts less uses than before: there may be a copy of it")]
    Counter,
}

/// Judges a key that was made (7.1).
///
/// # Errors
/// The first check that does not hold.
pub fn made(answer: &KeyMade, expected: &Expected<'_>) -> Result<Made, Fault> {
    Client::read(&answer.client)?.holds("webauthn.create", expected)?;
    let attestation = Attestation::read(&answer.attestation)?;
    let data = Authenticator::read(&attestation.data)?;
    data.holds(expected)?;
    let credential = data.credential.as_ref().ok_or(Fault::Unreadable)?;
    if credential.id.is_empty() || credential.id.len() > LONGEST_ID {
        return Err(Fault::Unreadable);
    }
    let key = CoseKey::read(credential.key)?;
    let mut signed = attestation.data.clone();
    signed.extend_from_slice(digest(&SHA256, &answer.client).as_ref());
    if !attestation.is_unasked_and_harmless(&key, &signed) {
        return Err(Fault::Attestation);
    }
    Ok(Made {
        id: credential.id.to_vec(),
        key: credential.key.to_vec(),
        counter: data.counter,
        may_be_copied: data.may_be_copied(),
    })
}

/// Judges the use of a key that is known (7.2); gives how often it was used.
///
/// # Errors
/// The first check that does not hold.
pub fn used(answer: &KeyUsed, expected: &Expected<'_>, known: &Known<'_>) -> Result<u32, Fault> {
    Client::read(&answer.client)?.holds("webauthn.get", expected)?;
    let data = Authenticator::read(&answer.authenticator)?;
    data.holds(expected)?;
    if data.may_be_copied() != known.may_be_copied {
        return Err(Fault::Copies);
    }
    let mut signed = answer.authenticator.clone();
    signed.extend_from_slice(digest(&SHA256, &answer.client).as_ref());
    let key = CoseKey::read(known.key)?;
    if !key.public.verifies(&signed, &answer.signature, Written::Asn1) {
        return Err(Fault::Signature);
    }
    // Many authenticators do not count, and say 0 for ever.
    if (data.counter != 0 || known.counter != 0) && data.counter <= known.counter {
        return Err(Fault::Counter);
    }
    Ok(data.counter)
}

/// The challenge that an answer says it answers to, to find out whether it was given.
///
/// # Errors
/// When it cannot be read.
pub fn challenge_of(client: &[u8]) -> Result<Vec<u8>, Fault> {
    Client::read(client)?.challenge()
}

/// Compared in constant time, although none of it is a secret for long.
fn is_same(left: &[u8], right: &[u8]) -> bool {
    left.ct_eq(right).into()
}

#[cfg(test)]
mod tests;
