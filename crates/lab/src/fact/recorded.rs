//! A fact in its place.

use super::Fact;
use crate::code::PersonCode;
use jiff::Timestamp;

/// A fact with its place in the journal, its time, and the person who gave it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Recorded {
    /// Place in the journal, from 1.
    pub position: u64,
    /// When it was recorded.
    pub at: Timestamp,
    /// Who recorded it.
    pub by: PersonCode,
    /// What happened.
    pub fact: Fact,
}

pub(super) fn universal_time() -> String {
    "UTC".to_owned()
}
