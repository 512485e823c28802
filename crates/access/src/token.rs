//! Tokens: a program's right to ask in the name of a person.

use crate::base::{Access, AccessError, hash, moment, next_code, secret};
use crate::log::{Kind, Note, note};
use jiff::{SignedDuration, Timestamp};
use rusqlite::{OptionalExtension, Row, params};
use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;
use subtle::ConstantTimeEq;

/// What every token begins with, so that one that was left somewhere is recognised as such.
const MARK: &str = "stonewear_";
/// A use is written down at most this often.
const USES_APART: SignedDuration = SignedDuration::from_mins(1);

/// How far a token goes. Each scope includes the ones before.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Scope {
    /// Looking at everything.
    Read,
    /// Recording work at the bench: what needs the right to test.
    Record,
    /// Everything that the person may do: releasing results and managing, too.
    Manage,
}

impl Scope {
    /// All scopes, the narrowest first.
    pub const ALL: [Self; 3] = [Self::Read, Self::Record, Self::Manage];

    /// Its name.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Read => "read",
            Self::Record => "record",
            Self::Manage => "manage",
        }
    }
}

impl fmt::Display for Scope {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.as_str())
    }
}

impl FromStr for Scope {
    type Err = String;

    fn from_str(typed: &str) -> Result<Self, String> {
        let known = Self::ALL.into_iter().find(|scope| scope.as_str() == typed);
        known.ok_or_else(|| format!("there is no scope “{typed}”; read, record or manage"))
    }
}

/// A token that is to be made.
#[derive(Debug, Clone)]
pub struct NewToken<'a> {
    /// What uses it: `balance bridge`.
    pub name: &'a str,
    /// In whose name it asks, by initials.
    pub person: &'a str,
    /// How far it goes.
    pub scope: Scope,
    /// Until when; `None` until it is revoked.
    pub until: Option<Timestamp>,
    /// Who made it.
    pub made_by: &'a str,
}

/// A token as it is kept: everything but its secret.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Token {
    /// Its code: `T-1`.
    pub id: String,
    /// What uses it.
    pub name: String,
    /// In whose name it asks.
    pub person: String,
    /// How far it goes.
    pub scope: Scope,
    /// When it was made.
    pub made_at: Option<Timestamp>,
    /// By whom.
    pub made_by: String,
    /// Until when it holds; absent until it is revoked.
    pub until: Option<Timestamp>,
    /// When it was last used, to the minute.
    pub used_at: Option<Timestamp>,
    /// When it was revoked.
    pub revoked_at: Option<Timestamp>,
    /// By whom.
    pub revoked_by: Option<String>,
}

impl Token {
    /// Where it stands at an instant, in words.
    pub fn standing(&self, now: Timestamp) -> &'static str {
        if self.revoked_at.is_some() {
            "revoked"
        } else if self.until.is_some_and(|until| until < now) {
            "run out"
        } else {
            "in force"
        }
    }
}

/// Who asks, as a token says.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Bearer {
    /// The token.
    pub token: String,
    /// What uses it.
    pub name: String,
    /// In whose name it asks.
    pub person: String,
    /// How far it goes.
    pub scope: Scope,
}

/// Why a token lets nobody in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Denied {
    /// It is none of ours.
    Unknown,
    /// It was revoked.
    Revoked,
    /// Its day is over.
    RunOut,
}

impl Denied {
    /// In words.
    pub fn in_words(self) -> &'static str {
        match self {
            Self::Unknown => "the token is not known here",
            Self::Revoked => "the token was revoked",
            Self::RunOut => "the token has run out",
        }
    }
}

impl Access {
    /// Makes a token, and gives its text: the only time that it can be seen.
    ///
    /// # Errors
    /// When its name is empty or too long, or it cannot be kept.
    pub fn make_token(
        &self,
        new: &NewToken<'_>,
        now: Timestamp,
    ) -> Result<(Token, String), AccessError> {
        let name = new.name.trim();
        if name.is_empty() || name.chars().count() > 60 || name.chars().any(char::is_control) {
            return Err(AccessError::Wrong(
                "name what uses the token in 1 to 60 characters, like “balance bridge”".to_owned(),
            ));
        }
        if new.until.is_some_and(|until| until < now) {
            return Err(AccessError::Wrong("the token would have run out already".to_owned()));
        }
        let secret = secret()?;
        let id = {
            let mut connection = self.connection();
            let transaction =
                connection.transaction_with_behavior(rusqlite::TransactionBehavior::Immediate)?;
            let id = next_code(&transaction, "token", 'T')?;
            transaction.execute(
                "INSERT INTO token (id, name, person, scope, secret_sha256, made_at, made_by, until)
                 VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)",
                params![
                    id,
                    name,
                    new.person,
                    new.scope.as_str(),
                    hash(&secret).as_slice(),
                    now.to_string(),
                    new.made_by,
                    new.until.map(|until| until.to_string()),
                ],
            )?;
            let about = format!("{id}, {name}, in the name of {}, {}", new.person, new.scope);
            note(&transaction, &Note::of(Kind::TokenMade, new.made_by).about(&about), now)?;
            transaction.commit()?;
            id
        };
        let text = format!("{MARK}{id}_{secret}");
        let token = self.token(&id)?;
        let token = token.ok_or_else(|| AccessError::Wrong(format!("{id} was not kept")))?;
        Ok((token, text))
    }

    /// Every token, oldest first, those that were revoked too.
    ///
    /// # Errors
    /// When they cannot be read.
    pub fn tokens(&self) -> Result<Vec<Token>, AccessError> {
        let connection = self.connection();
        let mut select = connection.prepare_cached("SELECT * FROM token ORDER BY rowid")?;
        let tokens = select.query_map([], token)?;
        Ok(tokens.collect::<Result<_, _>>()?)
    }

    /// The token with this code.
    ///
    /// # Errors
    /// When it cannot be read.
    pub fn token(&self, id: &str) -> Result<Option<Token>, AccessError> {
        let connection = self.connection();
        let mut select = connection.prepare_cached("SELECT * FROM token WHERE id = ?1")?;
        Ok(select.query_row([id], token).optional()?)
    }

    /// Revokes a token: from this moment it lets nobody in.
    ///
    /// # Errors
    /// When there is no such token, or it was revoked before.
    pub fn revoke_token(&self, id: &str, by: &str, now: Timestamp) -> Result<Token, AccessError> {
        let changed = {
            let mut connection = self.connection();
            let transaction =
                connection.transaction_with_behavior(rusqlite::TransactionBehavior::Immediate)?;
            let changed = transaction.execute(
                "UPDATE token SET revoked_at = ?2, revoked_by = ?3
                 WHERE id = ?1 AND revoked_at IS NULL",
                params![id, now.to_string(), by],
            )?;
            if changed > 0 {
                note(&transaction, &Note::of(Kind::TokenRevoked, by).about(id), now)?;
            }
            transaction.commit()?;
            changed
        };
        match (self.token(id)?, changed) {
            (None, _) => Err(AccessError::Wrong(format!(
                "there is no token {id}; `stonewear token list` shows them"
            ))),
            (Some(_), 0) => Err(AccessError::Wrong(format!("{id} was revoked before"))),
            (Some(token), _) => Ok(token),
        }
    }

    /// Who asks with this text, at this instant.
    ///
    /// # Errors
    /// When the tokens cannot be read. That a text lets nobody in is an answer.
    pub fn bearer(
        &self,
        text: &str,
        now: Timestamp,
    ) -> Result<Result<Bearer, Denied>, AccessError> {
        let parts = text.strip_prefix(MARK).and_then(|rest| rest.split_once('_'));
        let (id, secret) = parts.unwrap_or_default();
        let known: Option<(Token, Vec<u8>)> = {
            let connection = self.connection();
            let mut select = connection.prepare_cached("SELECT * FROM token WHERE id = ?1")?;
            select.query_row([id], |row| Ok((token(row)?, row.get("secret_sha256")?))).optional()?
        };
        let presented = hash(secret);
        // An unknown code costs the same comparison as a known one.
        let kept = known.as_ref().map_or([0; 32].as_slice(), |(_, kept)| kept.as_slice());
        let is_right = bool::from(kept.ct_eq(presented.as_slice()));
        let Some((token, _)) = known.filter(|_| is_right) else { return Ok(Err(Denied::Unknown)) };
        if token.revoked_at.is_some() {
            return Ok(Err(Denied::Revoked));
        }
        if token.until.is_some_and(|until| until < now) {
            return Ok(Err(Denied::RunOut));
        }
        // When it was last used is worth knowing, and no reason to let nobody in: on a full disk the
        // laboratory can still be read.
        let _ = self.note_use(&token, now);
        Ok(Ok(Bearer {
            token: token.id,
            name: token.name,
            person: token.person,
            scope: token.scope,
        }))
    }

    /// Whether a token that let somebody in still does, at this instant.
    ///
    /// # Errors
    /// When the tokens cannot be read.
    pub fn is_in_force(&self, id: &str, now: Timestamp) -> Result<bool, AccessError> {
        Ok(self.token(id)?.is_some_and(|token| token.standing(now) == "in force"))
    }

    fn note_use(&self, token: &Token, now: Timestamp) -> Result<(), AccessError> {
        let is_news = token.used_at.is_none_or(|used| now.duration_since(used) >= USES_APART);
        if is_news {
            self.connection().execute(
                "UPDATE token SET used_at = ?2 WHERE id = ?1",
                params![token.id, now.to_string()],
            )?;
        }
        Ok(())
    }
}

fn token(row: &Row<'_>) -> rusqlite::Result<Token> {
    let scope: String = row.get("scope")?;
    Ok(Token {
        id: row.get("id")?,
        name: row.get("name")?,
        person: row.get("person")?,
        // A scope that a later version wrote goes no further than looking.
        scope: scope.parse().unwrap_or(Scope::Read),
        made_at: moment(row.get("made_at")?),
        made_by: row.get("made_by")?,
        until: moment(row.get("until")?),
        used_at: moment(row.get("used_at")?),
        revoked_at: moment(row.get("revoked_at")?),
        revoked_by: row.get("revoked_by")?,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(text: &str) -> Timestamp {
        text.parse().unwrap()
    }

    const NEW: NewToken<'_> = NewToken {
        name: "balance bridge",
        person: "IK",
        scope: Scope::Record,
        until: None,
        made_by: "IK",
    };

    fn access() -> (tempfile::TempDir, Access) {
        let folder = tempfile::tempdir().unwrap();
        let access = Access::open(folder.path()).unwrap();
        (folder, access)
    }

    #[test]
    fn a_token_lets_in_whom_it_was_made_for() {
        let (_folder, access) = access();
        let now = at("2026-11-26T08:00:00Z");
        let (token, text) = access.make_token(&NEW, now).unwrap();
        assert_eq!((token.id.as_str(), token.standing(now)), ("T-1", "in force"));
        assert_eq!(text.len(), "stonewear_T-1_".len() + 64, "256 bits in hexadecimal");
        let bearer = access.bearer(&text, now).unwrap().unwrap();
        assert_eq!((bearer.person.as_str(), bearer.scope), ("IK", Scope::Record));
        let (second, other) = access.make_token(&NEW, now).unwrap();
        assert_eq!(second.id, "T-2");
        assert_ne!(text[14..], other[14..]);
    }

    #[test]
    fn anything_else_lets_nobody_in() {
        let (_folder, access) = access();
        let now = at("2026-11-26T08:00:00Z");
        let (_, text) = access.make_token(&NEW, now).unwrap();
        let (_, other) = access.make_token(&NEW, now).unwrap();
        let mixed = format!("stonewear_T-2_{}", &text[14..]);
        let long = format!("{text}0");
        for wrong in [
            "",
            "stonewear_",
            "stonewear_T-1_",
            "stonewear_T-9_00",
            &mixed,
            &long,
            &text[..text.len() - 1],
            &text.to_uppercase(),
            text.trim_start_matches("stonewear_"),
        ] {
            assert_eq!(access.bearer(wrong, now).unwrap(), Err(Denied::Unknown), "{wrong}");
        }
        assert!(access.bearer(&other, now).unwrap().is_ok());
    }

    #[test]
    fn the_secret_is_not_kept() {
        let (folder, access) = access();
        let (_, text) = access.make_token(&NEW, at("2026-11-26T08:00:00Z")).unwrap();
        let secret = &text[14..];
        drop(access);
        for file in std::fs::read_dir(folder.path()).unwrap() {
            let bytes = std::fs::read(file.unwrap().path()).unwrap();
            let is_in = bytes.windows(secret.len()).any(|part| part == secret.as_bytes());
            assert!(!is_in, "the secret stands in a file");
        }
    }

    #[test]
    fn revoked_and_run_out_tokens_say_so() {
        let (_folder, access) = access();
        let now = at("2026-11-26T08:00:00Z");
        let until = Some(at("2026-11-30T23:59:59Z"));
        let (_, short) = access.make_token(&NewToken { until, ..NEW }, now).unwrap();
        assert!(access.bearer(&short, at("2026-11-30T23:59:59Z")).unwrap().is_ok());
        let over = at("2026-12-01T00:00:00Z");
        assert_eq!(access.bearer(&short, over).unwrap(), Err(Denied::RunOut));
        assert!(
            !access.is_in_force("T-1", over).unwrap() && access.is_in_force("T-1", now).unwrap()
        );

        let (_, text) = access.make_token(&NEW, now).unwrap();
        let revoked = access.revoke_token("T-2", "IK", now).unwrap();
        assert_eq!((revoked.standing(now), revoked.revoked_by.as_deref()), ("revoked", Some("IK")));
        assert_eq!(access.bearer(&text, now).unwrap(), Err(Denied::Revoked));
        assert!(access.revoke_token("T-2", "IK", now).is_err(), "revoked twice");
        assert!(access.revoke_token("T-9", "IK", now).is_err(), "no such token");
    }

    #[test]
    fn its_last_use_is_known_to_the_minute() {
        let (_folder, access) = access();
        let (_, text) = access.make_token(&NEW, at("2026-11-26T08:00:00Z")).unwrap();
        for (asked, known) in [
            ("2026-11-26T08:00:10Z", "2026-11-26T08:00:10Z"),
            ("2026-11-26T08:01:09Z", "2026-11-26T08:00:10Z"),
            ("2026-11-26T08:01:10Z", "2026-11-26T08:01:10Z"),
        ] {
            access.bearer(&text, at(asked)).unwrap().unwrap();
            let token = access.token("T-1").unwrap().unwrap();
            assert_eq!(token.used_at, Some(at(known)));
        }
    }

    #[test]
    fn a_token_without_a_name_or_with_a_past_end_is_not_made() {
        let (_folder, access) = access();
        let now = at("2026-11-26T08:00:00Z");
        assert!(access.make_token(&NewToken { name: "  ", ..NEW }, now).is_err());
        assert!(access.make_token(&NewToken { name: &"x".repeat(61), ..NEW }, now).is_err());
        let past = Some(at("2026-11-25T00:00:00Z"));
        assert!(access.make_token(&NewToken { until: past, ..NEW }, now).is_err());
        assert!(access.tokens().unwrap().is_empty());
    }

    #[test]
    fn scopes_include_the_narrower_ones() {
        assert!(Scope::Read < Scope::Record && Scope::Record < Scope::Manage);
        for scope in Scope::ALL {
            assert_eq!(scope.to_string().parse(), Ok(scope));
        }
        assert!("all".parse::<Scope>().is_err());
    }
}
