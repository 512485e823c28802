//! What is asked to be recorded, and what stands recorded.

use crate::canonical;
use crate::hash::Hash;
use crate::instant::Instant;
use crate::store::{Head, StoreError};
use serde::{Deserialize, Serialize};
use serde_json::Value;
use serde_json::value::RawValue;
use std::borrow::Cow;

/// The greatest magnitude of a number in a fact: 2⁵³ − 1, the last whole number that a program
/// with nothing but binary floats tells from its neighbours.
pub const MAX_INTEGER: u64 = (1 << 53) - 1;

/// How deep objects and arrays of a fact may be nested, itself included. Common JSON readers stop
/// somewhat above a hundred; what is written must be readable by all of them.
pub const MAX_DEPTH: usize = 64;

/// The most bytes of an entry's canonical text, 16 MiB. Pictures and files belong into blobs.
pub const MAX_ENTRY_BYTES: usize = 16 << 20;

/// A fact that is to be recorded.
#[derive(Debug, Clone, PartialEq)]
pub struct Draft {
    /// When it is recorded. The journal keeps order by position and does not compare instants:
    /// clocks are set back now and then.
    pub at: Instant,
    /// Code of the person who gives the fact; not empty.
    pub by: String,
    /// Key of the request that the fact came from; not empty. The facts of one request share it.
    pub request: String,
    /// The fact: an object whose numbers are whole and within ±[`MAX_INTEGER`].
    pub fact: Value,
}

/// Why a draft cannot become an entry.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum DraftError {
    /// The fact is not a JSON object.
    #[error("a fact is a JSON object; this is another kind of value")]
    NotAnObject,
    /// A number that is not whole or too great.
    #[error(
        "the number {0} cannot stand in a fact: numbers there are whole and at most \
         9007199254740991 in magnitude; write a reading as text, exactly as it was read"
    )]
    Number(String),
    /// Nested deeper than [`MAX_DEPTH`].
    #[error("the fact is nested more than {MAX_DEPTH} levels deep")]
    TooDeep,
    /// The canonical text would pass [`MAX_ENTRY_BYTES`].
    #[error(
        "the fact takes {0} bytes; an entry has at most {MAX_ENTRY_BYTES}: attach it as a file"
    )]
    TooLarge(usize),
    /// Nobody is named.
    #[error("no person is named as the one who gives the fact")]
    NoPerson,
    /// The request has no key.
    #[error("the request that the fact comes from has no key")]
    NoRequest,
    /// The text cannot be written as JSON.
    #[error("the fact cannot be written as JSON: {0}")]
    Unwritable(String),
}

/// An entry as it was appended.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct Entry {
    /// Its place, from 1.
    pub position: u64,
    /// The hash of the entry before, or [`Hash::GENESIS`].
    pub previous: Hash,
    /// The SHA-256 of the canonical bytes.
    pub hash: Hash,
    /// When it was recorded.
    pub at: Instant,
    /// Who gave it.
    pub by: String,
    /// Key of the request.
    pub request: String,
    bytes: Vec<u8>,
}

/// The object whose canonical text is hashed.
#[derive(Serialize)]
struct Envelope<'a> {
    at: Instant,
    by: &'a str,
    fact: &'a Value,
    position: u64,
    previous: Hash,
    request: &'a str,
}

impl Entry {
    /// The entry that `draft` becomes right behind `head`.
    pub(crate) fn seal(head: Head, draft: Draft) -> Result<Self, DraftError> {
        if draft.by.is_empty() {
            return Err(DraftError::NoPerson);
        }
        if draft.request.is_empty() {
            return Err(DraftError::NoRequest);
        }
        canonical::check_fact(&draft.fact)?;
        let position = head.position + 1;
        let bytes = canonical::bytes(&Envelope {
            at: draft.at,
            by: &draft.by,
            fact: &draft.fact,
            position,
            previous: head.hash,
            request: &draft.request,
        })
        .map_err(|error| DraftError::Unwritable(error.to_string()))?;
        if bytes.len() > MAX_ENTRY_BYTES {
            return Err(DraftError::TooLarge(bytes.len()));
        }
        Ok(Self {
            position,
            previous: head.hash,
            hash: Hash::of(&bytes),
            at: draft.at,
            by: draft.by,
            request: draft.request,
            bytes,
        })
    }

    /// The entries that `drafts` become behind `head`, in order, each kept by `keep` before the next
    /// is looked at; or the first draft that cannot become one, by its index.
    pub(crate) fn seal_each(
        mut head: Head,
        drafts: &mut dyn Iterator<Item = Result<Draft, StoreError>>,
        mut keep: impl FnMut(&Self) -> Result<(), StoreError>,
    ) -> Result<Vec<Self>, StoreError> {
        let seal = |(index, draft): (usize, Result<Draft, StoreError>)| {
            let entry = Self::seal(head, draft?).map_err(|error| (index, error))?;
            keep(&entry)?;
            head = entry.head();
            Ok(entry)
        };
        drafts.enumerate().map(seal).collect()
    }

    /// The canonical bytes: what is hashed and what a store keeps.
    pub fn canonical_bytes(&self) -> &[u8] {
        &self.bytes
    }

    /// The head of a journal that ends with this entry.
    pub fn head(&self) -> Head {
        Head { position: self.position, hash: self.hash }
    }
}

/// An entry as it is read: checked, and borrowed from the store's bytes.
#[derive(Debug, Clone)]
#[non_exhaustive]
pub struct EntryRef<'a> {
    /// Its place, from 1.
    pub position: u64,
    /// The hash of the entry before, or [`Hash::GENESIS`].
    pub previous: Hash,
    /// The SHA-256 of the canonical bytes.
    pub hash: Hash,
    /// When it was recorded.
    pub at: Instant,
    /// Who gave it.
    pub by: Cow<'a, str>,
    /// Key of the request.
    pub request: Cow<'a, str>,
    /// The fact as text: `serde_json::from_str(entry.fact.get())` reads it straight into the
    /// caller's own type.
    pub fact: &'a RawValue,
    pub(crate) bytes: &'a [u8],
}

impl<'a> EntryRef<'a> {
    /// The head of a journal that ends with this entry.
    pub fn head(&self) -> Head {
        Head { position: self.position, hash: self.hash }
    }

    /// The canonical bytes: what was hashed.
    pub fn canonical_bytes(&self) -> &'a [u8] {
        self.bytes
    }
}

/// The fields of an entry as they stand in its text; the hash only in an export.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Fields<'a> {
    pub(crate) at: Instant,
    #[serde(borrow)]
    pub(crate) by: Cow<'a, str>,
    #[serde(borrow)]
    pub(crate) fact: &'a RawValue,
    pub(crate) hash: Option<Hash>,
    pub(crate) position: u64,
    pub(crate) previous: Hash,
    #[serde(borrow)]
    pub(crate) request: Cow<'a, str>,
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    fn draft() -> Draft {
        Draft {
            at: "2026-11-24T10:41:07.250Z".parse().unwrap(),
            by: "mk".into(),
            request: "r\"1".into(),
            fact: json!({"type": "weighed", "mass": "1499.8", "jar": 3}),
        }
    }

    #[test]
    fn the_text_of_an_entry() {
        let entry = Entry::seal(Head::GENESIS, draft()).unwrap();
        let expected = format!(
            concat!(
                r#"{{"at":"2026-11-24T10:41:07.250Z","by":"mk","#,
                r#""fact":{{"jar":3,"mass":"1499.8","type":"weighed"}},"position":1,"#,
                r#""previous":"{}","request":"r\"1"}}"#
            ),
            Hash::GENESIS
        );
        assert_eq!(std::str::from_utf8(entry.canonical_bytes()).unwrap(), expected);
        assert_eq!(entry.hash, Hash::of(expected.as_bytes()));
    }

    #[test]
    fn each_entry_names_the_one_before() {
        let mut kept = Vec::new();
        let entries =
            Entry::seal_each(Head::GENESIS, &mut [draft(), draft()].into_iter().map(Ok), |entry| {
                kept.push(entry.hash);
                Ok(())
            })
            .unwrap();
        assert_eq!(kept, [entries[0].hash, entries[1].hash]);
        assert_eq!((entries[0].position, entries[0].previous), (1, Hash::GENESIS));
        assert_eq!((entries[1].position, entries[1].previous), (2, entries[0].hash));
    }

    #[test]
    fn drafts_that_say_too_little_or_too_much() {
        let cases = [
            (Draft { by: String::new(), ..draft() }, DraftError::NoPerson),
            (Draft { request: String::new(), ..draft() }, DraftError::NoRequest),
            (Draft { fact: json!(["a"]), ..draft() }, DraftError::NotAnObject),
            (Draft { fact: json!({"a": 0.1}), ..draft() }, DraftError::Number("0.1".into())),
        ];
        for (bad, error) in cases {
            let sealed = Entry::seal_each(
                Head::GENESIS,
                &mut [draft(), bad].into_iter().map(Ok),
                |_| Ok(()),
            );
            assert!(
                matches!(&sealed, Err(StoreError::Draft { index: 1, source }) if *source == error),
                "{sealed:?}"
            );
        }
        let huge = Draft { fact: json!({"a": "x".repeat(MAX_ENTRY_BYTES)}), ..draft() };
        assert!(matches!(Entry::seal(Head::GENESIS, huge), Err(DraftError::TooLarge(_))));
    }
}
