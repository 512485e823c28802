//! Entries on their way into the journal. While the disk is waited for, others arrive: they are taken
//! together next, with one wait for all of them.

use crate::app::App;
use crate::form::Typed;
use crate::sent;
use std::collections::{BTreeSet, VecDeque};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use stonewear_lab::Request;
use stonewear_runtime::{Asked, Receipt, SubmitError};
use tokio::sync::oneshot::{Sender, channel};

/// Entries that are kept with one wait for the disk: whoever reads waits as long as they take.
const TOGETHER: usize = 128;

type Outcome = Result<Receipt, SubmitError>;

/// The entries that wait.
#[derive(Clone, Default)]
pub(crate) struct Intake(Arc<Mutex<Waiting>>);

#[derive(Default)]
struct Waiting {
    entries: VecDeque<Entry>,
    /// Somebody takes one after the other.
    is_served: bool,
}

struct Entry {
    by: String,
    typed: Typed,
    request: Request,
    told: Sender<Outcome>,
}

impl Intake {
    /// Puts an entry behind those that wait, and tells what became of it; `None` where the program failed.
    pub(crate) async fn take(
        &self,
        app: &App,
        by: String,
        typed: Typed,
        request: Request,
    ) -> Option<Outcome> {
        let (told, outcome) = channel();
        let is_served = {
            let mut waiting = self.waiting();
            waiting.entries.push_back(Entry { by, typed, request, told });
            std::mem::replace(&mut waiting.is_served, true)
        };
        if !is_served {
            let (intake, app) = (self.clone(), app.clone());
            // It waits for the disk, away from the threads that answer.
            tokio::task::spawn_blocking(move || intake.serve(&app));
        }
        outcome.await.ok()
    }

    fn waiting(&self) -> MutexGuard<'_, Waiting> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn serve(&self, app: &App) {
        while let Some(entries) = self.next() {
            // Whoever was not told by then is told that the program failed.
            let _ = catch_unwind(AssertUnwindSafe(|| record(app, entries)));
        }
    }

    /// Those that are taken together next. Two of the same key never are: the second is answered as the
    /// first was, once that is kept.
    fn next(&self) -> Option<Vec<Entry>> {
        let mut waiting = self.waiting();
        let (mut next, mut keys) = (Vec::new(), BTreeSet::new());
        while let Some(entry) = waiting.entries.pop_front() {
            let key = entry.typed.sent_field("_key").filter(|key| !key.is_empty());
            if next.len() == TOGETHER || key.is_some_and(|key| !keys.insert(key.to_owned())) {
                waiting.entries.push_front(entry);
                break;
            }
            next.push(entry);
        }
        waiting.is_served = !next.is_empty();
        waiting.is_served.then_some(next)
    }
}

/// Records entries and tells each what became of it.
fn record(app: &App, entries: Vec<Entry>) {
    let mut laboratory = app.write();
    let (mut asked, mut told) = (Vec::new(), Vec::new());
    for Entry { by, typed, request, told: tell } in entries {
        match sent::key(&laboratory, &typed) {
            Ok(key) => {
                let key = key.unwrap_or_else(|| uuid::Uuid::new_v4().to_string());
                asked.push(Asked { by, key, request });
                told.push(tell);
            }
            Err(error) => tell_one(tell, Err(error)),
        }
    }
    let together = laboratory.submit_together(&asked);
    if let Some(outcomes) = together {
        app.news.tell(laboratory.head().position);
        drop(laboratory);
        told.into_iter().zip(outcomes).for_each(|(tell, outcome)| tell_one(tell, outcome));
        return;
    }
    for (one, tell) in asked.iter().zip(told) {
        // One that makes the program fail must not take those behind it with it.
        let submitted =
            AssertUnwindSafe(|| laboratory.submit(&one.by, Some(&one.key), &one.request));
        let outcome = catch_unwind(submitted);
        app.news.tell(laboratory.head().position);
        if let Ok(outcome) = outcome {
            tell_one(tell, outcome);
        }
    }
}

/// Whoever asked may have left; what was recorded stays.
fn tell_one(tell: Sender<Outcome>, outcome: Outcome) {
    let _ = tell.send(outcome);
}
