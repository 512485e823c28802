//! The access log: who came in, who was refused, who gave whom what. Apart from the laboratory's facts,
//! which tell of its work and are handed on.
//!
//! Each entry carries the hash of the one before, so a change in the middle is found
//! ([`Access::verify_log`]); and the database refuses changes. Against somebody who may write the file and
//! makes all hashes anew, or cuts off its end, that does not help: copy the last hash elsewhere for that.
//! What was typed in vain is never written: it may be a pass phrase in the wrong field.

use crate::base::{Access, AccessError, hex};
use jiff::Timestamp;
use rusqlite::{Connection, OptionalExtension, params};
use serde::Serialize;
use sha2::{Digest, Sha256};

/// What happened.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// Somebody came in.
    SignedIn,
    /// Somebody did not.
    SignInRefused,
    /// Somebody went.
    SignedOut,
    /// Sessions were ended by somebody else, or all at once.
    SessionsEnded,
    /// The phrase was given again, to sign.
    Proved,
    /// It was given again, and was wrong.
    ProofRefused,
    /// An account was given, with a code to open it.
    AccountGiven,
    /// An account was opened: it has a phrase now.
    AccountOpened,
    /// A code was wrong or too late.
    CodeRefused,
    /// The phrase of an account was taken away, and a code given.
    AccountReset,
    /// An account was closed.
    AccountClosed,
    /// Somebody became an owner, or is one no longer.
    OwnerChanged,
    /// Somebody changed their phrase.
    PhraseChanged,
    /// How long sessions last was changed.
    LastingChanged,
    /// A token was made.
    TokenMade,
    /// A token was revoked.
    TokenRevoked,
    /// A token let nobody in.
    TokenRefused,
    /// A webhook was added.
    HookAdded,
    /// A webhook was removed.
    HookRemoved,
    /// A passkey was added.
    PasskeyAdded,
    /// A passkey was called otherwise.
    PasskeyNamed,
    /// A passkey was removed.
    PasskeyRemoved,
    /// A passkey was not added.
    PasskeyRefused,
    /// A person was linked to somebody of the organisation.
    Linked,
    /// A link was ended.
    Unlinked,
}

impl Kind {
    /// All kinds.
    pub const ALL: [Self; 25] = [
        Self::SignedIn,
        Self::SignInRefused,
        Self::SignedOut,
        Self::SessionsEnded,
        Self::Proved,
        Self::ProofRefused,
        Self::AccountGiven,
        Self::AccountOpened,
        Self::CodeRefused,
        Self::AccountReset,
        Self::AccountClosed,
        Self::OwnerChanged,
        Self::PhraseChanged,
        Self::LastingChanged,
        Self::TokenMade,
        Self::TokenRevoked,
        Self::TokenRefused,
        Self::HookAdded,
        Self::HookRemoved,
        Self::PasskeyAdded,
        Self::PasskeyNamed,
        Self::PasskeyRemoved,
        Self::PasskeyRefused,
        Self::Linked,
        Self::Unlinked,
    ];

    /// Its name.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::SignedIn => "signed-in",
            Self::SignInRefused => "sign-in-refused",
            Self::SignedOut => "signed-out",
            Self::SessionsEnded => "sessions-ended",
            Self::Proved => "proved",
            Self::ProofRefused => "proof-refused",
            Self::AccountGiven => "account-given",
            Self::AccountOpened => "account-opened",
            Self::CodeRefused => "code-refused",
            Self::AccountReset => "account-reset",
            Self::AccountClosed => "account-closed",
            Self::OwnerChanged => "owner-changed",
            Self::PhraseChanged => "phrase-changed",
            Self::LastingChanged => "lasting-changed",
            Self::TokenMade => "token-made",
            Self::TokenRevoked => "token-revoked",
            Self::TokenRefused => "token-refused",
            Self::HookAdded => "hook-added",
            Self::HookRemoved => "hook-removed",
            Self::PasskeyAdded => "passkey-added",
            Self::PasskeyNamed => "passkey-named",
            Self::PasskeyRemoved => "passkey-removed",
            Self::PasskeyRefused => "passkey-refused",
            Self::Linked => "linked",
            Self::Unlinked => "unlinked",
        }
    }

    /// In words.
    pub fn in_words(self) -> &'static str {
        match self {
            Self::SignedIn => "signed in",
            Self::SignInRefused => "sign-in refused",
            Self::SignedOut => "signed out",
            Self::SessionsEnded => "sessions ended",
            Self::Proved => "showed again who they are, to sign",
            Self::ProofRefused => "did not show who they are, to sign",
            Self::AccountGiven => "gave an account",
            Self::AccountOpened => "opened the account",
            Self::CodeRefused => "code refused",
            Self::AccountReset => "reset an account",
            Self::AccountClosed => "closed an account",
            Self::OwnerChanged => "changed who is an owner",
            Self::PhraseChanged => "changed the phrase",
            Self::LastingChanged => "changed how long sessions last",
            Self::TokenMade => "made a token",
            Self::TokenRevoked => "revoked a token",
            Self::TokenRefused => "token refused",
            Self::HookAdded => "added a webhook",
            Self::HookRemoved => "removed a webhook",
            Self::PasskeyAdded => "added a passkey",
            Self::PasskeyNamed => "renamed a passkey",
            Self::PasskeyRemoved => "removed a passkey",
            Self::PasskeyRefused => "passkey refused",
            Self::Linked => "linked a person to the organisation",
            Self::Unlinked => "ended a link to the organisation",
        }
    }
}

/// What is to be written.
#[derive(Debug, Clone, Copy)]
pub struct Note<'a> {
    kind: Kind,
    person: &'a str,
    address: &'a str,
    about: &'a str,
}

impl<'a> Note<'a> {
    /// Of this kind, by this person; empty where nobody known did it.
    pub fn of(kind: Kind, person: &'a str) -> Self {
        Self { kind, person, address: "", about: "" }
    }

    /// Where from.
    #[must_use]
    pub fn from(mut self, address: &'a str) -> Self {
        self.address = address;
        self
    }

    /// What more there is to say.
    #[must_use]
    pub fn about(mut self, about: &'a str) -> Self {
        self.about = about;
        self
    }
}

/// An entry.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Event {
    /// Its number, from 1.
    pub number: i64,
    /// When, by the clock of the machine, RFC 3339.
    pub at: String,
    /// What: `signed-in`.
    pub kind: String,
    /// Who, by initials; empty where nobody known did it.
    pub person: String,
    /// Where from; empty at the machine itself.
    pub address: String,
    /// What more there is to say.
    pub about: String,
    /// SHA-256 over the hash before and this entry, as hexadecimal.
    pub hash: String,
}

impl Event {
    /// What happened, in words.
    pub fn in_words(&self) -> &str {
        let known = Kind::ALL.into_iter().find(|kind| kind.as_str() == self.kind);
        known.map_or(self.kind.as_str(), |kind| kind.in_words())
    }

    /// The hash that this entry must have behind one with the hash `before`.
    fn chained(&self, before: &str) -> [u8; 32] {
        let said = serde_json::json!([
            before,
            self.number,
            self.at,
            self.kind,
            self.person,
            self.address,
            self.about
        ]);
        Sha256::digest(said.to_string().as_bytes()).into()
    }
}

/// Writes an entry, in the transaction of what it tells of.
pub(crate) fn note(
    connection: &Connection,
    note: &Note<'_>,
    now: Timestamp,
) -> Result<(), AccessError> {
    let last = "SELECT number, hash FROM event ORDER BY number DESC LIMIT 1";
    let last: Option<(i64, Vec<u8>)> =
        connection.query_row(last, [], |row| Ok((row.get(0)?, row.get(1)?))).optional()?;
    let (number, before) = last.unwrap_or_default();
    let event = Event {
        number: number + 1,
        at: now.to_string(),
        kind: note.kind.as_str().to_owned(),
        person: note.person.to_owned(),
        address: note.address.to_owned(),
        about: note.about.to_owned(),
        hash: String::new(),
    };
    let hash = event.chained(&hex(&before));
    connection.execute(
        "INSERT INTO event (number, at, kind, person, address, about, hash)
         VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)",
        params![
            event.number,
            event.at,
            event.kind,
            event.person,
            event.address,
            event.about,
            hash.as_slice()
        ],
    )?;
    Ok(())
}

impl Access {
    /// Writes an entry that tells of nothing else that is kept here.
    ///
    /// # Errors
    /// When it cannot be kept.
    pub fn write_down(&self, wanted: &Note<'_>, now: Timestamp) -> Result<(), AccessError> {
        let mut connection = self.connection();
        let transaction =
            connection.transaction_with_behavior(rusqlite::TransactionBehavior::Immediate)?;
        note(&transaction, wanted, now)?;
        Ok(transaction.commit()?)
    }

    /// Writes that somebody was refused, unless this address fills the log with it.
    ///
    /// # Errors
    /// When it cannot be kept.
    pub fn write_refusal(&self, refusal: &Note<'_>, now: Timestamp) -> Result<(), AccessError> {
        let noted = self.limits().is_noted(refusal.address, now);
        match noted {
            None => Ok(()),
            Some(0) => self.write_down(refusal, now),
            Some(more) => {
                let about = format!("{}; {more} more were not written", refusal.about);
                self.write_down(&refusal.about(&about), now)
            }
        }
    }

    /// The last entries, newest last.
    ///
    /// # Errors
    /// When they cannot be read.
    pub fn events(&self, most: usize) -> Result<Vec<Event>, AccessError> {
        let connection = self.connection();
        let mut select = connection.prepare_cached(
            "SELECT * FROM (SELECT * FROM event ORDER BY number DESC LIMIT ?1) ORDER BY number",
        )?;
        let most = i64::try_from(most).unwrap_or(i64::MAX);
        let events = select.query_map([most], |row| {
            let hash: Vec<u8> = row.get("hash")?;
            Ok(Event {
                number: row.get("number")?,
                at: row.get("at")?,
                kind: row.get("kind")?,
                person: row.get("person")?,
                address: row.get("address")?,
                about: row.get("about")?,
                hash: hex(&hash),
            })
        })?;
        Ok(events.collect::<Result<_, _>>()?)
    }

    /// Works out every hash again. Gives how many entries there are, or the number of the first that
    /// is not as it was written, or is missing.
    ///
    /// # Errors
    /// When they cannot be read.
    pub fn verify_log(&self) -> Result<Result<i64, i64>, AccessError> {
        let mut before = String::new();
        let mut expected = 1;
        for event in self.events(usize::MAX)? {
            if event.number != expected || hex(&event.chained(&before)) != event.hash {
                return Ok(Err(expected));
            }
            before = event.hash;
            expected += 1;
        }
        Ok(Ok(expected - 1))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn written() -> (tempfile::TempDir, Access) {
        let folder = tempfile::tempdir().unwrap();
        let access = Access::open(folder.path()).unwrap();
        let now = "2026-11-26T08:00:00Z".parse().unwrap();
        for (kind, person) in
            [(Kind::SignedIn, "IK"), (Kind::SignInRefused, ""), (Kind::SignedOut, "IK")]
        {
            access.write_down(&Note::of(kind, person).from("::1").about("as it was"), now).unwrap();
        }
        (folder, access)
    }

    #[test]
    fn what_was_written_is_found_again_in_order_and_chained() {
        let (_folder, access) = written();
        let events = access.events(2).unwrap();
        let said: Vec<(i64, &str, &str)> =
            events.iter().map(|event| (event.number, event.in_words(), &*event.person)).collect();
        assert_eq!(said, [(2, "sign-in refused", ""), (3, "signed out", "IK")]);
        assert_ne!(events[0].hash, events[1].hash);
        assert_eq!(access.verify_log().unwrap(), Ok(3));
    }

    #[test]
    fn the_database_changes_and_removes_nothing() {
        let (_folder, access) = written();
        let connection = access.connection();
        for statement in ["UPDATE event SET about = 'x'", "DELETE FROM event WHERE number = 2"] {
            let error = connection.execute_batch(statement).unwrap_err().to_string();
            assert!(error.contains("only added to"), "{error}");
        }
    }

    #[test]
    fn a_change_past_the_database_is_found_and_named() {
        for (statement, place) in [
            ("UPDATE event SET person = 'DO' WHERE number = 3", 3),
            ("UPDATE event SET at = '2026-11-26T08:00:01Z' WHERE number = 1", 1),
            ("UPDATE event SET hash = x'00' WHERE number = 2", 2),
            ("DELETE FROM event WHERE number = 2", 2),
            ("DELETE FROM event WHERE number = 1", 1),
        ] {
            let (_folder, access) = written();
            let tamper = format!(
                "DROP TRIGGER event_is_not_changed; DROP TRIGGER event_is_not_removed; {statement}"
            );
            access.connection().execute_batch(&tamper).unwrap();
            assert_eq!(access.verify_log().unwrap(), Err(place), "{statement}");
        }
    }

    #[test]
    fn names_of_kinds_are_all_different() {
        let names: std::collections::BTreeSet<&str> =
            Kind::ALL.iter().map(|kind| kind.as_str()).collect();
        assert_eq!(names.len(), Kind::ALL.len());
    }
}
