//! Folding facts about papers.

use super::Noter;
use crate::fact::{PaperFact, PaperKind};
use crate::state::Lab;

impl Lab {
    pub(super) fn apply_paper(&mut self, note: &Noter<'_>, fact: &PaperFact) {
        match fact {
            PaperFact::Issued(issued) => {
                if issued.paper == PaperKind::ProjectReport {
                    self.count('G', note);
                }
                self.papers.insert(issued.fingerprint.clone(), note.that(issued.clone()));
            }
            PaperFact::LetterheadSet(set) => self.letterheads.push(note.that((**set).clone())),
        }
    }
}
