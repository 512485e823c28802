//! Accounts: which people of the laboratory may sign in, and who of them may say so.
//!
//! Nobody chooses a phrase for somebody else. Who gives an account, or resets one, is shown a one-time
//! code ([`crate::code`]); its person opens the account with it and with a phrase of their own. Owners
//! give and close accounts; what a person may do in the laboratory is a matter of the laboratory.

use crate::base::{Access, AccessError, moment};
use crate::code::{self, Code};
use crate::device;
use crate::limits::Asker;
use crate::log::{Kind, Note, note};
use crate::passkey;
use crate::phrase::Phrase;
use crate::session::end_all;
use crate::vouched;
use jiff::Timestamp;
use rusqlite::{Connection, OptionalExtension, Row, Transaction, params};
use serde::Serialize;

/// Who did what is done on the command line without a name.
pub const AT_THE_MACHINE: &str = "at the machine";

/// An account.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Account {
    /// Whose it is, by initials.
    pub person: String,
    /// Whether they may give and close accounts, and end sessions.
    pub is_owner: bool,
    /// When it was given.
    pub made_at: Option<Timestamp>,
    /// By whom.
    pub made_by: String,
    /// Since when it has its phrase; none while it has none.
    pub phrase_at: Option<Timestamp>,
    /// Until when it can be opened by its code.
    pub code_until: Option<Timestamp>,
    /// When it was closed.
    pub closed_at: Option<Timestamp>,
    /// By whom.
    pub closed_by: Option<String>,
    #[serde(skip)]
    phrase: Option<String>,
    #[serde(skip)]
    code: Option<Vec<u8>>,
}

impl Account {
    /// Whether its person can sign in.
    pub fn is_open(&self) -> bool {
        self.closed_at.is_none() && self.phrase.is_some()
    }

    /// Where it stands at an instant, in words.
    pub fn standing(&self, now: Timestamp) -> &'static str {
        if self.closed_at.is_some() {
            "closed"
        } else if self.code_until.is_some_and(|until| until > now) {
            "waits for its code"
        } else if self.phrase.is_some() {
            "open"
        } else {
            "its code has run out"
        }
    }

    /// What is kept of the phrase, while the account is open.
    pub(crate) fn kept_phrase(&self) -> Option<&str> {
        self.phrase.as_deref().filter(|_| self.closed_at.is_none())
    }
}

/// Somebody opens their account.
#[derive(Debug, Clone, Copy)]
pub struct Opening<'a> {
    /// Whose account, by initials.
    pub person: &'a str,
    /// The code as typed.
    pub code: &'a str,
    /// The phrase that they chose, which was judged.
    pub phrase: &'a Phrase,
    /// Where from, as limits count it.
    pub address: &'a str,
}

/// Why an account was not opened.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum NotOpened {
    /// There is no such account, or the code is wrong or too late. Which of them is not said.
    Code,
    /// Too many wrong codes: wait.
    Wait(jiff::SignedDuration),
}

impl Access {
    /// Whether people prove who they are: since the first account has got its phrase, and for good.
    ///
    /// # Errors
    /// When the accounts cannot be read.
    pub fn has_accounts(&self) -> Result<bool, AccessError> {
        has_accounts(&self.connection())
    }

    /// Every account, by initials.
    ///
    /// # Errors
    /// When they cannot be read.
    pub fn accounts(&self) -> Result<Vec<Account>, AccessError> {
        let connection = self.connection();
        let mut select = connection.prepare_cached("SELECT * FROM account ORDER BY person")?;
        let accounts = select.query_map([], account)?;
        Ok(accounts.collect::<Result<_, _>>()?)
    }

    /// The account of a person.
    ///
    /// # Errors
    /// When it cannot be read.
    pub fn account(&self, person: &str) -> Result<Option<Account>, AccessError> {
        find(&self.connection(), person)
    }

    /// Gives a person an account, or a closed one again; gives the code that opens it.
    ///
    /// # Errors
    /// When they have one already, or it cannot be kept.
    pub fn give_account(
        &self,
        person: &str,
        is_owner: bool,
        by: &str,
        now: Timestamp,
    ) -> Result<Code, AccessError> {
        let code = Code::new()?;
        self.changed(|transaction| {
            if let Some(known) = find(transaction, person)?
                && known.closed_at.is_none()
            {
                return Err(AccessError::Wrong(format!(
                    "{person} has an account already; reset it for a new code"
                )));
            }
            if !is_owner && owners_but(transaction, "")? == 0 {
                return Err(AccessError::Wrong(
                    "the first account is that of an owner, who can give others".to_owned(),
                ));
            }
            transaction.execute(
                "INSERT INTO account (person, is_owner, made_at, made_by) VALUES (?1, ?2, ?3, ?4)
                 ON CONFLICT (person) DO UPDATE SET is_owner = excluded.is_owner,
                     phrase = NULL, closed_at = NULL, closed_by = NULL",
                params![person, is_owner, now.to_string(), by],
            )?;
            keep_code(transaction, person, &code, now)?;
            let about = if is_owner { format!("{person}, as an owner") } else { person.to_owned() };
            note(transaction, &Note::of(Kind::AccountGiven, by).about(&about), now)
        })?;
        Ok(code)
    }

    /// Takes the phrase of an account away and its passkeys, ends all its sessions, and gives a code for a new phrase.
    ///
    /// # Errors
    /// When there is no such account that is not closed, or it cannot be kept.
    pub fn reset_account(
        &self,
        person: &str,
        by: &str,
        now: Timestamp,
    ) -> Result<Code, AccessError> {
        let code = Code::new()?;
        self.changed(|transaction| {
            not_closed(transaction, person)?;
            transaction.execute("UPDATE account SET phrase = NULL WHERE person = ?1", [person])?;
            keep_code(transaction, person, &code, now)?;
            end_all(transaction, person, by, now)?;
            device::forget(transaction, person)?;
            let about = match passkey::forget(transaction, person)? {
                0 => person.to_owned(),
                1 => format!("{person}; 1 passkey removed"),
                many => format!("{person}; {many} passkeys removed"),
            };
            note(transaction, &Note::of(Kind::AccountReset, by).about(&about), now)
        })?;
        Ok(code)
    }

    /// Opens an account by its code. Sessions that there are end.
    ///
    /// # Errors
    /// When it cannot be kept. That the code does not open it is an answer.
    pub fn open_account(
        &self,
        opening: &Opening<'_>,
        now: Timestamp,
    ) -> Result<Result<(), NotOpened>, AccessError> {
        let person = opening.person;
        let known = self.account(person)?.filter(|account| account.closed_at.is_none());
        let kept = known.as_ref().filter(|known| known.code_until.is_some_and(|until| until > now));
        let kept = kept.and_then(|account| account.code.clone()).unwrap_or_default();
        if let Err(refused) = self.is_code(opening, &kept, now)? {
            return Ok(Err(refused));
        }
        let hashed = opening.phrase.hashed()?;
        self.changed(|transaction| {
            // Of two that open it at once one comes first: a code opens once.
            let opened = transaction.execute(
                "UPDATE account SET phrase = ?3, phrase_at = ?4, code_sha256 = NULL, code_until = NULL
                 WHERE person = ?1 AND code_sha256 = ?2",
                params![person, kept, hashed, now.to_string()],
            )?;
            if opened == 0 {
                return Ok(Err(NotOpened::Code));
            }
            end_all(transaction, person, person, now)?;
            let opened = Note::of(Kind::AccountOpened, person).from(opening.address);
            note(transaction, &opened, now)?;
            Ok(Ok(()))
        })
    }

    /// Makes the first account, of an owner, by the code that the terminal shows.
    ///
    /// # Errors
    /// When there are accounts already, or it cannot be kept. That the code does not open it is an
    /// answer.
    pub fn open_first_account(
        &self,
        opening: &Opening<'_>,
        code: &Code,
        now: Timestamp,
    ) -> Result<Result<(), NotOpened>, AccessError> {
        if let Err(refused) = self.is_code(opening, &code.sha256(), now)? {
            return Ok(Err(refused));
        }
        let hashed = opening.phrase.hashed()?;
        let person = opening.person;
        self.changed(|transaction| {
            if has_accounts(transaction)? {
                return Err(AccessError::Wrong(
                    "there are accounts already; ask an owner".to_owned(),
                ));
            }
            transaction.execute(
                "INSERT INTO account (person, is_owner, made_at, made_by, phrase, phrase_at)
                 VALUES (?1, TRUE, ?2, ?1, ?3, ?2)
                 ON CONFLICT (person) DO UPDATE SET is_owner = TRUE, phrase = excluded.phrase,
                     phrase_at = excluded.phrase_at, code_sha256 = NULL, code_until = NULL",
                params![person, now.to_string(), hashed],
            )?;
            let about = "the first account, by the code of the terminal";
            let opened = Note::of(Kind::AccountOpened, person).from(opening.address).about(about);
            note(transaction, &opened, now)?;
            Ok(Ok(()))
        })
    }

    /// Compares a code under the limits.
    fn is_code(
        &self,
        opening: &Opening<'_>,
        kept: &[u8],
        now: Timestamp,
    ) -> Result<Result<(), NotOpened>, AccessError> {
        // Counted for nobody: codes that are guessed must not slow down who signs in.
        let asker = Asker { person: "", address: opening.address, device: None };
        if let Err(left) = self.limits().may_try(&asker, now) {
            return Ok(Err(NotOpened::Wait(left)));
        }
        if !Code::is(kept, opening.code) {
            self.write_refusal(&Note::of(Kind::CodeRefused, "").from(opening.address), now)?;
            return Ok(Err(NotOpened::Code));
        }
        self.limits().was_right(&asker);
        Ok(Ok(()))
    }

    /// Changes a person's own phrase to one that was judged. All their sessions end but the one that it
    /// was changed in.
    ///
    /// # Errors
    /// When it cannot be kept.
    pub fn change_phrase(
        &self,
        session: &crate::Session,
        phrase: &Phrase,
        address: &str,
        now: Timestamp,
    ) -> Result<(), AccessError> {
        let hashed = phrase.hashed()?;
        let person = session.person.as_str();
        self.changed(|transaction| {
            not_closed(transaction, person)?;
            transaction.execute(
                "UPDATE account SET phrase = ?2, phrase_at = ?3 WHERE person = ?1",
                params![person, hashed, now.to_string()],
            )?;
            transaction.execute(
                "UPDATE session SET ended_at = ?3, ended_by = ?1
                 WHERE person = ?1 AND number <> ?2 AND ended_at IS NULL",
                params![person, session.number, now.to_string()],
            )?;
            note(transaction, &Note::of(Kind::PhraseChanged, person).from(address), now)
        })
    }

    /// Closes an account: its sessions end, tokens in its person's name are revoked.
    ///
    /// # Errors
    /// When there is none that is open, when it is the last owner's, or it cannot be kept.
    pub fn close_account(&self, person: &str, by: &str, now: Timestamp) -> Result<(), AccessError> {
        self.changed(|transaction| {
            let account = not_closed(transaction, person)?;
            stays_an_owner(transaction, &account)?;
            transaction.execute(
                "UPDATE account SET closed_at = ?2, closed_by = ?3, phrase = NULL,
                     code_sha256 = NULL, code_until = NULL WHERE person = ?1",
                params![person, now.to_string(), by],
            )?;
            end_all(transaction, person, by, now)?;
            device::forget(transaction, person)?;
            passkey::forget(transaction, person)?;
            vouched::forget(transaction, person)?;
            let revoked = transaction.execute(
                "UPDATE token SET revoked_at = ?2, revoked_by = ?3
                 WHERE person = ?1 AND revoked_at IS NULL",
                params![person, now.to_string(), by],
            )?;
            let about = format!("{person}; {revoked} tokens revoked");
            note(transaction, &Note::of(Kind::AccountClosed, by).about(&about), now)
        })
    }

    /// Makes a person an owner, or no longer.
    ///
    /// # Errors
    /// When there is no such account, when it is the last owner's, or it cannot be kept.
    pub fn set_owner(
        &self,
        person: &str,
        is_owner: bool,
        by: &str,
        now: Timestamp,
    ) -> Result<(), AccessError> {
        self.changed(|transaction| {
            let account = not_closed(transaction, person)?;
            if !is_owner {
                stays_an_owner(transaction, &account)?;
            }
            transaction.execute(
                "UPDATE account SET is_owner = ?2 WHERE person = ?1",
                params![person, is_owner],
            )?;
            let what = if is_owner { "is an owner" } else { "is no owner any longer" };
            let about = format!("{person} {what}");
            note(transaction, &Note::of(Kind::OwnerChanged, by).about(&about), now)
        })
    }

    /// Keeps what a phrase of old cost is worth today.
    pub(crate) fn keep_hash(&self, person: &str, hashed: &str) -> Result<(), AccessError> {
        self.connection().execute(
            "UPDATE account SET phrase = ?2 WHERE person = ?1 AND phrase IS NOT NULL",
            [person, hashed],
        )?;
        Ok(())
    }

    pub(crate) fn changed<T>(
        &self,
        change: impl FnOnce(&Transaction<'_>) -> Result<T, AccessError>,
    ) -> Result<T, AccessError> {
        let mut connection = self.connection();
        let transaction =
            connection.transaction_with_behavior(rusqlite::TransactionBehavior::Immediate)?;
        let changed = change(&transaction)?;
        transaction.commit()?;
        Ok(changed)
    }
}

fn has_accounts(connection: &Connection) -> Result<bool, AccessError> {
    let mut select = connection
        .prepare_cached("SELECT EXISTS (SELECT 1 FROM account WHERE phrase_at IS NOT NULL)")?;
    Ok(select.query_row([], |row| row.get(0))?)
}

fn find(connection: &Connection, person: &str) -> Result<Option<Account>, AccessError> {
    let mut select = connection.prepare_cached("SELECT * FROM account WHERE person = ?1")?;
    Ok(select.query_row([person], account).optional()?)
}

fn not_closed(connection: &Connection, person: &str) -> Result<Account, AccessError> {
    let account = find(connection, person)?.filter(|account| account.closed_at.is_none());
    account.ok_or_else(|| AccessError::Wrong(format!("{person} has no account")))
}

/// Refuses to leave nobody who could give accounts.
fn stays_an_owner(connection: &Connection, account: &Account) -> Result<(), AccessError> {
    if account.is_owner && owners_but(connection, &account.person)? == 0 {
        return Err(AccessError::Wrong(format!(
            "{} is the last owner; make somebody else an owner first",
            account.person
        )));
    }
    Ok(())
}

/// How many owners can sign in, but for one.
fn owners_but(connection: &Connection, person: &str) -> Result<i64, AccessError> {
    Ok(connection.query_row(
        "SELECT count(*) FROM account
         WHERE is_owner AND phrase IS NOT NULL AND closed_at IS NULL AND person <> ?1",
        [person],
        |row| row.get(0),
    )?)
}

fn keep_code(
    connection: &Connection,
    person: &str,
    code: &Code,
    now: Timestamp,
) -> Result<(), AccessError> {
    let until = now.checked_add(code::HOLDS_FOR).unwrap_or(now);
    connection.execute(
        "UPDATE account SET code_sha256 = ?2, code_until = ?3 WHERE person = ?1",
        params![person, code.sha256().as_slice(), until.to_string()],
    )?;
    Ok(())
}

fn account(row: &Row<'_>) -> rusqlite::Result<Account> {
    Ok(Account {
        person: row.get("person")?,
        is_owner: row.get("is_owner")?,
        made_at: moment(row.get("made_at")?),
        made_by: row.get("made_by")?,
        phrase_at: moment(row.get("phrase_at")?),
        code_until: moment(row.get("code_until")?),
        closed_at: moment(row.get("closed_at")?),
        closed_by: row.get("closed_by")?,
        phrase: row.get("phrase")?,
        code: row.get("code_sha256")?,
    })
}
