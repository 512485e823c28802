//! Keeping facts: appended, folded into the state, their end noted. And catching up with what somebody
//! else has appended.

use crate::error::SubmitError;
use crate::open::{Decided, OpenLaboratory, Receipt, each_fact};
use crate::replay;
use crate::results;
use std::ops::ControlFlow;
use stonewear_journal::postgres::ResultRow;
use stonewear_journal::{Draft, Entry, Instant, StoreError};
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
        let rows = self.rows_after(decided);
        let changed = rows.as_ref().map(|rows| results::changed(&self.rows, rows));
        let entries = self.append(decided, &changed.unwrap_or_default())?;
        if let Some(rows) = rows {
            self.rows = rows;
        }
        for (entry, (one, fact)) in entries.iter().zip(each_fact(decided)) {
            self.fold(entry.position, one, fact);
        }
        self.ends_with(&entries, decided);
        Ok(entries.iter().map(|entry| entry.position).collect())
    }

    /// Puts facts on the disk, and what results say from then on.
    pub(crate) fn append(
        &self,
        decided: &[Decided<'_>],
        rows: &[ResultRow],
    ) -> Result<Vec<Entry>, StoreError> {
        let mut drafts = each_fact(decided).map(|(one, fact)| {
            let fact =
                serde_json::to_value(fact).map_err(|error| StoreError::Other(error.into()))?;
            let (by, request) = (one.by.to_string(), one.key.to_owned());
            Ok(Draft { at: Instant::from(one.at), by, request, fact })
        });
        let begun = std::time::Instant::now();
        let appended = self.store().append_with(self.head, &mut drafts, rows);
        if let Some(listener) = &self.appended {
            (listener.0)(begun.elapsed());
        }
        self.note_trouble(appended.as_ref().err());
        appended
    }

    /// Folds a fact into the state, as it will be read again from its place.
    pub(crate) fn fold(&mut self, position: u64, one: &Decided<'_>, fact: &Fact) {
        let at = Instant::from(one.at).timestamp();
        self.lab.apply(&Recorded { position, at, by: one.by.clone(), fact: fact.clone() });
        self.last_at = at;
    }

    /// Notes where the journal ends now, and signs it where it is time.
    pub(crate) fn ends_with(&mut self, entries: &[Entry], decided: &[Decided<'_>]) {
        if let Some(last) = entries.last() {
            self.head = last.head();
            self.end.write(self.head);
            let issued = each_fact(decided)
                .any(|(_, fact)| matches!(fact, Fact::Paper(PaperFact::Issued(_))));
            self.sign_in_time(issued);
        }
    }

    /// What the rows of results say once these facts are kept; `None` where nobody asks for them, or they
    /// say what they said. It is worked out on a copy, for the facts may yet not be kept.
    fn rows_after(&self, decided: &[Decided<'_>]) -> Option<results::Rows> {
        let is_wanted = self.store().is_shared()
            && each_fact(decided).any(|(_, fact)| results::changes_results(fact));
        is_wanted.then(|| {
            let mut lab = self.lab.clone();
            for (position, (one, fact)) in (self.head.position + 1..).zip(each_fact(decided)) {
                let (by, fact) = (one.by.clone(), fact.clone());
                lab.apply(&Recorded { position, at: one.at, by, fact });
            }
            results::rows(&lab)
        })
    }

    /// Reads on behind the last entry that is known here, and says whether there was one: in a database
    /// others append, too; in a folder it is somebody who got past its lock (it was removed by hand, or
    /// the disk does not know locks).
    ///
    /// # Errors
    /// When the journal cannot be read on, or what comes next does not follow what is known here.
    pub fn catch_up(&mut self) -> Result<bool, StoreError> {
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
        let is_news = !news.is_empty();
        for recorded in news {
            self.last_at = recorded.at;
            self.lab.apply(&recorded);
        }
        self.head = verification.head;
        if is_news && self.store().is_shared() {
            self.end.write(self.head);
        }
        Ok(is_news)
    }
}
