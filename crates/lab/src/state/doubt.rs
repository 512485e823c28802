//! Doubts, and the uses of items that they are worked out from.

use super::Noted;
use crate::code::{DoubtCode, ItemCode, PersonCode, ResultCode, SpecimenCode};
use jiff::Timestamp;
use serde::Serialize;
use std::collections::BTreeMap;
use stonewear_measure::Decimal;

/// One use of an item for a specimen.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Use {
    /// Place of the fact in the journal.
    pub position: u64,
    /// When.
    pub at: Timestamp,
    /// For which specimen.
    pub specimen: SpecimenCode,
}

/// Something that results stand on turned out wrong, or may have.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Doubt {
    /// Its code.
    pub code: DoubtCode,
    /// The item.
    pub item: ItemCode,
    /// What of it.
    pub attribute: String,
    /// The value as found.
    pub found: Option<Decimal>,
    /// The results in doubt.
    pub results: Vec<ResultCode>,
    /// What happened, since when it is known, and who opened the doubt.
    pub opened: Noted<String>,
    /// What was decided about each result that is dealt with.
    pub closed: BTreeMap<ResultCode, Noted<String>>,
}

impl Doubt {
    /// Whether a result is still in doubt.
    pub fn is_open_for(&self, result: &ResultCode) -> bool {
        self.results.contains(result) && !self.closed.contains_key(result)
    }

    /// The results that nobody has dealt with yet.
    pub fn open_results(&self) -> impl Iterator<Item = &ResultCode> {
        self.results.iter().filter(|result| !self.closed.contains_key(*result))
    }

    /// Who opened it.
    pub fn opened_by(&self) -> &PersonCode {
        &self.opened.by
    }
}
