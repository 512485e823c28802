//! When the last backup was made, remembered in the laboratory's folder: whoever makes backups, by the
//! clock or by hand, the page knows.

use super::BackedUp;
use jiff::Timestamp;
use serde::{Deserialize, Serialize};
use std::path::{Path, PathBuf};

/// The file within the laboratory's folder.
const FILE: &str = "last-backup.json";

/// The last backup of a laboratory, and whether the last attempt went well.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct LastBackup {
    /// When a backup last stood complete; absent when there is none yet.
    #[serde(default)]
    pub at: Option<Timestamp>,
    /// How far it goes.
    #[serde(default)]
    pub position: u64,
    /// The folder of backups.
    #[serde(default)]
    pub to: PathBuf,
    /// Why the attempt after it did not go well; empty when it did.
    #[serde(default)]
    pub trouble: String,
    /// When that was.
    #[serde(default)]
    pub troubled_at: Option<Timestamp>,
}

/// What is remembered of backups in a laboratory's folder; `None` where none was ever made.
pub fn last_backup(dir: &Path) -> Option<LastBackup> {
    serde_json::from_slice(&std::fs::read(dir.join(FILE)).ok()?).ok()
}

pub(super) fn note(dir: &Path, to: &Path, done: &BackedUp, now: Timestamp) {
    let to = to.canonicalize().unwrap_or_else(|_| to.to_owned());
    let last = LastBackup {
        at: Some(now),
        position: done.manifest.position,
        to,
        trouble: done.lacking.join("; "),
        troubled_at: (!done.lacking.is_empty()).then_some(now),
    };
    remember(dir, &last);
}

/// Remembers that a backup did not go well; the last good one stays known.
pub fn note_backup_trouble(dir: &Path, trouble: &str, now: Timestamp) {
    let last = last_backup(dir).unwrap_or_default();
    remember(dir, &LastBackup { trouble: trouble.to_owned(), troubled_at: Some(now), ..last });
}

fn remember(dir: &Path, last: &LastBackup) {
    // On a disk that takes nothing the page says so itself.
    let partial = dir.join(format!("{FILE}.{}.partial", std::process::id()));
    let text = serde_json::to_string_pretty(last).unwrap_or_default();
    let _ = std::fs::write(&partial, text).and_then(|()| std::fs::rename(&partial, dir.join(FILE)));
}
