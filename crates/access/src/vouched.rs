//! People whom an organisation vouches for (OpenID Connect). An owner links a person of the laboratory to
//! somebody of the organisation; nobody is let in, or made, by the organisation's word alone.

use crate::base::{Access, AccessError, moment};
use crate::challenge::Purpose;
use crate::limits::Asker;
use crate::log::{Kind, Note, note};
use crate::openid::{Question, Vouched};
use crate::passkey::Asking;
use crate::session::{Means, Session};
use crate::sign_in::{Browser, Coming, SignedIn, come_in, is_proved_now};
use jiff::{SignedDuration, Timestamp};
use rusqlite::{Connection, OptionalExtension, Row, Transaction, params};
use serde::Serialize;

/// A person who signs in through an organisation.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Link {
    /// Which organisation: the address of its provider.
    pub issuer: String,
    /// Who they are there.
    pub subject: String,
    /// Who they are here, by initials.
    pub person: String,
    /// When they were linked.
    pub linked_at: Option<Timestamp>,
    /// By whom.
    pub linked_by: String,
}

/// Nobody here is the one whom the organisation vouches for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct NotLinked;

/// Why an answer of an organisation is not looked at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NotAsked {
    /// It was not asked, not here, too long ago, or was answered before.
    Unknown,
    /// Too many were in vain: wait.
    Wait(SignedDuration),
}

impl Access {
    /// All links, by initials.
    ///
    /// # Errors
    /// When they cannot be read.
    pub fn links(&self) -> Result<Vec<Link>, AccessError> {
        let connection = self.connection();
        let mut select =
            connection.prepare_cached("SELECT * FROM vouched ORDER BY person, issuer")?;
        let links = select.query_map([], link)?;
        Ok(links.collect::<Result<_, _>>()?)
    }

    /// Whether a person is linked to somebody of an organisation.
    ///
    /// # Errors
    /// When the links cannot be read.
    pub fn has_link(&self, person: &str, issuer: &str) -> Result<bool, AccessError> {
        let connection = self.connection();
        let mut select = connection.prepare_cached(
            "SELECT EXISTS (SELECT 1 FROM vouched WHERE person = ?1 AND issuer = ?2)",
        )?;
        Ok(select.query_row([person, issuer], |row| row.get(0))?)
    }

    /// Links a person who has an account to somebody of an organisation. One to one, in each organisation.
    ///
    /// # Errors
    /// When they have no account, either is linked already, or it cannot be kept.
    pub fn link(
        &self,
        person: &str,
        (issuer, subject): (&str, &str),
        (by, address): (&str, &str),
        now: Timestamp,
    ) -> Result<(), AccessError> {
        let subject = subject.trim();
        if subject.is_empty() || subject.len() > 255 || !subject.is_ascii() {
            let words = "what the organisation calls a person has 1 to 255 signs of ASCII";
            return Err(AccessError::Wrong(words.to_owned()));
        }
        if self.account(person)?.is_none_or(|account| account.closed_at.is_some()) {
            return Err(AccessError::Wrong(format!("{person} has no account")));
        }
        self.changed(|transaction| {
            if let Some(other) = linked(transaction, issuer, subject)? {
                return Err(AccessError::Wrong(format!("{other} is linked to {subject} already")));
            }
            let inserted = transaction.execute(
                "INSERT INTO vouched (issuer, subject, person, linked_at, linked_by)
                 VALUES (?1, ?2, ?3, ?4, ?5) ON CONFLICT DO NOTHING",
                params![issuer, subject, person, now.to_string(), by],
            )?;
            if inserted == 0 {
                return Err(AccessError::Wrong(format!(
                    "{person} is linked already; end that link first"
                )));
            }
            let about = format!("{person} is {subject} of {issuer}");
            note(transaction, &Note::of(Kind::Linked, by).from(address).about(&about), now)
        })
    }

    /// Ends the link of a person. Their sessions go on; end them beside it.
    ///
    /// # Errors
    /// When there is none, or it cannot be kept.
    pub fn unlink(
        &self,
        person: &str,
        issuer: &str,
        (by, address): (&str, &str),
        now: Timestamp,
    ) -> Result<(), AccessError> {
        self.changed(|transaction| {
            let ended = transaction.execute(
                "DELETE FROM vouched WHERE person = ?1 AND issuer = ?2",
                [person, issuer],
            )?;
            if ended == 0 {
                return Err(AccessError::Wrong(format!("{person} is not linked to {issuer}")));
            }
            let about = format!("{person} of {issuer}");
            note(transaction, &Note::of(Kind::Unlinked, by).from(address).about(&about), now)
        })
    }

    /// Asks an organisation; gives the state that comes back with its answer, and the question.
    ///
    /// # Errors
    /// When the system gives no random bytes.
    pub fn ask_organisation(
        &self,
        asking: &Asking<'_>,
        back: &str,
        now: Timestamp,
    ) -> Result<([u8; 32], Question), AccessError> {
        let (state, question) = (crate::base::random::<32>()?, Question::new(back)?);
        let holder = (asking.holder, asking.address);
        self.questions().keep(state, asking.purpose, holder, (question.clone(), now), now);
        Ok((state, question))
    }

    /// What was asked with this state, by whoever holds this, and when. It is answered once, and who
    /// answers in vain again and again has to wait.
    ///
    /// # Errors
    /// Why it is not looked at.
    pub fn asked_organisation(
        &self,
        state: &[u8],
        purpose: Purpose,
        (holder, address): (&str, &str),
        now: Timestamp,
    ) -> Result<(Question, Timestamp), NotAsked> {
        let asker = Asker { person: "", address, device: None };
        self.limits().may_try(&asker, now).map_err(NotAsked::Wait)?;
        let taken = self.questions().take(state, purpose, holder, now);
        let (_, (question, at)) = taken.map_err(|_| NotAsked::Unknown)?;
        Ok((question, at))
    }

    /// The organisation has vouched: what was counted for the answer is taken back.
    pub fn was_vouched(&self, address: &str) {
        self.limits().was_right(&Asker { person: "", address, device: None });
    }

    /// Writes that the organisation did not vouch.
    ///
    /// # Errors
    /// When it cannot be kept.
    pub fn was_not_vouched(
        &self,
        purpose: Purpose,
        (person, address): (&str, &str),
        about: &str,
        now: Timestamp,
    ) -> Result<(), AccessError> {
        let note = match purpose {
            Purpose::Prove => Note::of(Kind::ProofRefused, person),
            Purpose::Add | Purpose::SignIn => Note::of(Kind::SignInRefused, ""),
        };
        self.write_refusal(&note.from(address).about(about), now)
    }

    /// Lets in whom an organisation vouches for, if an owner has linked them. They have shown who they are
    /// when they showed it to the organisation; where it does not say when, signing asks again.
    ///
    /// # Errors
    /// When the accounts cannot be read or kept. That nobody is linked is an answer.
    pub fn sign_in_vouched(
        &self,
        issuer: &str,
        vouched: &Vouched,
        browser: &Browser<'_>,
        now: Timestamp,
    ) -> Result<Result<SignedIn, NotLinked>, AccessError> {
        let device = self.device(browser.device, now)?;
        let came = self.changed(|transaction| {
            let Some(person) = open_and_linked(transaction, issuer, &vouched.subject)? else {
                return Ok(None);
            };
            let proved_at = vouched.at.unwrap_or(Timestamp::UNIX_EPOCH).min(now);
            let about = format!("vouched for by {issuer}");
            let means = Means::Organisation;
            let coming = Coming { person: &person, proved_at, means, about: &about };
            come_in(transaction, &coming, browser, device.as_ref(), now).map(Some)
        })?;
        match came {
            Some(came) => Ok(Ok(came)),
            None => {
                let about = format!("{} of {issuer} is linked to nobody", vouched.subject);
                let refused = Note::of(Kind::SignInRefused, "").from(browser.address);
                self.write_refusal(&refused.about(&about), now)?;
                Ok(Err(NotLinked))
            }
        }
    }

    /// The organisation has asked again who holds the session: what is signed now is signed by its person.
    ///
    /// # Errors
    /// When the accounts cannot be read or kept. That it is somebody else is an answer.
    pub fn prove_vouched(
        &self,
        session: &Session,
        (issuer, vouched): (&str, &Vouched),
        address: &str,
        now: Timestamp,
    ) -> Result<Result<(), NotLinked>, AccessError> {
        let person = session.person.as_str();
        let proved = self.changed(|transaction| {
            let is_theirs =
                open_and_linked(transaction, issuer, &vouched.subject)?.as_deref() == Some(person);
            if is_theirs {
                is_proved_now(transaction, session, now)?;
                let about = format!("vouched for by {issuer}");
                let proved = Note::of(Kind::Proved, person).from(address).about(&about);
                note(transaction, &proved, now)?;
            }
            Ok(is_theirs)
        })?;
        if !proved {
            let about = format!("{issuer} vouches for somebody else");
            let refused = Note::of(Kind::ProofRefused, person).from(address).about(&about);
            self.write_refusal(&refused, now)?;
            return Ok(Err(NotLinked));
        }
        Ok(Ok(()))
    }
}

fn linked(
    connection: &Connection,
    issuer: &str,
    subject: &str,
) -> Result<Option<String>, AccessError> {
    let person = "SELECT person FROM vouched WHERE issuer = ?1 AND subject = ?2";
    Ok(connection.query_row(person, [issuer, subject], |row| row.get(0)).optional()?)
}

/// The person who is linked, if their account is not closed.
fn open_and_linked(
    transaction: &Transaction<'_>,
    issuer: &str,
    subject: &str,
) -> Result<Option<String>, AccessError> {
    let person = "SELECT person FROM vouched JOIN account USING (person)
                  WHERE issuer = ?1 AND subject = ?2 AND closed_at IS NULL";
    Ok(transaction.query_row(person, [issuer, subject], |row| row.get(0)).optional()?)
}

/// A person whose account was closed is linked to nobody any longer.
pub(crate) fn forget(connection: &Connection, person: &str) -> Result<usize, AccessError> {
    Ok(connection.execute("DELETE FROM vouched WHERE person = ?1", [person])?)
}

fn link(row: &Row<'_>) -> rusqlite::Result<Link> {
    Ok(Link {
        issuer: row.get("issuer")?,
        subject: row.get("subject")?,
        person: row.get("person")?,
        linked_at: moment(row.get("linked_at")?),
        linked_by: row.get("linked_by")?,
    })
}
