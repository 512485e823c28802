//! Passkeys: keys on a device of their person's, which sign in and sign without a phrase. Only the public
//! part is kept, so whoever reads the file can sign in with none of them.
//!
//! What an answer must hold is judged in [`crate::webauthn`]; here it is asked for, kept and written down.

use crate::account::Account;
use crate::base::{Access, AccessError, moment, random};
use crate::challenge::Purpose;
use crate::device::Device;
use crate::limits::Asker;
use crate::log::{Kind, Note, note};
use crate::session::{self, Means, Session};
use crate::sign_in::{Browser, Coming, SignedIn, come_in, is_proved_now};
use crate::webauthn::{self, Expected, Fault, KeyMade, KeyUsed, Known};
use jiff::{SignedDuration, Timestamp};
use rusqlite::{Connection, OptionalExtension, Row, Transaction, params};
use serde::Serialize;

/// Passkeys of one person.
const MOST: i64 = 20;
/// The longest name of one, in characters.
pub const LONGEST_NAME: usize = 60;

/// A passkey.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Passkey {
    /// Its number.
    pub number: i64,
    /// Whose it is, by initials.
    pub person: String,
    /// What they call it.
    pub name: String,
    /// The name of this laboratory's page that it was made for.
    pub site: String,
    /// When it was added.
    pub added_at: Option<Timestamp>,
    /// When it was used last.
    pub used_at: Option<Timestamp>,
    /// By which an authenticator knows it.
    #[serde(skip)]
    pub id: Vec<u8>,
    #[serde(skip)]
    key: Vec<u8>,
    #[serde(skip)]
    counter: u32,
    #[serde(skip)]
    may_be_copied: bool,
}

/// The page that asks, as a browser sees it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Site {
    /// Where it comes from: `https://lab.example.org:7640`.
    pub origin: String,
    /// The name that passkeys are made for: `lab.example.org`.
    pub name: String,
}

/// Why a passkey is not taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Refused {
    /// The answer does not hold.
    Fault(Fault),
    /// It is not known here, or its person has no account any longer. Which of them is not said.
    Unknown,
    /// It is there already, or there are too many, or it has no name.
    NotAdded(&'static str),
    /// Too many were wrong: wait. The answer was not looked at.
    Wait(SignedDuration),
}

impl From<Fault> for Refused {
    fn from(fault: Fault) -> Self {
        Self::Fault(fault)
    }
}

/// Who asks for a challenge, and for what.
#[derive(Debug, Clone, Copy)]
pub struct Asking<'a> {
    /// What for.
    pub purpose: Purpose,
    /// What only the one who asks holds: the secret of the browser, or [`of_session`].
    pub holder: &'a str,
    /// Where from, as limits count it.
    pub address: &'a str,
}

/// The holder of a challenge that is bound to a session.
pub fn of_session(session: &Session) -> String {
    format!("session {}", session.number)
}

impl Access {
    /// Draws a challenge.
    ///
    /// # Errors
    /// When the system gives no random bytes.
    pub fn challenge(&self, asking: &Asking<'_>, now: Timestamp) -> Result<[u8; 32], AccessError> {
        let challenge = random::<32>()?;
        let holder = (asking.holder, asking.address);
        self.challenges().keep(challenge, asking.purpose, holder, (), now);
        Ok(challenge)
    }

    /// The passkeys of a person, oldest first.
    ///
    /// # Errors
    /// When they cannot be read.
    pub fn passkeys(&self, person: &str) -> Result<Vec<Passkey>, AccessError> {
        let connection = self.connection();
        let mut select =
            connection.prepare_cached("SELECT * FROM passkey WHERE person = ?1 ORDER BY number")?;
        let passkeys = select.query_map([person], passkey)?;
        Ok(passkeys.collect::<Result<_, _>>()?)
    }

    /// Whether a person has a passkey for the page of this name.
    ///
    /// # Errors
    /// When they cannot be read.
    pub fn has_passkey(&self, person: &str, site: &str) -> Result<bool, AccessError> {
        let connection = self.connection();
        let mut select = connection.prepare_cached(
            "SELECT EXISTS (SELECT 1 FROM passkey WHERE person = ?1 AND site = ?2)",
        )?;
        Ok(select.query_row([person, site], |row| row.get(0))?)
    }

    /// By which authenticators know a person: 32 random bytes that say nothing of them.
    ///
    /// # Errors
    /// When they have no account, or it cannot be kept.
    pub fn handle(&self, person: &str) -> Result<Vec<u8>, AccessError> {
        let new = random::<32>()?;
        self.changed(|transaction| {
            transaction.execute(
                "UPDATE account SET handle = ?2 WHERE person = ?1 AND handle IS NULL",
                params![person, new.as_slice()],
            )?;
            let kept = handle_of(transaction, person)?;
            kept.ok_or_else(|| AccessError::Wrong(format!("{person} has no account")))
        })
    }

    /// Adds a passkey to the account of whoever holds the session.
    ///
    /// # Errors
    /// When it cannot be kept. That it is not taken is an answer.
    pub fn add_passkey(
        &self,
        session: &Session,
        (name, answer): (&str, &KeyMade),
        site: &Site,
        address: &str,
        now: Timestamp,
    ) -> Result<Result<(), Refused>, AccessError> {
        let name = name.trim();
        if name.is_empty() || name.chars().count() > LONGEST_NAME {
            return Ok(Err(Refused::NotAdded("it needs a name of up to 60 characters")));
        }
        let made = self
            .taken(&answer.client, Purpose::Add, &of_session(session), now)
            .and_then(|challenge| webauthn::made(answer, &expected(&challenge, site)));
        let made = match made {
            Ok(made) => made,
            Err(fault) => {
                let refused = Note::of(Kind::PasskeyRefused, &session.person).from(address);
                self.write_refusal(&refused.about(&fault.to_string()), now)?;
                return Ok(Err(fault.into()));
            }
        };
        let person = session.person.as_str();
        self.changed(|transaction| {
            // They may have been sent away while their device asked for a finger.
            if !session::is_open(transaction, session.number)? {
                return Ok(Err(Refused::NotAdded("the session has ended")));
            }
            if is_known(transaction, &made.id)? {
                return Ok(Err(Refused::NotAdded("it is known here already")));
            }
            let many = "SELECT count(*) FROM passkey WHERE person = ?1";
            if transaction.query_row(many, [person], |row| row.get::<_, i64>(0))? >= MOST {
                return Ok(Err(Refused::NotAdded("there are 20 already; remove one first")));
            }
            transaction.execute(
                "INSERT INTO passkey (person, name, site, id, key, counter, may_be_copied, added_at)
                 VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)",
                params![
                    person,
                    name,
                    site.name,
                    made.id,
                    made.key,
                    made.counter,
                    made.may_be_copied,
                    now.to_string()
                ],
            )?;
            let added = Note::of(Kind::PasskeyAdded, person).from(address).about(name);
            note(transaction, &added, now)?;
            Ok(Ok(()))
        })
    }

    /// Calls a passkey of a person otherwise.
    ///
    /// # Errors
    /// When they have none of this number, the name is none, or it cannot be kept.
    pub fn name_passkey(
        &self,
        (person, number): (&str, i64),
        name: &str,
        address: &str,
        now: Timestamp,
    ) -> Result<(), AccessError> {
        let name = name.trim();
        if name.is_empty() || name.chars().count() > LONGEST_NAME {
            let words = "a passkey needs a name of up to 60 characters";
            return Err(AccessError::Wrong(words.to_owned()));
        }
        self.changed(|transaction| {
            let before = name_of(transaction, person, number)?;
            transaction
                .execute("UPDATE passkey SET name = ?2 WHERE number = ?1", params![number, name])?;
            let about = format!("{before}, now {name}");
            note(
                transaction,
                &Note::of(Kind::PasskeyNamed, person).from(address).about(&about),
                now,
            )
        })
    }

    /// Removes a passkey of a person: it opens nothing any longer.
    ///
    /// # Errors
    /// When they have none of this number, or it cannot be kept.
    pub fn remove_passkey(
        &self,
        (person, number): (&str, i64),
        (by, address): (&str, &str),
        now: Timestamp,
    ) -> Result<(), AccessError> {
        self.changed(|transaction| {
            let name = name_of(transaction, person, number)?;
            transaction.execute("DELETE FROM passkey WHERE number = ?1", [number])?;
            let about = if by == person { name } else { format!("{name}, of {person}") };
            note(transaction, &Note::of(Kind::PasskeyRemoved, by).from(address).about(&about), now)
        })
    }

    /// Lets somebody in by their passkey.
    ///
    /// # Errors
    /// When the accounts cannot be read or kept. That nobody is let in is an answer.
    pub fn sign_in_by_passkey(
        &self,
        answer: &KeyUsed,
        (holder, site): (&str, &Site),
        browser: &Browser<'_>,
        now: Timestamp,
    ) -> Result<Result<SignedIn, Refused>, AccessError> {
        let known = self.known(&answer.id)?;
        let account = match &known {
            Some(known) => self.account(&known.person)?.filter(Account::is_open),
            None => None,
        };
        let known = known.filter(|_| account.is_some());
        let person = known.as_ref().map(|known| known.person.as_str()).unwrap_or_default();
        let device = self.device(browser.device, now)?;
        let asker = asker(person, browser.address, device.as_ref());
        let judged =
            self.judged(&asker, answer, known.as_ref(), (Purpose::SignIn, holder, site), now);
        let (known, counter) = match judged {
            Ok(judged) => judged,
            Err(refused) => {
                let about = in_words(&refused);
                let note = Note::of(Kind::SignInRefused, person).from(browser.address);
                self.write_refusal(&note.about(&format!("by a passkey: {about}")), now)?;
                return Ok(Err(refused));
            }
        };
        let about = format!("by the passkey “{}”", known.name);
        self.changed(|transaction| {
            if !counts_on(transaction, known, counter, now)? {
                return Ok(Err(Refused::Fault(Fault::Counter)));
            }
            let coming = Coming { person, proved_at: now, means: Means::Passkey, about: &about };
            come_in(transaction, &coming, browser, device.as_ref(), now).map(Ok)
        })
    }

    /// The passkey is used in a session: what is signed now is signed by its person.
    ///
    /// # Errors
    /// When the accounts cannot be read or kept. That it is not taken is an answer.
    pub fn prove_by_passkey(
        &self,
        session: &Session,
        answer: &KeyUsed,
        site: &Site,
        address: &str,
        now: Timestamp,
    ) -> Result<Result<(), Refused>, AccessError> {
        let person = session.person.as_str();
        let is_open = self.account(person)?.is_some_and(|account| account.is_open());
        // One of somebody else signs nothing in this person's name.
        let known = self.known(&answer.id)?.filter(|known| known.person == person && is_open);
        let asker = Asker { person, address, device: session.device };
        let asked = (Purpose::Prove, of_session(session));
        let judged = self.judged(&asker, answer, known.as_ref(), (asked.0, &asked.1, site), now);
        let (known, counter) = match judged {
            Ok(judged) => judged,
            Err(refused) => {
                let about = format!("by a passkey: {}", in_words(&refused));
                let note = Note::of(Kind::ProofRefused, person).from(address).about(&about);
                self.write_refusal(&note, now)?;
                return Ok(Err(refused));
            }
        };
        let about = format!("by the passkey “{}”", known.name);
        self.changed(|transaction| {
            if !counts_on(transaction, known, counter, now)? {
                return Ok(Err(Refused::Fault(Fault::Counter)));
            }
            is_proved_now(transaction, session, now)?;
            note(transaction, &Note::of(Kind::Proved, person).from(address).about(&about), now)?;
            Ok(Ok(()))
        })
    }

    /// Judges an answer under the limits.
    fn judged<'k>(
        &self,
        asker: &Asker<'_>,
        answer: &KeyUsed,
        known: Option<&'k Passkey>,
        (purpose, holder, site): (Purpose, &str, &Site),
        now: Timestamp,
    ) -> Result<(&'k Passkey, u32), Refused> {
        if let Err(left) = self.limits().may_try(asker, now) {
            return Err(Refused::Wait(left));
        }
        let challenge = self.taken(&answer.client, purpose, holder, now)?;
        let known = known.filter(|known| known.site == site.name).ok_or(Refused::Unknown)?;
        // Whom the authenticator means must be whom we mean (7.2, 6).
        let is_theirs = match answer.user.as_slice() {
            // Only where the session says who it is may the authenticator say nothing.
            [] => purpose == Purpose::Prove,
            user => handle_of(&self.connection(), &known.person)
                .is_ok_and(|handle| handle.as_deref() == Some(user)),
        };
        if !is_theirs {
            return Err(Refused::Unknown);
        }
        let kept =
            Known { key: &known.key, counter: known.counter, may_be_copied: known.may_be_copied };
        let counter = webauthn::used(answer, &expected(&challenge, site), &kept)?;
        self.limits().was_right(asker);
        Ok((known, counter))
    }

    fn taken(
        &self,
        client: &[u8],
        purpose: Purpose,
        holder: &str,
        now: Timestamp,
    ) -> Result<[u8; 32], Fault> {
        let challenge = webauthn::challenge_of(client)?;
        self.challenges().take(&challenge, purpose, holder, now).map(|(challenge, ())| challenge)
    }

    fn known(&self, id: &[u8]) -> Result<Option<Passkey>, AccessError> {
        let connection = self.connection();
        let mut select = connection.prepare_cached("SELECT * FROM passkey WHERE id = ?1")?;
        Ok(select.query_row([id], passkey).optional()?)
    }
}

/// Who counts for a passkey that was not taken: at a device that its person knows they themselves, and
/// anywhere else nobody but the address, so that no wrong passkey slows a person's phrase.
fn asker<'a>(person: &'a str, address: &'a str, device: Option<&Device>) -> Asker<'a> {
    match device.filter(|device| device.knows(person)) {
        Some(device) => Asker { person, address, device: Some(device.number) },
        None => Asker { person: "", address, device: None },
    }
}

fn expected<'a>(challenge: &'a [u8], site: &'a Site) -> Expected<'a> {
    Expected { challenge, origin: &site.origin, name: &site.name }
}

/// Why a passkey is not taken, in words.
pub fn in_words(refused: &Refused) -> String {
    match refused {
        Refused::Fault(fault) => fault.to_string(),
        Refused::Unknown => "it is not known here".to_owned(),
        Refused::NotAdded(why) => (*why).to_owned(),
        Refused::Wait(_) => "too many wrong ones before".to_owned(),
    }
}

/// Keeps how often it was used; not where another answer came in between with as many.
fn counts_on(
    transaction: &Transaction<'_>,
    known: &Passkey,
    counter: u32,
    now: Timestamp,
) -> Result<bool, AccessError> {
    let kept = transaction.execute(
        "UPDATE passkey SET counter = ?2, used_at = ?3 WHERE number = ?1 AND (?2 = 0 OR counter < ?2)",
        params![known.number, counter, now.to_string()],
    )?;
    Ok(kept == 1)
}

/// A person whose account was reset or closed has no passkeys any longer; gives how many there were.
pub(crate) fn forget(connection: &Connection, person: &str) -> Result<usize, AccessError> {
    Ok(connection.execute("DELETE FROM passkey WHERE person = ?1", [person])?)
}

fn handle_of(connection: &Connection, person: &str) -> Result<Option<Vec<u8>>, AccessError> {
    let mut select = connection.prepare_cached("SELECT handle FROM account WHERE person = ?1")?;
    Ok(select.query_row([person], |row| row.get(0)).optional()?.flatten())
}

fn is_known(connection: &Connection, id: &[u8]) -> Result<bool, AccessError> {
    let is_known = "SELECT EXISTS (SELECT 1 FROM passkey WHERE id = ?1)";
    Ok(connection.query_row(is_known, [id], |row| row.get(0))?)
}

fn name_of(connection: &Connection, person: &str, number: i64) -> Result<String, AccessError> {
    let name = "SELECT name FROM passkey WHERE person = ?1 AND number = ?2";
    let name = connection.query_row(name, params![person, number], |row| row.get(0)).optional()?;
    name.ok_or_else(|| AccessError::Wrong(format!("{person} has no passkey {number}")))
}

fn passkey(row: &Row<'_>) -> rusqlite::Result<Passkey> {
    Ok(Passkey {
        number: row.get("number")?,
        person: row.get("person")?,
        name: row.get("name")?,
        site: row.get("site")?,
        added_at: moment(row.get("added_at")?),
        used_at: moment(row.get("used_at")?),
        id: row.get("id")?,
        key: row.get("key")?,
        counter: row.get("counter")?,
        may_be_copied: row.get("may_be_copied")?,
    })
}
