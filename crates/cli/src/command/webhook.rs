//! `stonewear webhook`: addresses that are told of new facts.

use super::token::{failure, manager, opened};
use crate::answer::{Answer, Failure};
use crate::arguments::{Asking, Folder};
use serde_json::json;
use stonewear_access::{HookState, NewHook};
use stonewear_runtime::{Clock, LaboratoryView};
use stonewear_server::hooks;

#[derive(Debug, clap::Subcommand)]
pub(crate) enum Webhook {
    /// Add an address, and show its secret.
    #[command(after_help = "\
Example:\n\
\x20 stonewear webhook add --by IK https://example.org/news --facts result-released,doubt-opened")]
    Add(Add),
    /// List webhooks: how far each was told, and what goes wrong.
    #[command(after_help = "\
Example:\n\
\x20 stonewear webhook list")]
    List {
        #[command(flatten)]
        folder: Folder,
    },
    /// Remove a webhook.
    #[command(after_help = "\
Example:\n\
\x20 stonewear webhook remove --by IK W-1")]
    Remove {
        #[command(flatten)]
        asking: Asking,
        /// Its code.
        webhook: String,
    },
    /// Send a message of the type test, and say what was answered.
    #[command(after_help = "\
Example:\n\
\x20 stonewear webhook test W-1")]
    Test {
        #[command(flatten)]
        folder: Folder,
        /// Its code.
        webhook: String,
    },
}

#[derive(Debug, clap::Args)]
pub(crate) struct Add {
    #[command(flatten)]
    asking: Asking,
    /// Where it listens.
    url: String,
    /// Kinds of facts that it is told of, with commas: result-released. Every kind when none is named.
    #[arg(long, value_delimiter = ',', value_name = "KINDS")]
    facts: Vec<String>,
    /// It may lie on this machine or in a private network.
    #[arg(long)]
    allow_private: bool,
    /// Tell it of every fact since the beginning, not only of those that come.
    #[arg(long)]
    from_the_beginning: bool,
}

pub(crate) fn run(webhook: Webhook) -> Result<Answer, Failure> {
    match webhook {
        Webhook::Add(add) => self::add(&add),
        Webhook::List { folder } => list(&folder),
        Webhook::Remove { asking, webhook } => {
            let (view, by) = manager(&asking)?;
            let code = webhook.trim().to_uppercase();
            let access = opened(&asking.folder)?;
            access.remove_hook(&code, by.as_str(), view.now()).map_err(failure)?;
            Ok(Answer::new(format!("removed {code}"), json!({ "removed": code })))
        }
        Webhook::Test { folder, webhook } => test(&folder, &webhook),
    }
}

fn add(add: &Add) -> Result<Answer, Failure> {
    let (view, by) = manager(&add.asking)?;
    hooks::check_address(&add.url, add.allow_private).map_err(Failure::WrongInput)?;
    let known = hooks::kinds();
    let mut kinds = Vec::new();
    for typed in &add.facts {
        let kind = kebab(typed.trim());
        if !known.contains(&kind) {
            return Err(no_such_fact(typed.trim(), &kind, &known));
        }
        kinds.push(kind);
    }
    let position = if add.from_the_beginning { 0 } else { view.lab().position };
    let new = NewHook {
        url: &add.url,
        kinds: &kinds,
        allow_private: add.allow_private,
        made_by: by.as_str(),
        position,
    };
    let hook = opened(&add.asking.folder)?.add_hook(&new, Clock::Machine.now()).map_err(failure)?;
    let text = format!(
        "{}\n\nThis is the secret of {}: with it the receiver checks the signature of each message \
         (docs/interface.md). It is shown this once. Messages go out while `stonewear serve` runs.",
        hook.secret(),
        hook.id
    );
    Ok(Answer::new(text, json!({ "webhook": hook, "secret": hook.secret() })))
}

/// That there is no such kind of fact, with those that resemble it.
fn no_such_fact(typed: &str, kind: &str, known: &[String]) -> Failure {
    // How many are offered.
    const MOST: usize = 4;
    let mut near: Vec<(f64, &str)> =
        known.iter().map(|one| (strsim::jaro_winkler(kind, one), one.as_str())).collect();
    near.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(b.1)));
    let near: Vec<&str> = near.into_iter().take(MOST).map(|(_, one)| one).collect();
    Failure::WrongInput(format!(
        "--facts: there is no fact “{typed}”; near to it: {}",
        near.join(", ")
    ))
}

/// `ResultReleased`, as programmers write it, is `result-released`.
fn kebab(typed: &str) -> String {
    let mut name = String::new();
    for (place, letter) in typed.chars().enumerate() {
        if letter.is_ascii_uppercase() && place > 0 {
            name.push('-');
        }
        name.push(letter.to_ascii_lowercase());
    }
    name
}

fn list(folder: &Folder) -> Result<Answer, Failure> {
    let view = LaboratoryView::open(&folder.place()?)?;
    let hooks = opened(folder)?.hooks().map_err(failure)?;
    let now = Clock::Machine.now();
    let last = view.lab().position;
    let mut text = String::new();
    let mut listed = Vec::new();
    for hook in &hooks {
        let state = hook.state(now);
        let kinds =
            if hook.kinds.is_empty() { "every fact".to_owned() } else { hook.kinds.join(", ") };
        text.push_str(&format!(
            "{}  {}  {kinds}\n    {}; told up to {} of {last}\n",
            hook.id,
            hook.url,
            state.in_words(),
            hook.position
        ));
        if state != HookState::Well {
            let next = hook.next_at.map_or_else(String::new, |next| format!("; next {next}"));
            text.push_str(&format!("    tried {} times: {}{next}\n", hook.failures, hook.trouble));
        }
        listed.push(json!({ "webhook": hook, "state": state }));
    }
    if hooks.is_empty() {
        text.push_str("no webhook was added yet\n");
    }
    Ok(Answer::new(text, json!({ "webhooks": listed, "position": last })))
}

fn test(folder: &Folder, typed: &str) -> Result<Answer, Failure> {
    LaboratoryView::open(&folder.place()?)?;
    let access = opened(folder)?;
    let code = typed.trim().to_uppercase();
    let Some(hook) = access.hook(&code).map_err(failure)? else {
        let hooks = access.hooks().map_err(failure)?;
        let codes = hooks.iter().map(|hook| hook.id.as_str());
        return Err(super::unknown("there is no webhook", typed.trim(), codes));
    };
    match hooks::send_test(&hook) {
        Ok(()) => Ok(Answer::new(
            format!("{code} took the message"),
            json!({ "webhook": code, "taken": true }),
        )),
        Err(trouble) => {
            let text = format!("{code} did not take the message: {trouble}");
            let json = json!({ "webhook": code, "taken": false, "trouble": trouble });
            Ok(Answer { text, json, is_no: true })
        }
    }
}
