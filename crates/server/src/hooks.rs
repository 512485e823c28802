//! Webhooks: other programs are told of new facts, in the order of the journal, each at least once.
//!
//! A message is signed as Standard Webhooks says (`webhook-id`, `webhook-timestamp`,
//! `webhook-signature`); its id names hook and fact, so that a receiver that hears it twice can tell.
//! How far each hook has been told is kept beside the journal: a program that was stopped or killed
//! goes on where it was. What a hook does not take is tried again after growing waits, and nothing
//! later is told before: order goes before haste.

mod address;

pub use address::check_address;

use crate::app::App;
use crate::interface::FactGiven;
use address::Guarded;
use serde::Serialize;
use std::collections::BTreeMap;
use std::thread::{self, JoinHandle};
use std::time::Duration;
use stonewear_access::{Access, AccessError, Hook};
use stonewear_lab::Fact;
use stonewear_runtime::Clock;
use ureq::unversioned::transport::DefaultConnector;

/// The longest that one message may take.
const PATIENCE: Duration = Duration::from_secs(15);
/// The longest that finding and reaching a receiver may take.
const REACH: Duration = Duration::from_secs(5);
/// How often a courier looks whether there is something to tell.
const LOOK: Duration = Duration::from_millis(200);
/// How long it waits where the database does not answer.
const TROUBLED: Duration = Duration::from_secs(1);
/// Facts that are read at once.
const BATCH: usize = 100;

/// Every kind of fact, by the name that the journal gives it.
pub fn kinds() -> Vec<String> {
    // The list of the type itself: it names its kinds when it is asked for one that it does not know.
    let unknown = serde_json::from_value::<Fact>(serde_json::json!({ "kind": "" }));
    let said = unknown.err().map(|error| error.to_string()).unwrap_or_default();
    said.split('`').skip(3).step_by(2).map(str::to_owned).collect()
}

/// A message, by the shape that Standard Webhooks proposes.
#[derive(Debug, Serialize)]
struct Message<'a> {
    /// The kind of the fact; `test` where it is none.
    #[serde(rename = "type")]
    kind: &'a str,
    /// When it happened.
    timestamp: &'a str,
    /// The fact, as `GET /facts/{position}` gives it.
    data: Option<&'a FactGiven>,
}

/// Tells a hook that this is a test, and waits for its answer.
///
/// # Errors
/// In words, when it cannot be reached or does not take the message.
pub fn send_test(hook: &Hook) -> Result<(), String> {
    let now = Clock::Machine.now();
    let timestamp = now.to_string();
    let message = Message { kind: "test", timestamp: &timestamp, data: None };
    send(hook, &format!("{}.test-{}", hook.id, now.as_millisecond()), &message)
}

/// What asks outwards: not for long, where it was told to and nowhere else.
pub(crate) fn agent(allow_private: bool) -> ureq::Agent {
    let config = ureq::Agent::config_builder()
        .http_status_as_error(false)
        .max_redirects(0)
        .max_redirects_will_error(false)
        .proxy(None)
        .timeout_global(Some(PATIENCE))
        .timeout_resolve(Some(REACH))
        .timeout_connect(Some(REACH))
        .max_idle_connections(0)
        .user_agent(concat!("stonewear/", env!("CARGO_PKG_VERSION")))
        .build();
    ureq::Agent::with_parts(config, DefaultConnector::default(), Guarded { allow_private })
}

fn send(hook: &Hook, id: &str, message: &Message<'_>) -> Result<(), String> {
    let body = serde_json::to_vec(message).map_err(|error| error.to_string())?;
    let seconds = Clock::Machine.now().as_second();
    let answer = agent(hook.allow_private)
        .post(&hook.url)
        .header("content-type", "application/json")
        .header("webhook-id", id)
        .header("webhook-timestamp", seconds.to_string())
        .header("webhook-signature", hook.signature(id, seconds, &body))
        .send(&body[..])
        .map_err(|error| error.to_string())?;
    let status = answer.status();
    if status.is_success() {
        Ok(())
    } else if status.is_redirection() {
        Err(format!("it answered {status}, which leads elsewhere; that is not followed"))
    } else {
        Err(format!("it answered {status}"))
    }
}

/// Tells every hook, each in a thread of its own, until the program stops.
pub(crate) fn start(app: App) -> JoinHandle<()> {
    thread::spawn(move || {
        let mut couriers: BTreeMap<String, JoinHandle<()>> = BTreeMap::new();
        let Ok(access) = app.access.clone() else { return };
        while !app.news.is_over() {
            for hook in access.hooks().unwrap_or_default() {
                let is_gone = couriers.get(&hook.id).is_none_or(JoinHandle::is_finished);
                if is_gone {
                    let (app, id) = (app.clone(), hook.id.clone());
                    couriers.insert(hook.id, thread::spawn(move || carry(&app, &id)));
                }
            }
            thread::sleep(LOOK);
        }
        for courier in couriers.into_values() {
            let _ = courier.join();
        }
    })
}

/// Tells one hook whatever comes, until it is removed or the program stops.
fn carry(app: &App, id: &str) {
    let Ok(access) = app.access.clone() else { return };
    let mut looked_at = None;
    while !app.news.is_over() {
        let news = app.news.position();
        match access.hook(id) {
            Ok(None) => return,
            Ok(Some(hook)) => {
                let now = Clock::Machine.now();
                let waits = hook.next_at.is_some_and(|next| next > now);
                let has_more = looked_at != Some(news) || hook.failures > 0;
                if !waits && has_more {
                    match tell(app, &access, &hook, false) {
                        Ok(true) => looked_at = Some(news),
                        // More was there than was read at once, or it failed: look again.
                        Ok(false) => looked_at = None,
                        // The database is busy or the disk is full: that may pass.
                        Err(_) => thread::sleep(TROUBLED),
                    }
                }
            }
            Err(_) => thread::sleep(TROUBLED),
        }
        thread::sleep(LOOK);
    }
    // What was recorded last is told before the program ends, to whoever listened until now.
    if let Ok(Some(hook)) = access.hook(id)
        && hook.failures == 0
    {
        let _ = tell(app, &access, &hook, true);
    }
}

/// Tells a hook what it has not been told yet; whether it knows everything now. `to_the_end`: also
/// while the program stops.
fn tell(app: &App, access: &Access, hook: &Hook, to_the_end: bool) -> Result<bool, AccessError> {
    let facts = app.read().facts_after(hook.position, BATCH);
    let Ok(facts) = facts else { return Ok(false) };
    let is_all = facts.len() < BATCH;
    for fact in facts {
        let position = fact.position;
        if !hook.wants(fact.kind()) {
            access.hook_was_told(&hook.id, position, None)?;
            continue;
        }
        if app.news.is_over() && !to_the_end {
            return Ok(false);
        }
        let given = FactGiven::from(fact);
        let message = Message { kind: &given.kind, timestamp: &given.at, data: Some(&given) };
        match send(hook, &format!("{}.{position}", hook.id), &message) {
            Ok(()) => access.hook_was_told(&hook.id, position, Some(Clock::Machine.now()))?,
            Err(trouble) => {
                access.hook_failed(&hook.id, &trouble, Clock::Machine.now())?;
                return Ok(false);
            }
        }
    }
    Ok(is_all)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_kinds_of_facts_are_those_of_the_journal() {
        let kinds = kinds();
        assert!(kinds.len() > 60, "{kinds:?}");
        for kind in ["laboratory-founded", "result-released", "mass-weighed", "experiment-imported"]
        {
            assert!(kinds.iter().any(|known| known == kind), "{kind}");
        }
        assert!(kinds.iter().all(|kind| kind.bytes().all(|b| b.is_ascii_lowercase() || b == b'-')));
    }
}
