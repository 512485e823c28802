//! Requests of several people that are kept together: the disk is waited for once.
//!
//! Each is decided on what those before it have led to, so its facts are folded in before they are on the
//! disk. Nobody sees that: whoever holds the laboratory to write to it is alone with it, and no request is
//! answered before all are kept. Should the disk refuse, the state is read again from the journal, and each
//! request is taken by itself.

use crate::error::SubmitError;
use crate::late;
use crate::open::{Decided, OpenLaboratory, Receipt};
use crate::replay::{self, Damage};
use crate::view::noted;
use jiff::Timestamp;
use std::collections::BTreeSet;
use std::panic::{AssertUnwindSafe, catch_unwind};
use stonewear_journal::{Store, StoreError};
use stonewear_lab::{Context, Fact, Lab, PersonCode, Refusal, Request, decide};

/// A request, who sends it, and its key.
#[derive(Debug, Clone)]
pub struct Asked {
    /// Initials of who asks.
    pub by: String,
    /// Sent twice with the same key, it happens once: also where it is not known what became of the first.
    pub key: String,
    /// What is asked.
    pub request: Request,
}

/// What follows from one of the requests, folded in and not yet on the disk.
struct Held {
    index: usize,
    at: Timestamp,
    by: PersonCode,
    key: String,
    facts: Vec<Fact>,
}

impl Held {
    fn decided(&self) -> Decided<'_> {
        Decided { at: self.at, by: &self.by, key: &self.key, facts: &self.facts }
    }
}

/// Why they could not be taken together.
enum Apart {
    /// The state was not touched.
    Untouched,
    /// Facts were folded in that are not kept.
    Folded,
}

impl From<StoreError> for Apart {
    fn from(_: StoreError) -> Self {
        Self::Folded
    }
}

impl OpenLaboratory {
    /// Takes requests in order, with one wait for the disk. Each outcome is what
    /// [`OpenLaboratory::submit`] would have said, had they been sent one after the other. `None` where
    /// they cannot be taken together, or the disk refused: then nothing is recorded, and each is to be
    /// sent by itself.
    pub fn submit_together(
        &mut self,
        asked: &[Asked],
    ) -> Option<Vec<Result<Receipt, SubmitError>>> {
        let is_possible = asked.len() > 1
            && self.lab.is_founded()
            && !self.store().is_shared()
            && self.hindrance().is_none();
        if !is_possible {
            return None;
        }
        let last_at = self.last_at;
        match catch_unwind(AssertUnwindSafe(|| self.together(asked))) {
            Ok(Ok(outcomes)) => Some(outcomes),
            Ok(Err(Apart::Untouched)) => None,
            Ok(Err(Apart::Folded)) | Err(_) => {
                self.read_again(last_at);
                None
            }
        }
    }

    fn together(&mut self, asked: &[Asked]) -> Result<Vec<Result<Receipt, SubmitError>>, Apart> {
        let mut refusals: Vec<Option<Refusal>> = asked.iter().map(|_| None).collect();
        let mut held: Vec<Held> = Vec::new();
        let mut keys = BTreeSet::new();
        let mut position = self.head.position;
        for (index, one) in asked.iter().enumerate() {
            // What was sent before is answered as it was, and what comes with a file is looked at first:
            // by itself, behind the others.
            let is_new =
                keys.insert(one.key.as_str()) && self.store().find_request(&one.key)?.is_empty();
            let has_file =
                one.request.comes_with_file() || matches!(one.request, Request::AttachFile(_));
            if !is_new || has_file {
                continue;
            }
            let at = self.now();
            match decide(
                &self.lab,
                &Context { at, made: late::made(&one.key), ..self.context(&one.by) },
                &one.request,
            ) {
                Err(refusal) => refusals[index] = Some(refusal),
                Ok(facts) => {
                    let by = PersonCode::from(one.by.as_str());
                    let decided = Held { index, at, by, key: one.key.clone(), facts };
                    for fact in &decided.facts {
                        position += 1;
                        self.fold(position, &decided.decided(), fact);
                    }
                    held.push(decided);
                }
            }
        }
        if held.is_empty() {
            return Err(Apart::Untouched);
        }
        let decided: Vec<Decided<'_>> = held.iter().map(Held::decided).collect();
        let entries = self.append(&decided, &[])?;
        self.ends_with(&entries, &decided);
        let mut entries = entries.iter();
        let mut outcomes: Vec<Option<Result<Receipt, SubmitError>>> = refusals
            .into_iter()
            .map(|refusal| refusal.map(|refusal| Err(refusal.into())))
            .collect();
        for one in held {
            let kept: Vec<_> = entries.by_ref().take(one.facts.len()).collect();
            let head = kept.last().map_or(self.head.hash, |last| last.hash).to_string();
            let positions = kept.iter().map(|entry| entry.position).collect();
            outcomes[one.index] = Some(Ok(Receipt { facts: one.facts, positions, head }));
        }
        let mut all = Vec::new();
        for (outcome, one) in outcomes.into_iter().zip(asked) {
            let by_itself = || self.submit(&one.by, Some(&one.key), &one.request);
            all.push(outcome.unwrap_or_else(by_itself));
        }
        Ok(all)
    }

    /// Goes back to what is on the disk.
    fn read_again(&mut self, last_at: Timestamp) {
        let read = replay::replay(&*self.store(), &noted(&self.place));
        match read {
            Ok(replayed) => {
                // What failed behind the disk is kept: the time does not go back behind it.
                let is_kept = replayed.head.position > self.head.position;
                self.last_at = replayed.last_at.filter(|_| is_kept).unwrap_or(last_at);
                (self.lab, self.head) = (replayed.lab, replayed.head);
                self.damage = replayed.damage;
            }
            Err(error) => {
                // Better nothing than what was never kept.
                self.lab = Lab::new();
                let what = format!(
                    "the disk did not take an entry, and then the journal could not be read again \
                     ({error}); look at the disk and start the program anew"
                );
                self.damage = Some(Damage { position: 1, what });
                self.last_at = last_at;
            }
        }
    }
}
