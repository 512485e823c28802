//! A score of this laboratory in a proficiency round, and what was done about it.

use super::Noted;
use crate::code::ScoreCode;
use crate::fact::proficiency::Told;
use serde::Serialize;

/// A score.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Score {
    /// What the provider said.
    pub told: Noted<Told>,
    /// What was done about it, oldest first.
    pub actions: Vec<Noted<ScoreAction>>,
    /// What showed that it helped.
    pub closed: Option<Noted<String>>,
    /// The score that replaces it.
    pub replaced_by: Option<ScoreCode>,
}

/// Something that was done about a score.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ScoreAction {
    /// What was found to be the cause.
    pub cause: String,
    /// What was done.
    pub action: String,
}

impl Score {
    /// Its code.
    pub fn code(&self) -> &ScoreCode {
        &self.told.value.score
    }
}
