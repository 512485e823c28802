//! `stonewear backup`, `stonewear restore`: copies while serving, and the way back.

use crate::answer::{Answer, Failure};
use crate::arguments::Folder;
use jiff::SignedDuration;
use serde_json::json;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::time::Duration;
use stonewear_runtime::{
    BackedUp, BackupError, Clock, Manifest, Until, back_up, backups, check_backup,
    note_backup_trouble,
};

/// The shortest time between two backups by the clock.
const OFTEN: SignedDuration = SignedDuration::from_secs(1);

/// Copy the laboratory into a folder of backups, also while it is served. Exit status 1 when a file
/// that a fact names could not be copied.
#[derive(Debug, clap::Args)]
#[command(args_conflicts_with_subcommands = true, subcommand_negates_reqs = true)]
#[command(after_help = "\
Example:\n\
\x20 stonewear backup backups --keep 48\n\
\x20 stonewear backup check backups")]
pub(crate) struct Backup {
    #[command(subcommand)]
    verb: Option<Verb>,
    #[command(flatten)]
    folder: Folder,
    /// The folder of backups, on another disk.
    #[arg(value_name = "TO", required = true)]
    to: Option<PathBuf>,
    /// Keep so many backups, and remove the oldest beyond them; all when none is said.
    #[arg(long, value_name = "NUMBER")]
    keep: Option<usize>,
}

#[derive(Debug, clap::Subcommand)]
enum Verb {
    /// Restore a backup into a folder that is removed again, replay it, and compare. Exit status 1
    /// when something is wrong with it.
    #[command(after_help = "\
Example:\n\
\x20 stonewear backup check backups")]
    Check {
        /// The folder of backups.
        from: PathBuf,
        /// Which one, by its name; the newest when none is named.
        #[arg(long, value_name = "NAME")]
        backup: Option<String>,
    },
    /// List the backups in a folder.
    #[command(after_help = "\
Example:\n\
\x20 stonewear backup list backups")]
    List {
        /// The folder of backups.
        from: PathBuf,
    },
}

/// Restore a laboratory from a folder of backups, whole or as it stood at an earlier moment.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Example:\n\
\x20 stonewear restore backups --to laboratory\n\
\x20 stonewear restore backups --to as-it-stood --at 2026-11-24T10:41:07Z")]
pub(crate) struct Restore {
    /// The folder of backups.
    from: PathBuf,
    /// The folder to restore into, empty or not there.
    #[arg(long, value_name = "FOLDER")]
    to: PathBuf,
    /// Which backup, by its name; the newest when none is named.
    #[arg(long, value_name = "NAME")]
    backup: Option<String>,
    /// Only what was recorded up to this instant, in universal time.
    #[arg(long, value_name = "INSTANT", conflicts_with = "at_position")]
    at: Option<String>,
    /// Only up to this place in the journal.
    #[arg(long, value_name = "NUMBER")]
    at_position: Option<u64>,
}

/// How a database is backed up.
pub(super) const OF_A_DATABASE: &str = "a database is backed up by PostgreSQL's own means, pg_basebackup and \
    the archive of its log; `stonewear journal pull` makes a file of a journal in it, which can be backed up here";

pub(crate) fn run(asked: &Backup) -> Result<Answer, Failure> {
    match (&asked.verb, &asked.to) {
        (Some(Verb::Check { from, backup }), _) => check(from, backup.as_deref()),
        (Some(Verb::List { from }), _) => list(from),
        (None, Some(to)) => make(asked.folder.only_in_a_file(OF_A_DATABASE)?, to, asked.keep),
        (None, None) => Err(Failure::WrongInput("TO: name the folder of backups".to_owned())),
    }
}

fn make(dir: &Path, to: &Path, keep: Option<usize>) -> Result<Answer, Failure> {
    let done = back_up(dir, to, keep).map_err(failure)?;
    let BackedUp { manifest, is_new, new_files, lacking, removed } = &done;
    let path = to.join(&manifest.folder);
    let mut text = if *is_new {
        format!("backed up into {}: {}", path.display(), ends(manifest))
    } else {
        format!("nothing was recorded since {}: {}", path.display(), ends(manifest))
    };
    text.push_str(&format!("; files copied: {new_files}; old backups removed: {}", removed.len()));
    for one in lacking {
        text.push_str(&format!("\nNOT COPIED: {one}"));
    }
    let json = json!({
        "backup": path, "is_new": is_new, "position": manifest.position,
        "head": manifest.head.to_string(), "files_copied": new_files, "lacking": lacking,
        "removed": removed,
    });
    Ok(Answer { text, json, is_no: !lacking.is_empty() })
}

fn ends(manifest: &Manifest) -> String {
    format!("{} facts, head {}", manifest.position, manifest.head)
}

fn check(from: &Path, named: Option<&str>) -> Result<Answer, Failure> {
    let checked = check_backup(from, named).map_err(failure)?;
    let path = from.join(&checked.manifest.folder);
    let mut text = if checked.wrong.is_empty() {
        format!(
            "good: {} was restored and replayed: {} facts, {} files, head {}",
            path.display(),
            checked.facts,
            checked.files,
            checked.manifest.head
        )
    } else {
        format!("NOT GOOD: {}", path.display())
    };
    for one in &checked.wrong {
        text.push_str(&format!("\n{one}"));
    }
    let json = json!({
        "backup": path, "good": checked.wrong.is_empty(), "facts": checked.facts,
        "files": checked.files, "head": checked.manifest.head.to_string(), "wrong": checked.wrong,
    });
    Ok(Answer { text, json, is_no: !checked.wrong.is_empty() })
}

fn list(from: &Path) -> Result<Answer, Failure> {
    let all = backups(from).map_err(failure)?;
    let lines: Vec<String> =
        all.iter().map(|one| format!("{}  {}: {}", one.folder, one.name, ends(one))).collect();
    let text = if lines.is_empty() { "no whole backup".to_owned() } else { lines.join("\n") };
    let each = |one: &Manifest| json!({ "backup": one.folder, "manifest": one });
    Ok(Answer::new(text, json!({ "backups": all.iter().map(each).collect::<Vec<_>>() })))
}

pub(crate) fn restore(asked: &Restore) -> Result<Answer, Failure> {
    let until = match (&asked.at, asked.at_position) {
        (Some(at), _) => Until::Instant(at.parse().map_err(|_| {
            Failure::WrongInput(format!(
                "--at: “{at}” is no instant; write it like 2026-11-24T10:41:07Z"
            ))
        })?),
        (None, Some(position)) => Until::Position(position),
        (None, None) => Until::End,
    };
    let named = asked.backup.as_deref();
    let done = stonewear_runtime::restore(&asked.from, named, &asked.to, until).map_err(failure)?;
    let mut text = format!(
        "restored into {}: {} facts, head {}",
        asked.to.display(),
        done.position,
        done.head
    );
    if done.position < done.whole {
        text.push_str(&format!(
            "\nThis is the laboratory as it stood then: {} later facts of the backup are not in it. \
             They stay in the backup; do not go on with both.",
            done.whole - done.position
        ));
    }
    for one in &done.lacking {
        text.push_str(&format!("\nA FILE IS LACKING: {one}"));
    }
    text.push_str(
        "\nTokens, webhooks and the signing key are in no backup: put back your own copy of \
         access.sqlite and signing.key, or make them anew.",
    );
    let json = json!({
        "folder": asked.to, "position": done.position, "head": done.head.to_string(),
        "left_out": done.whole - done.position, "lacking": done.lacking,
    });
    Ok(Answer { text, json, is_no: !done.lacking.is_empty() })
}

fn failure(error: BackupError) -> Failure {
    match error {
        BackupError::Open(error) => error.into(),
        BackupError::Pack(error) => error.into(),
        BackupError::Wrong(what) => Failure::WrongInput(what),
        BackupError::Empty => Failure::Refused(error.to_string()),
    }
}

/// Backups by the clock, while the laboratory is served.
#[derive(Debug, clap::Args)]
pub(crate) struct Schedule {
    /// Make backups into this folder while serving; it should lie on another disk.
    #[arg(long, value_name = "FOLDER")]
    backup_to: Option<PathBuf>,
    /// How often, like 30m, 1h or 1d.
    #[arg(long, value_name = "TIME", default_value = "1h", requires = "backup_to")]
    backup_every: String,
    /// Keep so many backups, and remove the oldest beyond them.
    #[arg(long, value_name = "NUMBER", requires = "backup_to")]
    keep: Option<usize>,
}

impl Schedule {
    /// Begins to make backups of the laboratory in a folder, at once and then by the clock, until the
    /// program ends.
    pub(crate) fn begin(self, folder: &Folder) -> Result<(), Failure> {
        let Some(to) = self.backup_to else { return Ok(()) };
        let dir = folder.only_in_a_file(OF_A_DATABASE)?;
        let wrong = || {
            Failure::WrongInput(format!(
                "--backup-every: “{}” is no time; write it like 30m, 1h or 1d",
                self.backup_every
            ))
        };
        let days = self.backup_every.strip_suffix('d').and_then(|days| days.parse::<i64>().ok());
        let every = match days {
            Some(days) => days.checked_mul(24).map(SignedDuration::from_hours),
            None => self.backup_every.parse().ok(),
        };
        let every = every.filter(|every| *every >= OFTEN).ok_or_else(wrong)?;
        let every = Duration::try_from(every).map_err(|_| wrong())?;
        let (dir, keep) = (dir.to_owned(), self.keep);
        std::thread::spawn(move || {
            loop {
                one_by_the_clock(&dir, &to, keep);
                std::thread::sleep(every);
            }
        });
        Ok(())
    }
}

fn one_by_the_clock(dir: &Path, to: &Path, keep: Option<usize>) {
    match back_up(dir, to, keep) {
        Ok(done) => tracing::info!(
            position = done.manifest.position,
            new = done.is_new,
            lacking = done.lacking.len(),
            "backup made"
        ),
        // Nothing is founded yet: that is no trouble.
        Err(BackupError::Empty) => {}
        Err(error) => {
            let what = error.to_string();
            tracing::error!(trouble = what, "no backup was made");
            let _ = writeln!(std::io::stderr(), "stonewear: no backup was made: {what}");
            note_backup_trouble(dir, &what, Clock::Machine.now());
        }
    }
}
