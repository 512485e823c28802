//! Hearing what others append to the journal of a laboratory.

use super::opening::{Opening, Purpose};
use super::{DatabaseAddress, LaboratoryName};
use crate::store::StoreError;
use postgres::fallible_iterator::FallibleIterator;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread::{self, JoinHandle};
use std::time::{Duration, Instant};

/// How often the thread looks whether it is to end.
const LOOK: Duration = Duration::from_millis(250);
/// How often a silent line is asked whether it is still there.
const ASK: Duration = Duration::from_secs(20);
/// How long an answer may take.
const ANSWER: Duration = Duration::from_secs(5);
/// After a line was lost, the first wait before the next attempt, and the longest.
const WAITS: (Duration, Duration) = (Duration::from_millis(250), Duration::from_secs(30));

/// What a follower hears.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Heard {
    /// The journal may have come this far, or further.
    Position(u64),
    /// The line is there, or there again: what was appended meanwhile was not heard of.
    Listening,
    /// The line is lost, in the words of the system. It is tried again.
    Lost(String),
}

/// A thread that listens (PostgreSQL's LISTEN) and tells what it hears, until it is dropped.
#[derive(Debug)]
pub struct Follower {
    is_over: Arc<AtomicBool>,
    thread: Option<JoinHandle<()>>,
}

impl Follower {
    /// Begins to follow a laboratory. `told` is called on the follower's own thread.
    ///
    /// # Errors
    /// When no thread can be had; a database that does not answer is tried again, and told of.
    pub fn begin(
        address: &DatabaseAddress,
        laboratory: &LaboratoryName,
        mut told: impl FnMut(Heard) + Send + 'static,
    ) -> Result<Self, StoreError> {
        let is_over = Arc::new(AtomicBool::new(false));
        let over = is_over.clone();
        let opening = Opening {
            address: address.clone(),
            laboratory: Some(laboratory.clone()),
            purpose: Purpose::Read,
        };
        // The name has nothing in it that would have to be quoted but hyphens.
        let statement = format!("LISTEN \"stonewear_{laboratory}\"");
        let run = move || {
            let mut wait = WAITS.0;
            while !over.load(Ordering::Relaxed) {
                let begun = Instant::now();
                let lost = match listen(&opening, &statement, &over, &mut told) {
                    Ok(()) => return,
                    Err(error) => error.to_string(),
                };
                told(Heard::Lost(lost));
                // A line that held for a while is no reason to wait longer.
                wait = if begun.elapsed() > WAITS.1 { WAITS.0 } else { wait };
                let until = Instant::now() + wait;
                while Instant::now() < until && !over.load(Ordering::Relaxed) {
                    thread::sleep(LOOK.min(wait));
                }
                wait = (wait * 2).min(WAITS.1);
            }
        };
        let thread = thread::Builder::new()
            .name("follower".to_owned())
            .spawn(run)
            .map_err(|error| StoreError::Other(error.into()))?;
        Ok(Self { is_over, thread: Some(thread) })
    }
}

impl Drop for Follower {
    fn drop(&mut self) {
        self.is_over.store(true, Ordering::Relaxed);
        // Whoever is being told finishes; a panic there is no reason for one here.
        if let Some(thread) =
            self.thread.take().filter(|one| one.thread().id() != thread::current().id())
        {
            let _ = thread.join();
        }
    }
}

/// Listens until it is over or the line is lost.
fn listen(
    opening: &Opening,
    statement: &str,
    is_over: &AtomicBool,
    told: &mut dyn FnMut(Heard),
) -> Result<(), StoreError> {
    let mut line = opening.line()?;
    line.client.batch_execute(statement)?;
    told(Heard::Listening);
    let mut asked = Instant::now();
    while !is_over.load(Ordering::Relaxed) {
        let mut last = None;
        {
            let mut heard = line.client.notifications();
            let mut heard = heard.timeout_iter(LOOK);
            while let Some(notification) = heard.next()? {
                last = notification.payload().parse().ok().max(last);
                // What waits already is told with it; a stream of news is told now and then.
                if heard.size_hint().0 == 0 {
                    break;
                }
            }
        }
        if let Some(position) = last {
            told(Heard::Position(position));
            asked = Instant::now();
        } else if line.client.is_closed() {
            return Err(StoreError::Unreachable("the server closed the line".to_owned()));
        } else if asked.elapsed() > ASK {
            line.client.is_valid(ANSWER)?;
            asked = Instant::now();
        }
    }
    Ok(())
}
