//! A thread that asks the database, for threads that must not wait for it by themselves.

use super::opening::Opening;
use crate::store::StoreError;
use postgres::{Client, Statement};
use std::collections::HashMap;
use std::sync::mpsc::{self, Sender};
use std::thread;

/// Work for the thread: it does it on the line it is given, or hears why there is none.
type Job = Box<dyn FnOnce(&mut Thread) + Send>;

/// The way to the thread. The thread ends when this is dropped.
pub(super) struct Connection(Sender<Job>);

impl std::fmt::Debug for Connection {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("Connection")
    }
}

/// A connection that is ready to be asked.
pub(super) struct Line {
    pub(super) client: Client,
    statements: HashMap<&'static str, Statement>,
}

/// How often something is tried.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Attempt {
    First,
    /// The line was lost, and nobody knows what the server still did.
    Again,
}

/// What the thread has.
struct Thread {
    opening: Opening,
    line: Line,
}

impl Line {
    pub(super) fn new(client: Client) -> Self {
        Self { client, statements: HashMap::new() }
    }

    /// A statement that the server knows from the first time on.
    pub(super) fn statement(&mut self, text: &'static str) -> Result<Statement, postgres::Error> {
        if let Some(known) = self.statements.get(text) {
            return Ok(known.clone());
        }
        let prepared = self.client.prepare(text)?;
        self.statements.insert(text, prepared.clone());
        Ok(prepared)
    }
}

impl Thread {
    /// Does the work, once more where the line turns out to be lost.
    fn work<T>(
        &mut self,
        work: &mut impl FnMut(&mut Line, Attempt) -> Result<T, StoreError>,
    ) -> Result<T, StoreError> {
        let outcome = work(&mut self.line, Attempt::First);
        if outcome.is_ok() || !self.line.client.is_closed() {
            return outcome;
        }
        self.line = self.opening.line()?;
        work(&mut self.line, Attempt::Again)
    }
}

impl Connection {
    /// Begins a connection, and a thread for it.
    pub(super) fn begin(opening: Opening) -> Result<Self, StoreError> {
        let (jobs, asked) = mpsc::channel::<Job>();
        let (tell, told) = mpsc::channel();
        let run = move || {
            let line = match opening.line() {
                Ok(line) => line,
                Err(error) => {
                    let _ = tell.send(Err(error));
                    return;
                }
            };
            let _ = tell.send(Ok(()));
            drop(tell);
            let mut thread = Thread { opening, line };
            for job in asked {
                job(&mut thread);
            }
        };
        thread::Builder::new()
            .name("database".to_owned())
            .spawn(run)
            .map_err(|error| StoreError::Other(error.into()))?;
        told.recv().unwrap_or_else(|_| Err(ended()))?;
        Ok(Self(jobs))
    }

    /// Has the thread do something, and waits for it.
    pub(super) fn ask<T: Send + 'static>(
        &self,
        mut work: impl FnMut(&mut Line, Attempt) -> Result<T, StoreError> + Send + 'static,
    ) -> Result<T, StoreError> {
        let (tell, told) = mpsc::channel();
        self.begin_work(move |thread| {
            // Whoever asked may have gone away.
            let _ = tell.send(thread.work(&mut work));
        })?;
        told.recv().unwrap_or_else(|_| Err(ended()))
    }

    /// Has the thread do something that is told of while it is done: a second channel says when and how it
    /// ended.
    pub(super) fn ask_meanwhile<T: Send + 'static>(
        &self,
        mut work: impl FnMut(&mut Line, Attempt) -> Result<T, StoreError> + Send + 'static,
    ) -> Result<mpsc::Receiver<Result<T, StoreError>>, StoreError> {
        let (tell, told) = mpsc::channel();
        self.begin_work(move |thread| {
            let outcome = thread.work(&mut work);
            // What it tells of meanwhile ends first.
            drop(work);
            let _ = tell.send(outcome);
        })?;
        Ok(told)
    }

    fn begin_work(&self, job: impl FnOnce(&mut Thread) + Send + 'static) -> Result<(), StoreError> {
        self.0.send(Box::new(job)).map_err(|_| ended())
    }
}

fn ended() -> StoreError {
    StoreError::Other("the thread that asks the database has ended".into())
}
