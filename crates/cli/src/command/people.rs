//! `stonewear people`: accounts of people, by whoever is at the machine and may write into the folder.

use super::token::{failure, opened};
use crate::answer::{Answer, Failure};
use crate::arguments::Folder;
use jiff::{SignedDuration, Timestamp};
use serde_json::json;
use stonewear_access::account::AT_THE_MACHINE;
use stonewear_access::session::Which;
use stonewear_access::{Access, Code, Lasting};
use stonewear_lab::PersonCode;
use stonewear_runtime::{Clock, LaboratoryView};

#[derive(Debug, clap::Subcommand)]
pub(crate) enum People {
    /// Give a person an account: shows the code with which they choose their pass phrase.
    #[command(after_help = "\
Example:\n\
\x20 stonewear people give IK --owner")]
    Give {
        #[command(flatten)]
        folder: Folder,
        /// Initials.
        person: String,
        /// They may give accounts, too; the first one must.
        #[arg(long)]
        owner: bool,
    },
    /// Take a person's pass phrase away, end their sessions, and show a code for a new one.
    #[command(after_help = "\
Example:\n\
\x20 stonewear people reset IK")]
    Reset {
        #[command(flatten)]
        folder: Folder,
        /// Initials.
        person: String,
    },
    /// Close an account: its sessions end, and tokens in its person's name are revoked.
    #[command(after_help = "\
Example:\n\
\x20 stonewear people close DO")]
    Close {
        #[command(flatten)]
        folder: Folder,
        /// Initials.
        person: String,
    },
    /// Let a person give accounts, or no longer.
    #[command(after_help = "\
Example:\n\
\x20 stonewear people owner MQ")]
    Owner {
        #[command(flatten)]
        folder: Folder,
        /// Initials.
        person: String,
        /// They may no longer.
        #[arg(long)]
        no_longer: bool,
    },
    /// End all sessions of a person.
    #[command(after_help = "\
Example:\n\
\x20 stonewear people sign-out DO")]
    SignOut {
        #[command(flatten)]
        folder: Folder,
        /// Initials.
        person: String,
    },
    /// Remove a passkey that was lost; `people list` shows their numbers.
    #[command(after_help = "\
Example:\n\
\x20 stonewear people remove-passkey IK 3")]
    RemovePasskey {
        #[command(flatten)]
        folder: Folder,
        /// Initials.
        person: String,
        /// The number of the passkey.
        number: i64,
    },
    /// Let a person who has an account sign in through their organisation.
    #[command(after_help = "\
Example:\n\
\x20 stonewear people link IK --issuer https://login.example.org --subject 248289761001")]
    Link {
        #[command(flatten)]
        folder: Folder,
        /// Initials.
        person: String,
        /// The organisation: the address of its OpenID Connect provider, as `serve --openid` has it.
        #[arg(long, value_name = "ISSUER")]
        issuer: String,
        /// Who they are there: the mark (sub) that is shown to whoever tries to sign in without a link.
        #[arg(long, value_name = "MARK")]
        subject: String,
    },
    /// Let a person sign in through an organisation no longer.
    #[command(after_help = "\
Example:\n\
\x20 stonewear people unlink IK --issuer https://login.example.org")]
    Unlink {
        #[command(flatten)]
        folder: Folder,
        /// Initials.
        person: String,
        /// The organisation.
        #[arg(long, value_name = "ISSUER")]
        issuer: String,
    },
    /// Show how long sessions last, or decide it.
    #[command(after_help = "\
Example:\n\
\x20 stonewear people lasting --idle-hours 8 --whole-hours 100")]
    Lasting {
        #[command(flatten)]
        folder: Folder,
        /// Hours without anything done after which a session ends.
        #[arg(long, value_name = "HOURS", value_parser = clap::value_parser!(i64).range(1..=720))]
        idle_hours: Option<i64>,
        /// Hours after which a session ends at the latest.
        #[arg(long, value_name = "HOURS", value_parser = clap::value_parser!(i64).range(1..=720))]
        whole_hours: Option<i64>,
    },
    /// List accounts, their passkeys and links, and open sessions.
    #[command(after_help = "\
Example:\n\
\x20 stonewear people list")]
    List {
        #[command(flatten)]
        folder: Folder,
    },
    /// Show the access log: who came in, who was refused, who gave whom what.
    #[command(after_help = "\
Example:\n\
\x20 stonewear people log --last 200 --verify")]
    Log {
        #[command(flatten)]
        folder: Folder,
        /// How many entries, the last ones.
        #[arg(long, value_name = "N", default_value_t = 50)]
        last: usize,
        /// Work out every hash of it again; exit status 1 where an entry is not as it was written.
        #[arg(long)]
        verify: bool,
    },
}

pub(crate) fn run(people: People) -> Result<Answer, Failure> {
    let now = Clock::Machine.now();
    match people {
        People::Give { folder, person, owner } => {
            let (access, person) = known(&folder, &person)?;
            let code = access.give_account(&person, owner, AT_THE_MACHINE, now).map_err(failure)?;
            Ok(shown(&person, &code))
        }
        People::Reset { folder, person } => {
            let (access, person) = known(&folder, &person)?;
            let code = access.reset_account(&person, AT_THE_MACHINE, now).map_err(failure)?;
            Ok(shown(&person, &code))
        }
        People::Close { folder, person } => {
            let (access, person) = known(&folder, &person)?;
            access.close_account(&person, AT_THE_MACHINE, now).map_err(failure)?;
            Ok(Answer::new(format!("closed the account of {person}"), json!({ "closed": person })))
        }
        People::Owner { folder, person, no_longer } => {
            let (access, person) = known(&folder, &person)?;
            access.set_owner(&person, !no_longer, AT_THE_MACHINE, now).map_err(failure)?;
            let may = if no_longer { "may no longer" } else { "may" };
            let document = json!({ "person": person, "is_owner": !no_longer });
            Ok(Answer::new(format!("{person} {may} give accounts"), document))
        }
        People::SignOut { folder, person } => {
            let (access, person) = known(&folder, &person)?;
            let which = Which::AllOf(&person);
            let ended = access.end_sessions(&which, AT_THE_MACHINE, "", now).map_err(failure)?;
            let document = json!({ "person": person, "ended": ended });
            Ok(Answer::new(format!("ended {ended} sessions of {person}"), document))
        }
        People::RemovePasskey { folder, person, number } => {
            let (access, person) = known(&folder, &person)?;
            let by = (AT_THE_MACHINE, "");
            access.remove_passkey((&person, number), by, now).map_err(failure)?;
            let document = json!({ "person": person, "removed": number });
            Ok(Answer::new(format!("removed passkey {number} of {person}"), document))
        }
        People::Link { folder, person, issuer, subject } => {
            let (access, person) = known(&folder, &person)?;
            let there = (issuer.trim(), subject.trim());
            access.link(&person, there, (AT_THE_MACHINE, ""), now).map_err(failure)?;
            let text = format!("{person} may sign in as {} of {}", there.1, there.0);
            let document = json!({ "person": person, "issuer": there.0, "subject": there.1 });
            Ok(Answer::new(text, document))
        }
        People::Unlink { folder, person, issuer } => {
            let (access, person) = known(&folder, &person)?;
            access.unlink(&person, issuer.trim(), (AT_THE_MACHINE, ""), now).map_err(failure)?;
            let text = format!("{person} may sign in through {} no longer", issuer.trim());
            Ok(Answer::new(text, json!({ "person": person, "issuer": issuer.trim() })))
        }
        People::Lasting { folder, idle_hours, whole_hours } => {
            lasting(&folder, idle_hours, whole_hours, now)
        }
        People::List { folder } => list(&folder, now),
        People::Log { folder, last, verify } => log(&folder, last, verify),
    }
}

/// What lies beside the journal, and the initials of somebody of this laboratory.
fn known(folder: &Folder, typed: &str) -> Result<(Access, String), Failure> {
    let view = LaboratoryView::open(&folder.place()?)?;
    let code = PersonCode::from(typed.trim().to_uppercase());
    if !view.lab().people.contains_key(&code) {
        let codes = view.lab().people.keys().map(PersonCode::as_str);
        return Err(super::unknown("nobody here has the initials", typed.trim(), codes));
    }
    Ok((opened(folder)?, code.to_string()))
}

fn shown(person: &str, code: &Code) -> Answer {
    let text = format!(
        "{code}\n\nThis is the code for {person}. It is shown this once and holds for a day. At /account/open \
         of the page {person} opens the account with it, and with a pass phrase of their own."
    );
    Answer::new(text, json!({ "person": person, "code": code.to_string() }))
}

fn lasting(
    folder: &Folder,
    idle_hours: Option<i64>,
    whole_hours: Option<i64>,
    now: Timestamp,
) -> Result<Answer, Failure> {
    LaboratoryView::open(&folder.place()?)?;
    let access = opened(folder)?;
    let kept = access.lasting().map_err(failure)?;
    let hours = |typed: Option<i64>, kept| typed.map_or(kept, SignedDuration::from_hours);
    let wanted =
        Lasting { idle: hours(idle_hours, kept.idle), whole: hours(whole_hours, kept.whole) };
    if wanted != kept {
        access.set_lasting(wanted, AT_THE_MACHINE, now).map_err(failure)?;
    }
    let (idle, whole) = (wanted.idle.as_hours(), wanted.whole.as_hours());
    let text =
        format!("a session ends {idle} h after the last use, and {whole} h after its beginning");
    Ok(Answer::new(text, json!({ "idle_hours": idle, "whole_hours": whole })))
}

fn list(folder: &Folder, now: Timestamp) -> Result<Answer, Failure> {
    let view = LaboratoryView::open(&folder.place()?)?;
    let access = opened(folder)?;
    let (accounts, sessions) =
        (access.accounts().map_err(failure)?, access.sessions(now).map_err(failure)?);
    let day = |at: Timestamp| view.lab().local(at).strftime("%Y-%m-%d %H:%M").to_string();
    let links = access.links().map_err(failure)?;
    let (mut text, mut passkeys) = (String::new(), Vec::new());
    for account in &accounts {
        let owner = if account.is_owner { ", owner" } else { "" };
        text.push_str(&format!("{}  {}{owner}\n", account.person, account.standing(now)));
        let own = access.passkeys(&account.person).map_err(failure)?;
        for passkey in &own {
            text.push_str(&format!(
                "      passkey {}, “{}”, for {}\n",
                passkey.number, passkey.name, passkey.site
            ));
        }
        passkeys.extend(own);
        for link in links.iter().filter(|link| link.person == account.person) {
            text.push_str(&format!("      is {} of {}\n", link.subject, link.issuer));
        }
        for session in sessions.iter().filter(|session| session.person == account.person) {
            text.push_str(&format!(
                "      session {}, since {}, last used {}, from {}\n",
                session.number,
                day(session.began_at),
                day(session.seen_at),
                session.address
            ));
        }
    }
    if accounts.is_empty() {
        text.push_str("nobody has an account, so nobody has to prove who they are\n");
    }
    let document = json!({
        "accounts": accounts,
        "passkeys": passkeys,
        "links": links,
        "sessions": sessions,
    });
    Ok(Answer::new(text, document))
}

fn log(folder: &Folder, last: usize, verify: bool) -> Result<Answer, Failure> {
    LaboratoryView::open(&folder.place()?)?;
    let access = opened(folder)?;
    let events = access.events(last).map_err(failure)?;
    let mut text = String::new();
    for event in &events {
        let who = if event.person.is_empty() { "–" } else { &event.person };
        let more = [("", &event.about), ("from ", &event.address)];
        let more = more.iter().filter(|(_, said)| !said.is_empty());
        let more: String = more.map(|(before, said)| format!("; {before}{said}")).collect();
        text.push_str(&format!(
            "{}  {}  {who}  {}{more}\n",
            event.number,
            event.at,
            event.in_words()
        ));
    }
    if events.is_empty() {
        text.push_str("nothing was written yet\n");
    }
    let mut document = json!({ "events": events });
    let mut is_no = false;
    if verify {
        let verified = access.verify_log().map_err(failure)?;
        is_no = verified.is_err();
        match verified {
            Ok(entries) => {
                text.push_str(&format!("all {entries} entries are as they were written\n"));
            }
            Err(place) => text.push_str(&format!("entry {place} is not as it was written\n")),
        }
        document["intact"] = json!(verified.is_ok());
        document["broken_at"] = json!(verified.err());
    }
    Ok(Answer { is_no, ..Answer::new(text, document) })
}
