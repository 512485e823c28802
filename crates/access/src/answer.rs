//! Answers that are kept for requests with a key and that no fact tells: refusals. (What became
//! facts is found in the journal, which keeps the key with them in one transaction.)

use crate::base::{Access, AccessError};
use jiff::{SignedDuration, Timestamp};
use rusqlite::{OptionalExtension, params};

/// How long a refusal is remembered.
const KEPT_FOR: SignedDuration = SignedDuration::from_hours(7 * 24);

/// An answer that was given before.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KeptAnswer {
    /// What tells one request from another: the first digits of a hash of its address and body.
    pub print: String,
    /// The status of the answer.
    pub status: u16,
    /// Its body.
    pub body: Vec<u8>,
}

impl Access {
    /// Keeps the answer to a request; the first one stays.
    ///
    /// # Errors
    /// When it cannot be kept.
    pub fn keep_answer(
        &self,
        key: &str,
        answer: &KeptAnswer,
        now: Timestamp,
    ) -> Result<(), AccessError> {
        let connection = self.connection();
        let oldest = now.checked_sub(KEPT_FOR).unwrap_or(now);
        connection.execute("DELETE FROM answer WHERE at < ?1", [oldest.to_string()])?;
        connection.execute(
            "INSERT INTO answer (key, print, status, body, at) VALUES (?1, ?2, ?3, ?4, ?5)
             ON CONFLICT (key) DO NOTHING",
            params![key, answer.print, answer.status, answer.body, now.to_string()],
        )?;
        Ok(())
    }

    /// The answer that was kept under a key.
    ///
    /// # Errors
    /// When it cannot be read.
    pub fn kept_answer(&self, key: &str) -> Result<Option<KeptAnswer>, AccessError> {
        let connection = self.connection();
        let mut select =
            connection.prepare_cached("SELECT print, status, body FROM answer WHERE key = ?1")?;
        let answer = select.query_row([key], |row| {
            Ok(KeptAnswer { print: row.get(0)?, status: row.get(1)?, body: row.get(2)? })
        });
        Ok(answer.optional()?)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_first_answer_stays_for_a_week() {
        let folder = tempfile::tempdir().unwrap();
        let access = Access::open(folder.path()).unwrap();
        let first = KeptAnswer { print: "aa".into(), status: 422, body: b"no".to_vec() };
        let second = KeptAnswer { print: "bb".into(), status: 201, body: b"yes".to_vec() };
        let at = |text: &str| text.parse::<Timestamp>().unwrap();
        assert_eq!(access.kept_answer("k").unwrap(), None);
        access.keep_answer("k", &first, at("2026-11-01T08:00:00Z")).unwrap();
        access.keep_answer("k", &second, at("2026-11-02T08:00:00Z")).unwrap();
        assert_eq!(access.kept_answer("k").unwrap(), Some(first.clone()));
        drop(access);
        let access = Access::open(folder.path()).unwrap();
        assert_eq!(access.kept_answer("k").unwrap(), Some(first), "after a restart, too");
        access.keep_answer("other", &second, at("2026-11-08T08:00:01Z")).unwrap();
        assert_eq!(access.kept_answer("k").unwrap(), None);
    }
}
