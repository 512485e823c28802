//! Proficiency: what the rounds of others say of this laboratory, score by score and over the years.

mod document;
mod score;
mod table;
mod trend;

pub use document::{scores_csv, scores_document};
pub use score::{ScoreKind, ScoreVerdict, Scored, scored};
pub use trend::{Series, SeriesPoint, series};

pub(crate) use table::{ScoreRow, read_scores};

use crate::state::{Lab, Score};

impl Score {
    /// The scores and the verdict; `None` where nothing that was told defines one, which no row
    /// that was taken in lacks.
    pub fn scored(&self) -> Option<Scored> {
        scored(&self.told.value)
    }

    /// Whether it waits for somebody: it is not satisfactory, or something was done about it, and
    /// nobody has closed the matter.
    pub fn is_open(&self) -> bool {
        let is_good =
            self.scored().is_some_and(|scored| scored.verdict == ScoreVerdict::Satisfactory);
        self.replaced_by.is_none() && self.closed.is_none() && !(is_good && self.actions.is_empty())
    }

    /// What is asked of somebody now, in words; nothing where nothing is.
    pub fn wants(&self) -> &'static str {
        match (self.is_open(), self.actions.is_empty()) {
            (false, _) => "",
            (true, true) => "find the cause and record what is done about it",
            (true, false) => "look whether it helped, and close the matter",
        }
    }
}

impl Lab {
    /// The score with this code, as it was typed.
    pub fn score(&self, typed: &str) -> Option<&Score> {
        self.scores.get(crate::code::scanned(typed).as_str())
    }

    /// Scores that wait for somebody, oldest first.
    pub fn open_scores(&self) -> impl Iterator<Item = &Score> {
        self.scores.values().filter(|score| score.is_open())
    }
}
