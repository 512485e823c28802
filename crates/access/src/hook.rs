//! Webhooks: addresses that are told of new facts, signed, in order, at least once.
//!
//! A message is signed as the open specification Standard Webhooks says: HMAC-SHA256 over
//! `id.timestamp.body`, in Base64, behind `v1,`.

use crate::base::{Access, AccessError, moment, next_code, random};
use crate::log::{Kind, Note, note};
use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use hmac::{Hmac, KeyInit, Mac};
use jiff::{SignedDuration, Timestamp};
use rusqlite::{OptionalExtension, Row, params};
use serde::Serialize;
use sha2::Sha256;

/// What the secret of a hook begins with, by the same specification.
const SECRET_MARK: &str = "whsec_";
/// Waits after a failure, in seconds; the last one is repeated.
const WAITS: [i64; 9] = [5, 15, 60, 5 * 60, 15 * 60, 3600, 3 * 3600, 6 * 3600, 12 * 3600];
/// A hook that has failed for so long is dead: it is shown as such, and still tried.
const DEAD_AFTER: SignedDuration = SignedDuration::from_hours(24);

/// A hook that is to be added.
#[derive(Debug, Clone)]
pub struct NewHook<'a> {
    /// Where it listens.
    pub url: &'a str,
    /// The kinds of facts that it is told of; all when there are none.
    pub kinds: &'a [String],
    /// Whether it may lie on this machine or in a private network.
    pub allow_private: bool,
    /// Who added it.
    pub made_by: &'a str,
    /// The place in the journal after which it is told.
    pub position: u64,
}

/// A hook.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Hook {
    /// Its code: `W-1`.
    pub id: String,
    /// Where it listens.
    pub url: String,
    /// The kinds of facts that it is told of; all when there are none.
    pub kinds: Vec<String>,
    /// Whether it may lie on this machine or in a private network.
    pub allow_private: bool,
    /// When it was added.
    pub made_at: Option<Timestamp>,
    /// By whom.
    pub made_by: String,
    /// The last place in the journal that it needs no word of any more.
    pub position: u64,
    /// When it was last told something.
    pub told_at: Option<Timestamp>,
    /// How often in a row it could not be told.
    pub failures: u32,
    /// Since when.
    pub failing_since: Option<Timestamp>,
    /// When it is tried again.
    pub next_at: Option<Timestamp>,
    /// What went wrong last; empty while all is well.
    pub trouble: String,
    #[serde(skip)]
    secret: Vec<u8>,
}

/// How a hook stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum HookState {
    /// It was told everything that could be told so far, or nothing went wrong yet.
    Well,
    /// It failed and is tried again.
    Waiting,
    /// It has failed for a day or longer.
    Dead,
}

impl HookState {
    /// In a word.
    pub fn in_words(self) -> &'static str {
        match self {
            Self::Well => "well",
            Self::Waiting => "failing, tried again",
            Self::Dead => "dead",
        }
    }
}

impl Hook {
    /// How it stands at an instant.
    pub fn state(&self, now: Timestamp) -> HookState {
        match self.failing_since {
            None => HookState::Well,
            Some(since) if now.duration_since(since) >= DEAD_AFTER => HookState::Dead,
            Some(_) => HookState::Waiting,
        }
    }

    /// Whether it is told of facts of this kind.
    pub fn wants(&self, kind: &str) -> bool {
        self.kinds.is_empty() || self.kinds.iter().any(|wanted| wanted == kind)
    }

    /// The signature of a message, as its header carries it.
    pub fn signature(&self, id: &str, timestamp: i64, body: &[u8]) -> String {
        signature(&self.secret, id, timestamp, body)
    }

    /// Its secret as the receiver is given it.
    pub fn secret(&self) -> String {
        format!("{SECRET_MARK}{}", STANDARD.encode(&self.secret))
    }
}

/// How long to wait after so many failures in a row.
pub fn wait_after(failures: u32) -> SignedDuration {
    let index = usize::try_from(failures.saturating_sub(1)).unwrap_or(usize::MAX);
    SignedDuration::from_secs(WAITS[index.min(WAITS.len() - 1)])
}

fn signature(secret: &[u8], id: &str, timestamp: i64, body: &[u8]) -> String {
    // A key of any length will do, so this cannot fail.
    let Ok(mut mac) = Hmac::<Sha256>::new_from_slice(secret) else { return String::new() };
    mac.update(format!("{id}.{timestamp}.").as_bytes());
    mac.update(body);
    format!("v1,{}", STANDARD.encode(mac.finalize().into_bytes()))
}

impl Access {
    /// Adds a hook.
    ///
    /// # Errors
    /// When it cannot be kept.
    pub fn add_hook(&self, new: &NewHook<'_>, now: Timestamp) -> Result<Hook, AccessError> {
        let secret = random::<32>()?;
        let id = {
            let mut connection = self.connection();
            let transaction =
                connection.transaction_with_behavior(rusqlite::TransactionBehavior::Immediate)?;
            let id = next_code(&transaction, "hook", 'W')?;
            transaction.execute(
                "INSERT INTO hook (id, url, kinds, secret, allow_private, made_at, made_by, position)
                 VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)",
                params![
                    id,
                    new.url,
                    new.kinds.join(","),
                    secret.as_slice(),
                    new.allow_private,
                    now.to_string(),
                    new.made_by,
                    column(new.position),
                ],
            )?;
            let about = format!("{id}, {}", new.url);
            note(&transaction, &Note::of(Kind::HookAdded, new.made_by).about(&about), now)?;
            transaction.commit()?;
            id
        };
        self.hook(&id)?.ok_or_else(|| AccessError::Wrong(format!("{id} was not kept")))
    }

    /// Every hook, oldest first.
    ///
    /// # Errors
    /// When they cannot be read.
    pub fn hooks(&self) -> Result<Vec<Hook>, AccessError> {
        let connection = self.connection();
        let mut select = connection.prepare_cached("SELECT * FROM hook ORDER BY rowid")?;
        let hooks = select.query_map([], hook)?;
        Ok(hooks.collect::<Result<_, _>>()?)
    }

    /// The hook with this code.
    ///
    /// # Errors
    /// When it cannot be read.
    pub fn hook(&self, id: &str) -> Result<Option<Hook>, AccessError> {
        let connection = self.connection();
        let mut select = connection.prepare_cached("SELECT * FROM hook WHERE id = ?1")?;
        Ok(select.query_row([id], hook).optional()?)
    }

    /// Removes a hook.
    ///
    /// # Errors
    /// When there is none with this code.
    pub fn remove_hook(&self, id: &str, by: &str, now: Timestamp) -> Result<(), AccessError> {
        let mut connection = self.connection();
        let transaction =
            connection.transaction_with_behavior(rusqlite::TransactionBehavior::Immediate)?;
        if transaction.execute("DELETE FROM hook WHERE id = ?1", [id])? == 0 {
            return Err(AccessError::Wrong(format!(
                "there is no webhook {id}; `stonewear webhook list` shows them"
            )));
        }
        note(&transaction, &Note::of(Kind::HookRemoved, by).about(id), now)?;
        Ok(transaction.commit()?)
    }

    /// Notes that a hook needs no word any more of anything up to this place; `told` when it was
    /// told of a fact there, not only passed over what it does not want.
    ///
    /// # Errors
    /// When it cannot be kept.
    pub fn hook_was_told(
        &self,
        id: &str,
        position: u64,
        told: Option<Timestamp>,
    ) -> Result<(), AccessError> {
        self.connection().execute(
            "UPDATE hook SET position = max(position, ?2), told_at = coalesce(?3, told_at),
                 failures = CASE WHEN ?3 IS NULL THEN failures ELSE 0 END,
                 failing_since = CASE WHEN ?3 IS NULL THEN failing_since END,
                 next_at = CASE WHEN ?3 IS NULL THEN next_at END,
                 trouble = CASE WHEN ?3 IS NULL THEN trouble ELSE '' END
             WHERE id = ?1",
            params![id, column(position), told.map(|told| told.to_string())],
        )?;
        Ok(())
    }

    /// Notes that a hook could not be told, and when it is tried again.
    ///
    /// # Errors
    /// When it cannot be kept.
    pub fn hook_failed(&self, id: &str, trouble: &str, now: Timestamp) -> Result<(), AccessError> {
        let Some(hook) = self.hook(id)? else { return Ok(()) };
        let failures = hook.failures.saturating_add(1);
        let next = now.checked_add(wait_after(failures)).unwrap_or(now);
        self.connection().execute(
            "UPDATE hook SET failures = ?2, failing_since = coalesce(failing_since, ?3),
                 next_at = ?4, trouble = ?5 WHERE id = ?1",
            params![id, failures, now.to_string(), next.to_string(), trouble],
        )?;
        Ok(())
    }
}

fn hook(row: &Row<'_>) -> rusqlite::Result<Hook> {
    let kinds: String = row.get("kinds")?;
    let position: i64 = row.get("position")?;
    Ok(Hook {
        id: row.get("id")?,
        url: row.get("url")?,
        kinds: kinds.split(',').filter(|kind| !kind.is_empty()).map(str::to_owned).collect(),
        allow_private: row.get("allow_private")?,
        made_at: moment(row.get("made_at")?),
        made_by: row.get("made_by")?,
        position: u64::try_from(position).unwrap_or(0),
        told_at: moment(row.get("told_at")?),
        failures: row.get("failures")?,
        failing_since: moment(row.get("failing_since")?),
        next_at: moment(row.get("next_at")?),
        trouble: row.get("trouble")?,
        secret: row.get("secret")?,
    })
}

fn column(position: u64) -> i64 {
    i64::try_from(position).unwrap_or(i64::MAX)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(text: &str) -> Timestamp {
        text.parse().unwrap()
    }

    fn with_hook(kinds: &[String]) -> (tempfile::TempDir, Access, Hook) {
        let folder = tempfile::tempdir().unwrap();
        let access = Access::open(folder.path()).unwrap();
        let new = NewHook {
            url: "https://example.org/news",
            kinds,
            allow_private: false,
            made_by: "IK",
            position: 7,
        };
        let hook = access.add_hook(&new, at("2026-11-26T08:00:00Z")).unwrap();
        (folder, access, hook)
    }

    /// RFC 4231, test case 2, tells HMAC-SHA256; here the same primitive signs the text that
    /// Standard Webhooks 1.0 builds, with the example of that specification's own libraries.
    #[test]
    fn a_message_is_signed_as_the_specification_says() {
        let secret = STANDARD.decode("MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw").unwrap();
        let signed = signature(
            &secret,
            "msg_p5jXN8AQM9LWM0D4loKWxJek",
            1_614_265_330,
            br#"{"test": 2432232314}"#,
        );
        assert_eq!(signed, "v1,g0hM9SsE+OTPJTGt/tmIKtSyZlE3uFJELVlNIOLJ1OE=");
    }

    #[test]
    fn a_hook_is_kept_with_its_secret_and_position() {
        let (_folder, access, hook) = with_hook(&["result-released".to_owned()]);
        assert_eq!((hook.id.as_str(), hook.position), ("W-1", 7));
        assert!(hook.secret().starts_with("whsec_") && hook.secret().len() == 6 + 44);
        assert!(hook.wants("result-released") && !hook.wants("sample-received"));
        assert_eq!(access.hooks().unwrap(), std::slice::from_ref(&hook));
        let listed = serde_json::to_value(&hook).unwrap();
        assert_eq!(listed.get("secret"), None, "the secret is not listed");
        let now = at("2026-11-26T09:00:00Z");
        access.remove_hook("W-1", "IK", now).unwrap();
        assert!(access.hooks().unwrap().is_empty());
        assert!(access.remove_hook("W-1", "IK", now).is_err());
    }

    #[test]
    fn a_failing_hook_is_tried_after_growing_waits_and_dies_after_a_day() {
        let (_folder, access, _) = with_hook(&[]);
        let mut now = at("2026-11-26T08:00:00Z");
        let mut waits = Vec::new();
        for _ in 0..11 {
            access.hook_failed("W-1", "no answer", now).unwrap();
            let hook = access.hook("W-1").unwrap().unwrap();
            let next = hook.next_at.unwrap();
            waits.push(next.duration_since(now).as_secs());
            now = next;
        }
        assert_eq!(waits, [5, 15, 60, 300, 900, 3600, 10800, 21600, 43200, 43200, 43200]);
        let hook = access.hook("W-1").unwrap().unwrap();
        assert_eq!(hook.state(at("2026-11-27T07:59:59Z")), HookState::Waiting);
        assert_eq!(hook.state(at("2026-11-27T08:00:00Z")), HookState::Dead);
        assert_eq!((hook.failures, hook.trouble.as_str()), (11, "no answer"));

        access.hook_was_told("W-1", 9, None).unwrap();
        let passed_over = access.hook("W-1").unwrap().unwrap();
        assert_eq!((passed_over.position, passed_over.failures), (9, 11), "it was told nothing");
        access.hook_was_told("W-1", 12, Some(now)).unwrap();
        let hook = access.hook("W-1").unwrap().unwrap();
        assert_eq!((hook.position, hook.failures, hook.next_at), (12, 0, None));
        assert_eq!((hook.state(now), hook.trouble.as_str()), (HookState::Well, ""));
        access.hook_was_told("W-1", 3, Some(now)).unwrap();
        assert_eq!(access.hook("W-1").unwrap().unwrap().position, 12, "it never goes back");
    }
}
