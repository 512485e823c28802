//! Signing in, and giving the phrase again to sign.
//!
//! The answer is the same, and takes as long, whether a person has no account or the phrase is wrong.

use crate::account::Account;
use crate::base::{Access, AccessError};
use crate::device::{self, Device};
use crate::limits::Asker;
use crate::log::{Kind, Note, note};
use crate::phrase::{Phrase, is_of_old_cost};
use crate::session::{self, Beginning, Means, Session};
use jiff::{SignedDuration, Timestamp};
use rusqlite::{Transaction, params};

/// Somebody wants to come in.
#[derive(Debug, Clone, Copy)]
pub struct Attempt<'a> {
    /// Who they say that they are, by initials.
    pub person: &'a str,
    /// The phrase as typed.
    pub phrase: &'a Phrase,
    /// The secret of the device; empty where it has none.
    pub device: &'a str,
    /// The secret of the session that the browser holds; empty where it holds none. It ends: what a
    /// browser held before is worth nothing afterwards.
    pub before: &'a str,
    /// Where from, as limits count it.
    pub address: &'a str,
    /// What the browser says that it is.
    pub browser: &'a str,
}

/// Why somebody is not let in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NotIn {
    /// There is no such person with an account, or the phrase is wrong. Which of them is not said.
    Wrong,
    /// Too many were wrong: wait. The phrase was not looked at.
    Wait(SignedDuration),
}

/// What a browser holds from now on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SignedIn {
    /// Who came in.
    pub person: String,
    /// The secret of the session.
    pub session: String,
    /// The secret of the device, where it is new.
    pub device: Option<String>,
}

/// A browser that somebody comes in by.
#[derive(Debug, Clone, Copy)]
pub struct Browser<'a> {
    /// The secret of the device; empty where it has none.
    pub device: &'a str,
    /// The secret of the session that it holds; empty where it holds none. It ends.
    pub before: &'a str,
    /// Where from, as limits count it.
    pub address: &'a str,
    /// What it says that it is.
    pub browser: &'a str,
}

/// Somebody who has shown who they are.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Coming<'a> {
    pub(crate) person: &'a str,
    /// When they showed it.
    pub(crate) proved_at: Timestamp,
    /// By what.
    pub(crate) means: Means,
    /// More of it, for the log.
    pub(crate) about: &'a str,
}

/// Begins the session of whoever has shown who they are.
pub(crate) fn come_in(
    transaction: &Transaction<'_>,
    coming: &Coming<'_>,
    from: &Browser<'_>,
    device: Option<&Device>,
    now: Timestamp,
) -> Result<SignedIn, AccessError> {
    let Coming { person, proved_at, means, about } = *coming;
    let Browser { before, address, browser, .. } = *from;
    let (number, secret) = match device {
        Some(device) => (device.number, None),
        None => {
            let (number, secret) = device::make(transaction, now)?;
            (number, Some(secret))
        }
    };
    device::remember(transaction, number, person, now)?;
    if !before.is_empty() {
        session::end_by_secret(transaction, before, now)?;
    }
    let beginning = Beginning { person, device: number, address, browser, proved_at, means };
    let session = session::begin(transaction, &beginning, now)?;
    let new = secret.is_some().then_some("at a device that is new");
    let about: Vec<&str> =
        [Some(about).filter(|about| !about.is_empty()), new].into_iter().flatten().collect();
    let about = about.join("; ");
    note(transaction, &Note::of(Kind::SignedIn, person).from(address).about(&about), now)?;
    Ok(SignedIn { person: person.to_owned(), session, device: secret })
}

/// Whoever holds the session has shown at this moment who they are.
pub(crate) fn is_proved_now(
    transaction: &Transaction<'_>,
    session: &Session,
    now: Timestamp,
) -> Result<(), AccessError> {
    transaction.execute(
        "UPDATE session SET proved_at = ?2 WHERE number = ?1 AND ended_at IS NULL",
        params![session.number, now.to_string()],
    )?;
    Ok(())
}

impl Access {
    /// Lets somebody in who knows their phrase.
    ///
    /// # Errors
    /// When the accounts cannot be read or kept. That nobody is let in is an answer.
    pub fn sign_in(
        &self,
        attempt: &Attempt<'_>,
        now: Timestamp,
    ) -> Result<Result<SignedIn, NotIn>, AccessError> {
        let account = self.account(attempt.person)?.filter(Account::is_open);
        // All whom there are not are counted as one: nobody fills the memory with invented names.
        let person = account.as_ref().map(|account| account.person.as_str()).unwrap_or_default();
        let device = self.device(attempt.device, now)?;
        let knows = device.as_ref().filter(|device| device.knows(person));
        let asker =
            Asker { person, address: attempt.address, device: knows.map(|device| device.number) };
        let refused = Note::of(Kind::SignInRefused, person).from(attempt.address);
        match self.tried(&asker, account.as_ref(), attempt.phrase, now)? {
            Ok(()) => {}
            Err(not_in) => {
                let why = match not_in {
                    NotIn::Wrong if person.is_empty() => "nobody who has an account",
                    NotIn::Wrong => "wrong phrase",
                    NotIn::Wait(_) => "too many wrong ones before",
                };
                self.write_refusal(&refused.about(why), now)?;
                return Ok(Err(not_in));
            }
        }
        let Attempt { device: secret, before, address, browser, .. } = *attempt;
        let browser = Browser { device: secret, before, address, browser };
        self.changed(|transaction| {
            let coming = Coming { person, proved_at: now, means: Means::Phrase, about: "" };
            come_in(transaction, &coming, &browser, device.as_ref(), now).map(Ok)
        })
    }

    /// The phrase is given again in a session: what is signed now is signed by its person.
    ///
    /// # Errors
    /// When the accounts cannot be read or kept. That it is wrong is an answer.
    pub fn prove(
        &self,
        session: &Session,
        phrase: &Phrase,
        address: &str,
        now: Timestamp,
    ) -> Result<Result<(), NotIn>, AccessError> {
        let person = session.person.as_str();
        let account = self.account(person)?.filter(Account::is_open);
        // Whoever holds the session is slowed by their own failures only.
        let asker = Asker { person, address, device: session.device };
        if let Err(not_in) = self.tried(&asker, account.as_ref(), phrase, now)? {
            self.write_refusal(&Note::of(Kind::ProofRefused, person).from(address), now)?;
            return Ok(Err(not_in));
        }
        self.changed(|transaction| {
            is_proved_now(transaction, session, now)?;
            note(transaction, &Note::of(Kind::Proved, person).from(address), now)
        })?;
        Ok(Ok(()))
    }

    /// Tries a phrase under the limits. The database is not held meanwhile.
    fn tried(
        &self,
        asker: &Asker<'_>,
        account: Option<&Account>,
        phrase: &Phrase,
        now: Timestamp,
    ) -> Result<Result<(), NotIn>, AccessError> {
        if let Err(left) = self.limits().may_try(asker, now) {
            return Ok(Err(NotIn::Wait(left)));
        }
        let kept = account.and_then(Account::kept_phrase);
        if !phrase.is(kept) {
            return Ok(Err(NotIn::Wrong));
        }
        self.limits().was_right(asker);
        if kept.is_some_and(is_of_old_cost) {
            self.keep_hash(asker.person, &phrase.hashed()?)?;
        }
        Ok(Ok(()))
    }
}
