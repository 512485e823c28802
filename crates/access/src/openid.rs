//! What an organisation says of a person, judged: OpenID Connect Core 1.0, 3.1.3.7, for the code flow with
//! PKCE (RFC 7636). Pure: what was answered over the line, the key set and the time are given.
//!
//! Signatures are RS256, ES256 and EdDSA, each with a key of its own kind: so neither “none” nor a secret
//! that is really a public key verifies anything. No library does it here: what one would add to `ring` is
//! the splitting of a text at its dots, and claims that are looked at only where they are there.

use crate::base::{AccessError, random};
use crate::challenge::Purpose;
use crate::signature::{PublicKey, Written};
use base64::Engine;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use jiff::{SignedDuration, Timestamp};
use serde::Deserialize;
use sha2::{Digest, Sha256};

/// Clocks may differ by so much.
const CLOCKS_DIFFER: SignedDuration = SignedDuration::from_mins(1);
/// What was said longer ago is no answer to what was just asked.
const SAID_WITHIN: SignedDuration = SignedDuration::from_mins(10);
/// Longer than any answer of a provider that is one.
pub const LONGEST: usize = 256 * 1024;

/// Why an organisation's word is not taken.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Fault {
    /// It is not what a provider says.
    #[error("the answer of the organisation cannot be read")]
    Unreadable,
    /// It did not let the person in.
    #[error("the organisation did not let you in")]
    Denied,
    /// It speaks of another issuer.
    #[error("the answer comes from another issuer")]
    Issuer,
    /// It is meant for another program.
    #[error("the answer is meant for another program")]
    Audience,
    /// It answers another question.
    #[error("the answer is one to another question")]
    Nonce,
    /// It has run out, or was said too long ago.
    #[error("the answer is too old")]
    Old,
    /// It was said later than now.
    #[error("the answer is from later than now: one of the clocks is wrong")]
    Early,
    /// It is signed in a way that is not taken.
    #[error("the answer is signed in a way that is not taken")]
    Algorithm,
    /// No key of the organisation is the one that it is signed with.
    #[error("the answer is signed with a key that the organisation does not publish")]
    Key,
    /// The signature is not by this key.
    #[error("the signature of the answer is wrong")]
    Signature,
    /// The person did not sign in again, although they were asked to.
    #[error("the organisation did not ask who it is again")]
    NotAgain,
}

/// What a provider says of itself (OpenID Connect Discovery 1.0, 3).
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
pub struct Provider {
    /// Itself.
    pub issuer: String,
    /// Where browsers are sent.
    pub authorization_endpoint: String,
    /// Where a code is changed into an answer.
    pub token_endpoint: String,
    /// Where its keys are.
    pub jwks_uri: String,
    /// How a program may show itself there.
    #[serde(default)]
    token_endpoint_auth_methods_supported: Option<Vec<String>>,
}

impl Provider {
    /// Reads what the provider at `issuer` says of itself.
    ///
    /// # Errors
    /// When it cannot be read, or says that it is another one.
    pub fn read(json: &[u8], issuer: &str) -> Result<Self, Fault> {
        let provider: Self = read(json)?;
        if provider.issuer == issuer { Ok(provider) } else { Err(Fault::Issuer) }
    }

    /// Whether a secret can be sent in a form only, and not in a header, which is usual.
    pub fn takes_secret_in_form(&self) -> bool {
        self.token_endpoint_auth_methods_supported.as_ref().is_some_and(|ways| {
            let is_there = |way: &str| ways.iter().any(|one| one == way);
            is_there("client_secret_post") && !is_there("client_secret_basic")
        })
    }
}

/// What is asked of an organisation, remembered until its answer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Question {
    /// Comes back inside the answer.
    pub nonce: String,
    /// Shows that whoever brings the code has asked for it (RFC 7636, 4.1).
    pub verifier: String,
    /// The page to come back to.
    pub back: String,
}

impl Question {
    /// A new one.
    ///
    /// # Errors
    /// When the system gives no random bytes.
    pub fn new(back: &str) -> Result<Self, AccessError> {
        let drawn = || random::<32>().map(|bytes| URL_SAFE_NO_PAD.encode(bytes));
        Ok(Self { nonce: drawn()?, verifier: drawn()?, back: back.to_owned() })
    }

    /// What is sent of the verifier beforehand: S256 (RFC 7636, 4.2).
    pub fn challenge(&self) -> String {
        URL_SAFE_NO_PAD.encode(Sha256::digest(self.verifier.as_bytes()))
    }
}

/// A state as it goes through a browser: it says what was asked for, so that it is looked for once.
pub fn state(purpose: Purpose, state: &[u8]) -> String {
    let letter = if purpose == Purpose::Prove { 'p' } else { 's' };
    format!("{letter}{}", URL_SAFE_NO_PAD.encode(state))
}

/// Reads it; none where it is none.
pub fn read_state(sent: &str) -> Option<(Purpose, Vec<u8>)> {
    let (purpose, state) = match sent.split_at_checked(1)? {
        ("p", state) => (Purpose::Prove, state),
        ("s", state) => (Purpose::SignIn, state),
        _ => return None,
    };
    (state.len() <= 64).then(|| URL_SAFE_NO_PAD.decode(state).ok()).flatten().map(|s| (purpose, s))
}

/// A name and a secret as a header carries them (RFC 7617, 2).
pub fn basic(both: &str) -> String {
    base64::engine::general_purpose::STANDARD.encode(both)
}

/// What an answer must answer to.
#[derive(Debug, Clone, Copy)]
pub struct Expected<'a> {
    /// The organisation.
    pub issuer: &'a str,
    /// What the organisation calls this program.
    pub client: &'a str,
    /// What was asked with.
    pub nonce: &'a str,
    /// The person was asked to sign in there anew, since then.
    pub again_since: Option<Timestamp>,
}

/// Somebody whom the organisation knows.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Vouched {
    /// Who, as the organisation numbers its people.
    pub subject: String,
    /// When they last showed it who they are, where it says so.
    pub at: Option<Timestamp>,
}

#[derive(Deserialize)]
struct Head {
    alg: String,
    #[serde(default)]
    kid: Option<String>,
    // What must be understood and is not (RFC 7515, 4.1.11).
    #[serde(default)]
    crit: Option<serde_json::Value>,
}

#[derive(Deserialize)]
struct Claims {
    iss: String,
    sub: String,
    aud: Audience,
    exp: f64,
    iat: f64,
    #[serde(default)]
    azp: Option<String>,
    #[serde(default)]
    nonce: Option<String>,
    #[serde(default)]
    auth_time: Option<f64>,
}

#[derive(Deserialize)]
#[serde(untagged)]
enum Audience {
    One(String),
    Many(Vec<String>),
}

/// The keys that an organisation publishes (RFC 7517): those that can be used here.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Keys(Vec<(Option<String>, PublicKey)>);

impl Keys {
    /// Reads a key set. A key of another kind, or for another use, is left out.
    ///
    /// # Errors
    /// When it is no key set.
    pub fn read(json: &[u8]) -> Result<Self, Fault> {
        #[derive(Deserialize)]
        struct Set {
            keys: Vec<serde_json::Value>,
        }
        let set: Set = read(json)?;
        Ok(Self(set.keys.iter().filter_map(key).collect()))
    }

    /// Whether one has this name. A token without a name is tried with the only key of its kind.
    fn named(&self, name: Option<&str>, algorithm: &str) -> Option<&PublicKey> {
        let fits = |key: &PublicKey| {
            matches!(
                (key, algorithm),
                (PublicKey::Rsa { .. }, "RS256")
                    | (PublicKey::P256(_), "ES256")
                    | (PublicKey::Ed25519(_), "EdDSA")
            )
        };
        let mut found = self
            .0
            .iter()
            .filter(|(known, key)| fits(key) && (name.is_none() || known.as_deref() == name));
        let (first, more) = (found.next(), found.next());
        first.filter(|_| more.is_none()).map(|(_, key)| key)
    }
}

fn key(jwk: &serde_json::Value) -> Option<(Option<String>, PublicKey)> {
    let text = |name: &str| jwk.get(name).and_then(serde_json::Value::as_str);
    let bytes = |name: &str| URL_SAFE_NO_PAD.decode(text(name)?).ok();
    if text("use").is_some_and(|what| what != "sig") {
        return None;
    }
    let (key, algorithm) = match (text("kty")?, text("crv")) {
        ("RSA", _) => (PublicKey::rsa(&bytes("n")?, &bytes("e")?)?, "RS256"),
        ("EC", Some("P-256")) => (PublicKey::point(&bytes("x")?, &bytes("y")?)?, "ES256"),
        ("OKP", Some("Ed25519")) => (PublicKey::edwards(&bytes("x")?)?, "EdDSA"),
        _ => return None,
    };
    if text("alg").is_some_and(|meant| meant != algorithm) {
        return None;
    }
    Some((text("kid").map(str::to_owned), key))
}

/// Judges an ID token.
///
/// # Errors
/// The first check that does not hold. [`Fault::Key`] may pass when the keys are asked for anew.
pub fn judge(
    token: &str,
    keys: &Keys,
    expected: &Expected<'_>,
    now: Timestamp,
) -> Result<Vouched, Fault> {
    if token.len() > LONGEST {
        return Err(Fault::Unreadable);
    }
    let (signed, signature) = token.rsplit_once('.').ok_or(Fault::Unreadable)?;
    let (head, claims) = signed.split_once('.').ok_or(Fault::Unreadable)?;
    let head: Head = read(&decoded(head)?)?;
    if !matches!(head.alg.as_str(), "RS256" | "ES256" | "EdDSA") || head.crit.is_some() {
        return Err(Fault::Algorithm);
    }
    let key = keys.named(head.kid.as_deref(), &head.alg).ok_or(Fault::Key)?;
    if !key.verifies(signed.as_bytes(), &decoded(signature)?, Written::Fixed) {
        return Err(Fault::Signature);
    }
    let claims: Claims = read(&decoded(claims)?)?;
    claims.hold(expected, now)
}

impl Claims {
    fn hold(self, expected: &Expected<'_>, now: Timestamp) -> Result<Vouched, Fault> {
        if self.iss != expected.issuer {
            return Err(Fault::Issuer);
        }
        let (is_ours, is_shared) = match &self.aud {
            Audience::One(one) => (one == expected.client, false),
            Audience::Many(many) => (many.iter().any(|one| one == expected.client), many.len() > 1),
        };
        let is_party = match &self.azp {
            Some(party) => party == expected.client,
            None => !is_shared,
        };
        if !is_ours || !is_party {
            return Err(Fault::Audience);
        }
        if self.nonce.as_deref() != Some(expected.nonce) {
            return Err(Fault::Nonce);
        }
        let (until, said) = (instant(self.exp)?, instant(self.iat)?);
        if now.duration_since(until) >= CLOCKS_DIFFER {
            return Err(Fault::Old);
        }
        if said.duration_since(now) > CLOCKS_DIFFER {
            return Err(Fault::Early);
        }
        if now.duration_since(said) > SAID_WITHIN {
            return Err(Fault::Old);
        }
        let at = self.auth_time.map(instant).transpose()?;
        if at.is_some_and(|at| at.duration_since(now) > CLOCKS_DIFFER) {
            return Err(Fault::Early);
        }
        if let Some(since) = expected.again_since {
            let is_again = at.is_some_and(|at| since.duration_since(at) <= CLOCKS_DIFFER);
            if !is_again {
                return Err(Fault::NotAgain);
            }
        }
        // At most 255 signs of ASCII (OpenID Connect Core 1.0, 2).
        if self.sub.is_empty() || self.sub.len() > 255 || !self.sub.is_ascii() {
            return Err(Fault::Unreadable);
        }
        Ok(Vouched { subject: self.sub, at })
    }
}

/// Seconds since 1970, with or without a fraction (RFC 7519, 2).
fn instant(seconds: f64) -> Result<Timestamp, Fault> {
    // What is beyond all time is cut to the ends of what an instant can be, which no check takes.
    #[allow(clippy::cast_possible_truncation, reason = "a cast of a float keeps to the ends")]
    Timestamp::from_second(seconds as i64).map_err(|_| Fault::Unreadable)
}

fn decoded(part: &str) -> Result<Vec<u8>, Fault> {
    URL_SAFE_NO_PAD.decode(part).map_err(|_| Fault::Unreadable)
}

fn read<T: serde::de::DeserializeOwned>(json: &[u8]) -> Result<T, Fault> {
    if json.len() > LONGEST {
        return Err(Fault::Unreadable);
    }
    serde_json::from_slice(json).map_err(|_| Fault::Unreadable)
}

#[cfg(test)]
mod tests;
