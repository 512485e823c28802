//! A public key as COSE writes it (RFC 9052, 7; RFC 9053; RFC 8812 for RSA), in CBOR (RFC 8949).

use super::{ALGORITHMS, Fault};
use crate::signature::PublicKey;
use ciborium::Value;

/// How deep what is read may nest: none of it goes deeper than three.
const DEEPEST: usize = 8;

/// A key and the algorithm that it is for.
#[derive(Debug)]
pub(super) struct CoseKey {
    pub(super) algorithm: i64,
    pub(super) public: PublicKey,
}

impl CoseKey {
    pub(super) fn read(cbor: &[u8]) -> Result<Self, Fault> {
        let mut rest = cbor;
        let entries = map(&mut rest)?;
        if !rest.is_empty() {
            return Err(Fault::Unreadable);
        }
        let number = |label: i64| {
            let value = of(&entries, &Value::from(label))?.as_integer()?;
            i64::try_from(i128::from(value)).ok()
        };
        let bytes = |label: i64| of(&entries, &Value::from(label))?.as_bytes();
        // Labels: 1 the kind of key, 3 the algorithm, -1 the curve or modulus, -2 x or exponent, -3 y.
        let algorithm = number(3).ok_or(Fault::Unreadable)?;
        let public = match (number(1), algorithm, number(-1)) {
            (Some(2), -7, Some(1)) => bytes(-2)
                .zip(bytes(-3))
                .and_then(|(x, y)| PublicKey::point(x, y))
                .ok_or(Fault::Unreadable)?,
            (Some(1), -8, Some(6)) => {
                bytes(-2).and_then(|x| PublicKey::edwards(x)).ok_or(Fault::Unreadable)?
            }
            (Some(3), -257, None) => bytes(-1)
                .zip(bytes(-2))
                .and_then(|(modulus, exponent)| PublicKey::rsa(modulus, exponent))
                .ok_or(Fault::Unreadable)?,
            (_, algorithm, _) if ALGORITHMS.contains(&algorithm) => return Err(Fault::Unreadable),
            _ => return Err(Fault::Algorithm),
        };
        Ok(Self { algorithm, public })
    }
}

/// Reads one map with keys that are all different; what stands behind it is left.
pub(super) fn map(rest: &mut &[u8]) -> Result<Vec<(Value, Value)>, Fault> {
    let read = ciborium::de::from_reader_with_recursion_limit(&mut *rest, DEEPEST);
    let Ok(Value::Map(entries)) = read else { return Err(Fault::Unreadable) };
    let is_twice = |(place, (key, _)): (usize, &(Value, Value))| {
        entries[..place].iter().any(|(before, _)| before == key)
    };
    if entries.len() > 64 || entries.iter().enumerate().any(is_twice) {
        return Err(Fault::Unreadable);
    }
    Ok(entries)
}

/// What a map says under a key.
pub(super) fn of<'v>(entries: &'v [(Value, Value)], key: &Value) -> Option<&'v Value> {
    entries.iter().find(|(known, _)| known == key).map(|(_, value)| value)
}
