//! `stonewear token`: which programs may ask the interface, in whose name and how far.

use crate::answer::{Answer, Failure};
use crate::arguments::{Asking, Folder};
use jiff::Timestamp;
use jiff::civil::Date;
use serde_json::json;
use stonewear_access::{Access, AccessError, NewToken, Scope};
use stonewear_lab::fact::Right;
use stonewear_lab::{Lab, PersonCode};
use stonewear_runtime::LaboratoryView;

#[derive(Debug, clap::Subcommand)]
pub(crate) enum Token {
    /// Make a token, and show it once.
    #[command(after_help = "\
Example:\n\
\x20 stonewear token new --by IK --person IK --scope record --name 'balance bridge' --until 2027-06-30")]
    New(New),
    /// List tokens: what uses them, how far they go, when they were last used.
    #[command(after_help = "\
Example:\n\
\x20 stonewear token list")]
    List {
        #[command(flatten)]
        folder: Folder,
    },
    /// Revoke a token: from this moment it lets nobody in.
    #[command(after_help = "\
Example:\n\
\x20 stonewear token revoke --by IK T-1")]
    Revoke {
        #[command(flatten)]
        asking: Asking,
        /// Its code.
        token: String,
    },
}

#[derive(Debug, clap::Args)]
pub(crate) struct New {
    #[command(flatten)]
    asking: Asking,
    /// In whose name it asks, by initials.
    #[arg(long, value_name = "CODE")]
    person: String,
    /// How far it goes: read (look at everything), record (work at the bench, too), manage
    /// (everything that the person may do).
    #[arg(long)]
    scope: String,
    /// What uses it.
    #[arg(long)]
    name: String,
    /// The last day on which it holds, YYYY-MM-DD; it holds until it is revoked when none is named.
    #[arg(long, value_name = "DAY")]
    until: Option<Date>,
}

pub(crate) fn run(token: Token) -> Result<Answer, Failure> {
    match token {
        Token::New(new) => make(&new),
        Token::List { folder } => list(&folder),
        Token::Revoke { asking, token } => {
            let (view, by) = manager(&asking)?;
            let access = opened(&asking.folder)?;
            let token = token.trim().to_uppercase();
            let revoked = access.revoke_token(&token, by.as_str(), view.now()).map_err(failure)?;
            let text = format!("revoked {}, “{}”", revoked.id, revoked.name);
            Ok(Answer::new(text, json!({ "token": revoked })))
        }
    }
}

fn make(new: &New) -> Result<Answer, Failure> {
    let (view, by) = manager(&new.asking)?;
    let lab = view.lab();
    let person = known(lab, &new.person)?;
    let scope: Scope = new.scope.parse().map_err(Failure::WrongInput)?;
    let until = match new.until {
        None => None,
        Some(day) => Some(lab.end_of(day).ok_or_else(|| {
            Failure::WrongInput(format!("--until: {day} is beyond every calendar"))
        })?),
    };
    let wanted =
        NewToken { name: &new.name, person: person.as_str(), scope, until, made_by: by.as_str() };
    let access = opened(&new.asking.folder)?;
    let (token, text) = access.make_token(&wanted, view.now()).map_err(failure)?;
    let holds = until.map_or_else(
        || "until it is revoked".to_owned(),
        |_| format!("until {}", new.until.map(|day| day.to_string()).unwrap_or_default()),
    );
    let said = format!(
        "{text}\n\nThis is {}, “{}”: {scope}, in the name of {person}, {holds}. It is shown this once; \
         keep it where only that program can read it.",
        token.id, token.name
    );
    Ok(Answer::new(said, json!({ "token": token, "secret": text })))
}

fn list(folder: &Folder) -> Result<Answer, Failure> {
    let view = LaboratoryView::open(&folder.place()?)?;
    let tokens = opened(folder)?.tokens().map_err(failure)?;
    let now = view.now();
    let mut text = String::new();
    for token in &tokens {
        let until =
            token.until.map_or_else(String::new, |until| format!(", until {}", day(&view, until)));
        let used = token.used_at.map_or_else(
            || "never used".to_owned(),
            |used| format!("last used {}", day(&view, used)),
        );
        text.push_str(&format!(
            "{}  {}  {}  “{}”  {}{until}; {used}\n",
            token.id,
            token.person,
            token.scope,
            token.name,
            token.standing(now),
        ));
    }
    if tokens.is_empty() {
        text.push_str("no token was made yet\n");
    }
    Ok(Answer::new(text, json!({ "tokens": tokens })))
}

fn day(view: &LaboratoryView, at: Timestamp) -> String {
    view.lab().local(at).date().to_string()
}

/// The laboratory, and who asks, who must be one that may manage.
pub(super) fn manager(asking: &Asking) -> Result<(LaboratoryView, PersonCode), Failure> {
    let view = LaboratoryView::open(&asking.folder.place()?)?;
    let by = known(view.lab(), &asking.by)
        .map_err(|failure| Failure::WrongInput(format!("--by: {failure}")))?;
    let person = &view.lab().people[&by];
    if person.may(Right::Manage) {
        return Ok((view, by));
    }
    let managers = view.lab().people.values().filter(|person| person.may(Right::Manage));
    let names = stonewear_lab::words::listed(managers.map(|person| person.code.to_string()));
    Err(Failure::Refused(format!("--by: {} may not manage; ask {names}", person.name)))
}

fn known(lab: &Lab, typed: &str) -> Result<PersonCode, Failure> {
    let code = PersonCode::from(typed.trim().to_uppercase());
    if lab.people.contains_key(&code) {
        return Ok(code);
    }
    let codes = lab.people.keys().map(PersonCode::as_str);
    Err(super::unknown("nobody here has the initials", typed.trim(), codes))
}

/// What lies beside the journal of a laboratory that is there.
pub(super) fn opened(folder: &Folder) -> Result<Access, Failure> {
    Access::open(&folder.dir).map_err(Failure::surroundings)
}

pub(super) fn failure(error: AccessError) -> Failure {
    match error {
        AccessError::Wrong(words) => Failure::WrongInput(words),
        other => Failure::surroundings(other),
    }
}
