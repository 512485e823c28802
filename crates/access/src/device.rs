//! Devices: a browser that somebody has signed in from. It is known again by a secret of its own, so that
//! whoever guesses elsewhere does not slow down those who work at it, and so that its sign-in page can
//! offer the names of those who do. It opens nothing by itself.

use crate::base::{Access, AccessError, hash, secret};
use jiff::{SignedDuration, Timestamp};
use rusqlite::{Connection, OptionalExtension, params};

/// A device that nobody signed in from for so long is known no longer.
pub const KNOWN_FOR: SignedDuration = SignedDuration::from_hours(180 * 24);

/// A device that is known.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Device {
    /// Its number.
    pub number: i64,
    /// Who has signed in from it, by initials, the last first.
    pub people: Vec<String>,
}

impl Device {
    /// Whether this person has signed in from it.
    pub fn knows(&self, person: &str) -> bool {
        self.people.iter().any(|known| known == person)
    }
}

impl Access {
    /// The device with this secret.
    ///
    /// # Errors
    /// When the devices cannot be read.
    pub fn device(&self, secret: &str, now: Timestamp) -> Result<Option<Device>, AccessError> {
        let connection = self.connection();
        let mut select =
            connection.prepare_cached("SELECT number FROM device WHERE secret_sha256 = ?1")?;
        let number: Option<i64> =
            select.query_row([hash(secret).as_slice()], |row| row.get(0)).optional()?;
        let Some(number) = number else { return Ok(None) };
        let oldest = now.checked_sub(KNOWN_FOR).unwrap_or(now).to_string();
        let mut select = connection.prepare_cached(
            "SELECT person FROM device_person WHERE device = ?1 AND last_at > ?2
             ORDER BY last_at DESC, person",
        )?;
        let people = select.query_map(params![number, oldest], |row| row.get(0))?;
        let people: Vec<String> = people.collect::<Result<_, _>>()?;
        Ok((!people.is_empty()).then_some(Device { number, people }))
    }
}

/// Makes a device; gives its number and its secret.
pub(crate) fn make(connection: &Connection, now: Timestamp) -> Result<(i64, String), AccessError> {
    let secret = secret()?;
    connection.execute(
        "INSERT INTO device (secret_sha256, made_at) VALUES (?1, ?2)",
        params![hash(&secret).as_slice(), now.to_string()],
    )?;
    Ok((connection.last_insert_rowid(), secret))
}

/// Remembers that a person has signed in from it.
pub(crate) fn remember(
    connection: &Connection,
    device: i64,
    person: &str,
    now: Timestamp,
) -> Result<(), AccessError> {
    connection.execute(
        "INSERT INTO device_person (device, person, last_at) VALUES (?1, ?2, ?3)
         ON CONFLICT (device, person) DO UPDATE SET last_at = excluded.last_at",
        params![device, person, now.to_string()],
    )?;
    Ok(())
}

/// A person whose account was reset or closed is known at no device any longer.
pub(crate) fn forget(connection: &Connection, person: &str) -> Result<(), AccessError> {
    connection.execute("DELETE FROM device_person WHERE person = ?1", [person])?;
    Ok(())
}
