//! Sessions: what a browser holds after its person has signed in.
//!
//! 256 random bits, of which only the SHA-256 is kept. A session ends when nothing was done in it for so
//! long, at the latest after so long, and whenever its person or an owner ends it.

use crate::base::{Access, AccessError, hash, moment, secret};
use crate::log::{Kind, Note, note};
use jiff::{SignedDuration, Timestamp};
use rusqlite::{Connection, OptionalExtension, Row, params};
use serde::Serialize;

/// A use is written down at most this often.
const USES_APART: SignedDuration = SignedDuration::from_mins(1);
/// Ended sessions are kept for so long; the log has them for good.
const KEPT_FOR: SignedDuration = SignedDuration::from_hours(90 * 24);
/// For so long after the phrase was given, or a passkey used, nothing asks for it again. Long enough to release what lies on
/// the desk one after the other, and short enough that a tablet left lying signs for nobody. It does not
/// grow by work: it counts from the phrase. Common practice, no published source.
pub const PROVED_FOR: SignedDuration = SignedDuration::from_mins(5);

/// How long sessions last.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Lasting {
    /// The longest pause.
    pub idle: SignedDuration,
    /// The longest session.
    pub whole: SignedDuration,
}

impl Default for Lasting {
    /// A shift, and a week: OWASP ASVS 4.0.3, 3.3.2 names 12 hours and 30 days for level 1 and 2
    /// (from memory, unconfirmed).
    fn default() -> Self {
        Self { idle: SignedDuration::from_hours(12), whole: SignedDuration::from_hours(7 * 24) }
    }
}

/// By what a person showed who they are.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Means {
    /// Their pass phrase.
    Phrase,
    /// A passkey.
    Passkey,
    /// The word of their organisation.
    Organisation,
}

impl Means {
    const ALL: [Self; 3] = [Self::Phrase, Self::Passkey, Self::Organisation];

    /// In words, as pages say it.
    pub fn in_words(self) -> &'static str {
        match self {
            Self::Phrase => "pass phrase",
            Self::Passkey => "passkey",
            Self::Organisation => "organisation",
        }
    }

    /// As the file keeps it.
    fn name(self) -> &'static str {
        match self {
            Self::Phrase => "phrase",
            Self::Passkey => "passkey",
            Self::Organisation => "organisation",
        }
    }
}

/// A session.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Session {
    /// Its number.
    pub number: i64,
    /// Whose it is, by initials.
    pub person: String,
    /// The device, by its number.
    pub device: Option<i64>,
    /// When it began.
    pub began_at: Timestamp,
    /// When something was last done in it, to the minute.
    pub seen_at: Timestamp,
    /// When the phrase was last given in it, or a passkey used.
    pub proved_at: Timestamp,
    /// Where it began.
    pub address: String,
    /// What the browser says that it is.
    pub browser: String,
    /// By what it was begun; sessions from before that was kept do not say it.
    pub means: Option<Means>,
}

impl Session {
    /// Whether it is in force at an instant. A clock that was set back ends nothing.
    fn is_in_force(&self, lasting: Lasting, now: Timestamp) -> bool {
        now.duration_since(self.seen_at) < lasting.idle
            && now.duration_since(self.began_at) < lasting.whole
    }

    /// Whether nothing was done in it for so long that the next thing is noted.
    pub fn is_idle(&self, now: Timestamp) -> bool {
        now.duration_since(self.seen_at) >= USES_APART
    }

    /// Whether the phrase was given so lately that nothing asks for it again.
    pub fn is_proved(&self, now: Timestamp) -> bool {
        let since = now.duration_since(self.proved_at);
        since >= SignedDuration::ZERO && since < PROVED_FOR
    }
}

/// Where a session begins.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Beginning<'a> {
    pub(crate) person: &'a str,
    pub(crate) device: i64,
    pub(crate) address: &'a str,
    pub(crate) browser: &'a str,
    /// When its person last showed who they are.
    pub(crate) proved_at: Timestamp,
    /// By what.
    pub(crate) means: Means,
}

/// Begins a session; gives its secret, the only time that it can be seen.
pub(crate) fn begin(
    connection: &Connection,
    beginning: &Beginning<'_>,
    now: Timestamp,
) -> Result<String, AccessError> {
    let secret = secret()?;
    let oldest = now.checked_sub(KEPT_FOR).unwrap_or(now).to_string();
    connection.execute("DELETE FROM session WHERE seen_at < ?1", [oldest])?;
    let browser: String = beginning.browser.chars().take(200).collect();
    connection.execute(
        "INSERT INTO session (secret_sha256, person, device, began_at, seen_at, proved_at, address, browser,
                              means)
         VALUES (?1, ?2, ?3, ?4, ?4, ?7, ?5, ?6, ?8)",
        params![
            hash(&secret).as_slice(),
            beginning.person,
            beginning.device,
            now.to_string(),
            beginning.address,
            browser,
            beginning.proved_at.to_string(),
            beginning.means.name(),
        ],
    )?;
    Ok(secret)
}

/// Whether nobody has ended the session with this number.
pub(crate) fn is_open(connection: &Connection, number: i64) -> Result<bool, AccessError> {
    let is_open = "SELECT EXISTS (SELECT 1 FROM session WHERE number = ?1 AND ended_at IS NULL)";
    Ok(connection.query_row(is_open, [number], |row| row.get(0))?)
}

/// Ends the sessions of a person; gives how many there were.
pub(crate) fn end_all(
    connection: &Connection,
    person: &str,
    by: &str,
    now: Timestamp,
) -> Result<usize, AccessError> {
    Ok(connection.execute(
        "UPDATE session SET ended_at = ?2, ended_by = ?3 WHERE person = ?1 AND ended_at IS NULL",
        params![person, now.to_string(), by],
    )?)
}

/// Ends the session with this secret, if there is one.
pub(crate) fn end_by_secret(
    connection: &Connection,
    secret: &str,
    now: Timestamp,
) -> Result<(), AccessError> {
    connection.execute(
        "UPDATE session SET ended_at = ?2, ended_by = person
         WHERE secret_sha256 = ?1 AND ended_at IS NULL",
        params![hash(secret).as_slice(), now.to_string()],
    )?;
    Ok(())
}

fn session(row: &Row<'_>) -> rusqlite::Result<Session> {
    let at = |name: &str| -> rusqlite::Result<Timestamp> {
        // What cannot be read is of long ago: such a session is over.
        Ok(moment(row.get(name)?).unwrap_or(Timestamp::UNIX_EPOCH))
    };
    let means: Option<String> = row.get("means")?;
    Ok(Session {
        number: row.get("number")?,
        person: row.get("person")?,
        device: row.get("device")?,
        began_at: at("began_at")?,
        seen_at: at("seen_at")?,
        proved_at: at("proved_at")?,
        address: row.get("address")?,
        browser: row.get("browser")?,
        means: Means::ALL.into_iter().find(|known| means.as_deref() == Some(known.name())),
    })
}

impl Access {
    /// The session with this secret, if it is in force.
    ///
    /// # Errors
    /// When the sessions cannot be read.
    pub fn session(&self, secret: &str, now: Timestamp) -> Result<Option<Session>, AccessError> {
        let lasting = self.lasting()?;
        let connection = self.connection();
        let mut select = connection.prepare_cached(
            "SELECT * FROM session WHERE secret_sha256 = ?1 AND ended_at IS NULL",
        )?;
        let found = select.query_row([hash(secret).as_slice()], session).optional()?;
        Ok(found.filter(|session| session.is_in_force(lasting, now)))
    }

    /// Whether the session with this number is in force.
    ///
    /// # Errors
    /// When the sessions cannot be read.
    pub fn is_session_in_force(&self, number: i64, now: Timestamp) -> Result<bool, AccessError> {
        let is_it = |session: &Session| session.number == number;
        Ok(self.sessions(now)?.iter().any(is_it))
    }

    /// All sessions that are in force, oldest first.
    ///
    /// # Errors
    /// When they cannot be read.
    pub fn sessions(&self, now: Timestamp) -> Result<Vec<Session>, AccessError> {
        let lasting = self.lasting()?;
        let connection = self.connection();
        let mut select = connection
            .prepare_cached("SELECT * FROM session WHERE ended_at IS NULL ORDER BY number")?;
        let open: Vec<Session> = select.query_map([], session)?.collect::<Result<_, _>>()?;
        Ok(open.into_iter().filter(|session| session.is_in_force(lasting, now)).collect())
    }

    /// Something was done in a session.
    ///
    /// # Errors
    /// When it cannot be kept.
    pub fn session_was_used(&self, session: &Session, now: Timestamp) -> Result<(), AccessError> {
        if session.is_idle(now) {
            self.connection().execute(
                "UPDATE session SET seen_at = ?2 WHERE number = ?1 AND ended_at IS NULL",
                params![session.number, now.to_string()],
            )?;
        }
        Ok(())
    }

    /// Its person goes.
    ///
    /// # Errors
    /// When it cannot be kept.
    pub fn sign_out(
        &self,
        session: &Session,
        address: &str,
        now: Timestamp,
    ) -> Result<(), AccessError> {
        let mut connection = self.connection();
        let transaction =
            connection.transaction_with_behavior(rusqlite::TransactionBehavior::Immediate)?;
        end(&transaction, session.number, &session.person, now)?;
        note(&transaction, &Note::of(Kind::SignedOut, &session.person).from(address), now)?;
        Ok(transaction.commit()?)
    }

    /// Ends one session, or all of a person; gives how many were ended.
    ///
    /// # Errors
    /// When it cannot be kept.
    pub fn end_sessions(
        &self,
        which: &Which<'_>,
        by: &str,
        address: &str,
        now: Timestamp,
    ) -> Result<usize, AccessError> {
        let mut connection = self.connection();
        let transaction =
            connection.transaction_with_behavior(rusqlite::TransactionBehavior::Immediate)?;
        let (ended, whose) = match *which {
            Which::One(number) => {
                let person = "SELECT person FROM session WHERE number = ?1";
                let person: Option<String> =
                    transaction.query_row(person, [number], |row| row.get(0)).optional()?;
                (end(&transaction, number, by, now)?, person.unwrap_or_default())
            }
            Which::AllOf(person) => (end_all(&transaction, person, by, now)?, person.to_owned()),
        };
        if ended > 0 {
            let about = format!("{ended} of {whose}");
            let wanted = Note::of(Kind::SessionsEnded, by).from(address).about(&about);
            note(&transaction, &wanted, now)?;
        }
        transaction.commit()?;
        Ok(ended)
    }

    /// How long sessions last here.
    ///
    /// # Errors
    /// When it cannot be read.
    pub fn lasting(&self) -> Result<Lasting, AccessError> {
        let connection = self.connection();
        let mut select = connection.prepare_cached("SELECT value FROM setting WHERE name = ?1")?;
        let mut minutes = |name: &str, otherwise: SignedDuration| -> Result<_, AccessError> {
            let kept: Option<String> = select.query_row([name], |row| row.get(0)).optional()?;
            let kept = kept.and_then(|kept| kept.parse().ok());
            Ok(kept.map_or(otherwise, SignedDuration::from_mins))
        };
        let usual = Lasting::default();
        Ok(Lasting {
            idle: minutes("idle-minutes", usual.idle)?,
            whole: minutes("whole-minutes", usual.whole)?,
        })
    }

    /// Decides how long sessions last, those that are open, too.
    ///
    /// # Errors
    /// When it is less than five minutes or more than 30 days, or cannot be kept.
    pub fn set_lasting(
        &self,
        lasting: Lasting,
        by: &str,
        now: Timestamp,
    ) -> Result<(), AccessError> {
        let limits = SignedDuration::from_mins(5)..=SignedDuration::from_hours(30 * 24);
        if !limits.contains(&lasting.idle) || !limits.contains(&lasting.whole) {
            return Err(AccessError::Wrong("a session lasts from 5 minutes to 30 days".to_owned()));
        }
        let mut connection = self.connection();
        let transaction =
            connection.transaction_with_behavior(rusqlite::TransactionBehavior::Immediate)?;
        for (name, value) in [("idle-minutes", lasting.idle), ("whole-minutes", lasting.whole)] {
            transaction.execute(
                "INSERT INTO setting (name, value) VALUES (?1, ?2)
                 ON CONFLICT (name) DO UPDATE SET value = excluded.value",
                params![name, value.as_mins().to_string()],
            )?;
        }
        let about = format!(
            "{} minutes idle, {} minutes in all",
            lasting.idle.as_mins(),
            lasting.whole.as_mins()
        );
        note(&transaction, &Note::of(Kind::LastingChanged, by).about(&about), now)?;
        Ok(transaction.commit()?)
    }
}

/// Which sessions are ended.
#[derive(Debug, Clone, Copy)]
pub enum Which<'a> {
    /// The one with this number.
    One(i64),
    /// All of this person.
    AllOf(&'a str),
}

fn end(
    connection: &Connection,
    number: i64,
    by: &str,
    now: Timestamp,
) -> Result<usize, AccessError> {
    Ok(connection.execute(
        "UPDATE session SET ended_at = ?2, ended_by = ?3 WHERE number = ?1 AND ended_at IS NULL",
        params![number, now.to_string(), by],
    )?)
}
