//! Entries of the journal as they are handed on to programs.

use crate::open::OpenLaboratory;
use jiff::Timestamp;
use serde::{Deserialize, Serialize};
use serde_json::Value;
use std::ops::ControlFlow;
use stonewear_journal::{RawEntry, Store, StoreError};

/// A fact with its place in the journal.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct KeptFact {
    /// Its place, from 1.
    pub position: u64,
    /// The hash of its entry, as hexadecimal.
    pub hash: String,
    /// When it was recorded.
    pub at: Timestamp,
    /// Who gave it.
    pub by: String,
    /// Key of the request that it came from.
    pub request: String,
    /// The fact, which carries its name as `kind`.
    pub fact: Value,
}

impl KeptFact {
    /// The name of the fact: `mass-weighed`.
    pub fn kind(&self) -> &str {
        self.fact.get("kind").and_then(Value::as_str).unwrap_or_default()
    }

    fn read(raw: &RawEntry<'_>) -> Result<Self, StoreError> {
        let fields: Fields = serde_json::from_slice(raw.bytes).map_err(|error| {
            StoreError::Damaged(format!("entry {} cannot be read: {error}", raw.position))
        })?;
        Ok(Self {
            position: raw.position,
            hash: raw.hash.to_string(),
            at: fields.at,
            by: fields.by,
            request: fields.request,
            fact: fields.fact,
        })
    }
}

#[derive(Deserialize)]
struct Fields {
    at: Timestamp,
    by: String,
    request: String,
    fact: Value,
}

impl OpenLaboratory {
    /// The facts behind a place in the journal, oldest first, `most` at the most.
    ///
    /// # Errors
    /// When the journal cannot be read.
    pub fn facts_after(&self, position: u64, most: usize) -> Result<Vec<KeptFact>, StoreError> {
        let mut facts = Vec::new();
        let mut trouble = None;
        // Entries behind a damage are not handed on: nobody knows what they are.
        let last = self.damage().map_or(u64::MAX, |damage| damage.position.saturating_sub(1));
        self.store().read_from(position.saturating_add(1), &mut |raw| {
            if facts.len() >= most || raw.position > last {
                return ControlFlow::Break(());
            }
            match KeptFact::read(&raw) {
                Ok(fact) => {
                    facts.push(fact);
                    ControlFlow::Continue(())
                }
                Err(error) => {
                    trouble = Some(error);
                    ControlFlow::Break(())
                }
            }
        })?;
        trouble.map_or(Ok(facts), Err)
    }

    /// The facts at these places of one request, in order.
    ///
    /// # Errors
    /// When the journal cannot be read.
    pub fn facts_at(&self, positions: &[u64]) -> Result<Vec<KeptFact>, StoreError> {
        let Some((first, last)) = positions.first().zip(positions.last()) else {
            return Ok(Vec::new());
        };
        let most = usize::try_from(last.saturating_sub(*first)).unwrap_or(usize::MAX);
        let mut facts = self.facts_after(first.saturating_sub(1), most.saturating_add(1))?;
        facts.retain(|fact| positions.contains(&fact.position));
        Ok(facts)
    }

    /// The facts of requests whose key begins like this: their places and whole keys, in order.
    ///
    /// # Errors
    /// When the journal cannot be read.
    pub fn keyed(&self, beginning: &str) -> Result<Vec<(u64, String)>, StoreError> {
        self.store().find_requests(beginning)
    }
}
