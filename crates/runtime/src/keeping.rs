//! Keeping facts: appended, folded into the state, their end noted. And catching up with what somebody
//! else has appended.

use crate::error::SubmitError;
use crate::open::{Decided, OpenLaboratory, Receipt, each_fact};
use crate::replay;
use std::ops::ControlFlow;
use stonewear_journal::{Draft, Instant, Store, StoreError};
use stonewear_lab::fact::PaperFact;
use stonewear_lab::{Fact, Recorded};

impl OpenLaboratory {
    /// Keeps facts that were decided elsewhere, as the demo's scenario has them: all or none.
    ///
    /// # Errors
    /// When they could not be kept; then nothing has changed.
    pub fn record(&mut self, decided: &[Decided<'_>]) -> Result<Receipt, SubmitError> {
        let positions = self.keep(decided)?;
        let facts = each_fact(decided).map(|(_, fact)| fact.clone()).collect();
        Ok(Receipt { facts, positions, head: self.head.hash.to_string() })
    }

    /// Keeps facts, and says at which places.
    pub(crate) fn keep(&mut self, decided: &[Decided<'_>]) -> Result<Vec<u64>, SubmitError> {
        if let Some(damage) = self.damage() {
            return Err(SubmitError::ReadOnly(damage.clone()));
        }
        let mut drafts = each_fact(decided).map(|(one, fact)| {
            let fact =
                serde_json::to_value(fact).map_err(|error| StoreError::Other(error.into()))?;
            let (by, request) = (one.by.to_string(), one.key.to_owned());
            Ok(Draft { at: Instant::from(one.at), by, request, fact })
        });
        let begun = std::time::Instant::now();
        let appended = self.store().append_each(self.head, &mut drafts);
        if let Some(listener) = &self.appended {
            (listener.0)(begun.elapsed());
        }
        self.note_trouble(appended.as_ref().err());
        let entries = appended?;
        for (entry, (one, fact)) in entries.iter().zip(each_fact(decided)) {
            let recorded = Recorded {
                position: entry.position,
                at: entry.at.timestamp(),
                by: one.by.clone(),
                fact: fact.clone(),
            };
            self.lab.apply(&recorded);
            self.last_at = recorded.at;
        }
        if let Some(last) = entries.last() {
            self.head = last.head();
            self.end.write(self.head);
            let issued = each_fact(decided)
                .any(|(_, fact)| matches!(fact, Fact::Paper(PaperFact::Issued(_))));
            self.sign_in_time(issued);
        }
        Ok(entries.iter().map(|entry| entry.position).collect())
    }

    /// Reads on behind the last entry that is known here: somebody else has appended, who got past the
    /// lock of the folder (it was removed by hand, or the disk does not know locks).
    ///
    /// # Errors
    /// When the journal cannot be read on, or what comes next does not follow what is known here.
    pub(crate) fn catch_up(&mut self) -> Result<(), StoreError> {
        let mut news = Vec::new();
        let mut unreadable = None;
        let verification =
            stonewear_journal::replay(
                &*self.store(),
                self.head,
                &mut |entry| match replay::recorded(&entry) {
                    Ok(recorded) => {
                        news.push(recorded);
                        ControlFlow::Continue(())
                    }
                    Err(error) => {
                        unreadable = Some(format!("entry {}: {error}", entry.position));
                        ControlFlow::Break(())
                    }
                },
            )?;
        if let Some(what) = unreadable.or_else(|| verification.what()) {
            return Err(StoreError::Damaged(format!(
                "another program appended to it, and what it wrote cannot be followed: {what}"
            )));
        }
        for recorded in news {
            self.last_at = recorded.at;
            self.lab.apply(&recorded);
        }
        self.head = verification.head;
        Ok(())
    }
}
