//! An authenticator of the tests' own: makes a key and answers with it, as a device would, each part of the
//! answer open to be tampered with.

#![allow(dead_code, reason = "each test program uses a part of it")]

use base64::Engine;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use ciborium::Value;
use ring::digest::{SHA256, digest};
use ring::rand::SystemRandom;
use ring::signature::{ECDSA_P256_SHA256_ASN1_SIGNING, EcdsaKeyPair, Ed25519KeyPair, KeyPair};

/// Its person was there, and was looked at.
pub(crate) const THERE_AND_VERIFIED: u8 = 0b101;
/// It brings a key.
pub(crate) const BRINGS_KEY: u8 = 1 << 6;

pub(crate) enum Key {
    P256(EcdsaKeyPair),
    Ed25519(Ed25519KeyPair),
}

pub(crate) struct Authenticator {
    pub(crate) key: Key,
    pub(crate) id: Vec<u8>,
    pub(crate) user: Vec<u8>,
    pub(crate) counter: u32,
    pub(crate) flags: u8,
    /// What stands behind everything else, such as extensions.
    pub(crate) more: Vec<u8>,
    /// Fields of what the browser says, instead of the right ones.
    pub(crate) says: Vec<(&'static str, serde_json::Value)>,
    /// Of the attestation of a new key: its format and statement.
    pub(crate) attests: Option<(&'static str, Vec<(Value, Value)>)>,
}

impl Authenticator {
    pub(crate) fn p256() -> Self {
        let chance = SystemRandom::new();
        let pkcs8 = EcdsaKeyPair::generate_pkcs8(&ECDSA_P256_SHA256_ASN1_SIGNING, &chance).unwrap();
        let key =
            EcdsaKeyPair::from_pkcs8(&ECDSA_P256_SHA256_ASN1_SIGNING, pkcs8.as_ref(), &chance);
        Self::with(Key::P256(key.unwrap()))
    }

    pub(crate) fn ed25519() -> Self {
        let pkcs8 = Ed25519KeyPair::generate_pkcs8(&SystemRandom::new()).unwrap();
        Self::with(Key::Ed25519(Ed25519KeyPair::from_pkcs8(pkcs8.as_ref()).unwrap()))
    }

    fn with(key: Key) -> Self {
        let public = match &key {
            Key::P256(key) => key.public_key().as_ref().to_vec(),
            Key::Ed25519(key) => key.public_key().as_ref().to_vec(),
        };
        Self {
            id: digest(&SHA256, &public).as_ref()[..20].to_vec(),
            key,
            user: Vec::new(),
            counter: 0,
            flags: THERE_AND_VERIFIED,
            more: Vec::new(),
            says: Vec::new(),
            attests: None,
        }
    }

    /// Its public key as COSE writes it.
    pub(crate) fn cose(&self) -> Vec<u8> {
        let number = |number: i64| Value::from(number);
        cbor(&Value::Map(match &self.key {
            Key::P256(key) => {
                let point = key.public_key().as_ref();
                vec![
                    (number(1), number(2)),
                    (number(3), number(-7)),
                    (number(-1), number(1)),
                    (number(-2), Value::Bytes(point[1..33].to_vec())),
                    (number(-3), Value::Bytes(point[33..].to_vec())),
                ]
            }
            Key::Ed25519(key) => vec![
                (number(1), number(1)),
                (number(3), number(-8)),
                (number(-1), number(6)),
                (number(-2), Value::Bytes(key.public_key().as_ref().to_vec())),
            ],
        }))
    }

    pub(crate) fn sign(&self, message: &[u8]) -> Vec<u8> {
        match &self.key {
            Key::P256(key) => key.sign(&SystemRandom::new(), message).unwrap().as_ref().to_vec(),
            Key::Ed25519(key) => key.sign(message).as_ref().to_vec(),
        }
    }

    /// What the browser says.
    pub(crate) fn client(&self, kind: &str, challenge: &[u8], origin: &str) -> Vec<u8> {
        let mut said = serde_json::json!({
            "type": kind,
            "challenge": URL_SAFE_NO_PAD.encode(challenge),
            "origin": origin,
            "crossOrigin": false,
        });
        for (name, value) in &self.says {
            said[*name] = value.clone();
        }
        said.to_string().into_bytes()
    }

    /// What the authenticator says, for a name; with its key where one is made.
    pub(crate) fn data(&self, name: &str, key: Option<&[u8]>) -> Vec<u8> {
        let mut data = digest(&SHA256, name.as_bytes()).as_ref().to_vec();
        data.push(self.flags | if key.is_some() { BRINGS_KEY } else { 0 });
        data.extend(self.counter.to_be_bytes());
        if let Some(key) = key {
            data.extend([0; 16]);
            data.extend(u16::try_from(self.id.len()).unwrap().to_be_bytes());
            data.extend(&self.id);
            data.extend(key);
        }
        data.extend(&self.more);
        data
    }

    /// Makes a key: what the page sends.
    pub(crate) fn make(&self, challenge: &[u8], origin: &str, name: &str) -> String {
        let client = self.client("webauthn.create", challenge, origin);
        let data = self.data(name, Some(&self.cose()));
        let (format, statement) = self.attests.clone().unwrap_or(("none", Vec::new()));
        let attestation = cbor(&Value::Map(vec![
            (Value::from("fmt"), Value::from(format)),
            (Value::from("attStmt"), Value::Map(statement)),
            (Value::from("authData"), Value::Bytes(data)),
        ]));
        join(&[&client, &attestation])
    }

    /// Uses the key: what the page sends.
    pub(crate) fn answer(&self, challenge: &[u8], origin: &str, name: &str) -> String {
        let client = self.client("webauthn.get", challenge, origin);
        let data = self.data(name, None);
        let signature = self.sign(&[&data[..], digest(&SHA256, &client).as_ref()].concat());
        join(&[&self.id, &client, &data, &signature, &self.user])
    }
}

pub(crate) fn cbor(value: &Value) -> Vec<u8> {
    let mut bytes = Vec::new();
    ciborium::into_writer(value, &mut bytes).unwrap();
    bytes
}

pub(crate) fn join(parts: &[&[u8]]) -> String {
    let parts: Vec<String> = parts.iter().map(|part| URL_SAFE_NO_PAD.encode(part)).collect();
    parts.join(".")
}
