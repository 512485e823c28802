//! The way back: a backup looked through, restored whole, or as the laboratory stood at an earlier
//! moment.

use super::{BackupError, FILES, Manifest, backups, faults_of, journal_of, signatures_until};
use crate::clock::Clock;
use crate::folder::Folder;
use crate::open::OpenLaboratory;
use crate::pack::{
    METHODS, PackError, SIGNATURES, built, copy_methods, fault, looked_through, refill, write,
};
use flate2::read::MultiGzDecoder;
use jiff::Timestamp;
use serde::{Deserialize, Serialize};
use std::fs::File;
use std::io::BufReader;
use std::path::{Path, PathBuf};
use stonewear_journal::{EntryRef, Hash, Head, SqliteStore, Store};

/// What says in a laboratory's folder that it was restored.
const RETURNED: &str = "returned.json";

/// How far a journal is restored.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Until {
    /// All of it.
    End,
    /// Up to this place.
    Position(u64),
    /// Up to the first fact that was recorded later than this.
    Instant(Timestamp),
}

impl Until {
    pub(crate) fn is_passed(self, entry: &EntryRef<'_>) -> bool {
        match self {
            Self::End => false,
            Self::Position(last) => entry.position > last,
            Self::Instant(last) => entry.at.timestamp() > last,
        }
    }
}

/// A laboratory that was restored.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Returned {
    /// The backup, by its folder.
    pub from: PathBuf,
    /// When that backup was made.
    pub backup_at: Timestamp,
    /// When it was restored.
    pub at: Timestamp,
    /// The last place that was restored.
    pub position: u64,
    /// The hash there.
    pub head: Hash,
    /// The last place of the backup: with a later one, facts were left out on purpose.
    pub whole: u64,
    /// Files that facts name and that the backup lacks, in words.
    #[serde(default)]
    pub lacking: Vec<String>,
}

/// A backup that was looked through.
#[derive(Debug, Clone)]
pub struct Checked {
    /// What it says of itself.
    pub manifest: Manifest,
    /// Facts that were restored and replayed.
    pub facts: u64,
    /// Files that facts name and that are there.
    pub files: usize,
    /// What is wrong with it, in words; nothing if all is well.
    pub wrong: Vec<String>,
}

/// How the laboratory in a folder came to be there, if it was restored.
pub fn returned(dir: &Path) -> Option<Returned> {
    serde_json::from_slice(&std::fs::read(dir.join(RETURNED)).ok()?).ok()
}

/// Restores a laboratory from a folder of backups into `dir`, which must be empty or not there; from
/// the newest, or from the one that is named. What stood later in the backup is left out where an
/// earlier end is asked for: it stays in the backup.
///
/// # Errors
/// When there is no such backup, it is not what was written, or something cannot be read or written.
pub fn restore(
    from: &Path,
    named: Option<&str>,
    dir: &Path,
    until: Until,
) -> Result<Returned, BackupError> {
    let manifest = chosen(from, named)?;
    let backup = from.join(&manifest.folder);
    let journal = journal_of(&backup);
    let reader = || -> Result<_, PackError> {
        let file = File::open(&journal).map_err(fault(&journal))?;
        Ok(BufReader::new(MultiGzDecoder::new(BufReader::new(file))))
    };
    let (lab, head) = looked_through(reader()?, &journal, until)?;
    reaches(&manifest, head, until)?;
    let returned = built(dir, |into| {
        let folder = Folder::new(into);
        let mut store = SqliteStore::create(&folder.journal())?;
        let mut lacking = Vec::new();
        for file in lab.kept_files() {
            match std::fs::read(from.join(FILES).join(&file.sha256)) {
                Ok(bytes) if Hash::of(&bytes).to_string() == file.sha256 => {
                    store.put_blob(&bytes)?;
                }
                Ok(_) => lacking.push(format!("{} (“{}”) was changed", file.sha256, file.name)),
                Err(error) => {
                    lacking.push(format!("{} (“{}”): {error}", file.sha256, file.name));
                }
            }
        }
        let refilled = refill(&mut store, reader()?, &journal, until)?;
        if refilled != head {
            let what = "the file changed while it was read".to_owned();
            return Err(PackError::Broken { path: journal.clone(), what });
        }
        let signatures = signatures_until(&backup, head.position)?;
        if !signatures.is_empty() {
            write(&into.join(SIGNATURES), signatures.as_bytes())?;
        }
        copy_methods(&backup.join(METHODS), &folder.methods())?;
        let returned = Returned {
            from: backup.clone(),
            backup_at: manifest.at,
            at: Clock::Machine.now(),
            position: head.position,
            head: head.hash,
            whole: manifest.position,
            lacking,
        };
        let text = serde_json::to_string_pretty(&returned).unwrap_or_default();
        write(&into.join(RETURNED), text.as_bytes())?;
        Ok(returned)
    })?;
    Ok(returned)
}

fn chosen(from: &Path, named: Option<&str>) -> Result<Manifest, BackupError> {
    let all = backups(from)?;
    let found = match named {
        None => all.last(),
        Some(named) => all.iter().find(|one| one.folder == named),
    };
    found.cloned().ok_or_else(|| {
        let names: Vec<&str> = all.iter().map(|one| one.folder.as_str()).collect();
        let what = match named {
            Some(named) if !names.is_empty() => {
                format!(
                    "there is no backup {named} in {}; there are {}",
                    from.display(),
                    names.join(", ")
                )
            }
            _ => format!("there is no whole backup in {}", from.display()),
        };
        BackupError::Wrong(what)
    })
}

/// Holds that what was read is what the backup says of itself, and what was asked for.
fn reaches(manifest: &Manifest, head: Head, until: Until) -> Result<(), BackupError> {
    match until {
        Until::Position(wanted) if wanted > manifest.position || wanted == 0 => {
            Err(BackupError::Wrong(format!(
                "the backup holds entries 1 to {}; {wanted} is not among them",
                manifest.position
            )))
        }
        _ if head.position == 0 => {
            Err(BackupError::Wrong("nothing had been recorded by then".to_owned()))
        }
        Until::End if (head.position, head.hash) != (manifest.position, manifest.head) => {
            Err(BackupError::Wrong(format!(
                "the backup says that it ends with entry {} ({}), but its journal ends with entry {} \
                 ({}): take an earlier backup",
                manifest.position, manifest.head, head.position, head.hash
            )))
        }
        _ => Ok(()),
    }
}

/// Restores a backup into a folder of its own, replays it, and compares: the newest, or the one that
/// is named. Nothing is left behind.
///
/// # Errors
/// When there is no such backup, or no room to restore it. What is wrong with it is an answer.
pub fn check_backup(from: &Path, named: Option<&str>) -> Result<Checked, BackupError> {
    let manifest = chosen(from, named)?;
    let place = tempfile::tempdir().map_err(fault(&std::env::temp_dir()))?;
    let dir = place.path().join("laboratory");
    let mut checked = Checked { manifest, facts: 0, files: 0, wrong: Vec::new() };
    let folder = checked.manifest.folder.clone();
    let returned = match restore(from, Some(&folder), &dir, Until::End) {
        Ok(returned) => returned,
        Err(BackupError::Pack(PackError::File { path, source }))
            if path.starts_with(place.path()) =>
        {
            return Err(PackError::File { path, source }.into());
        }
        Err(error) => {
            checked.wrong.push(error.to_string());
            return Ok(checked);
        }
    };
    checked.wrong.extend(returned.lacking.iter().map(|one| format!("a file is lacking: {one}")));
    match OpenLaboratory::open(&dir) {
        Ok(laboratory) => {
            checked.facts = laboratory.head().position;
            let there = laboratory.lab().kept_files().len();
            checked.files = there.saturating_sub(returned.lacking.len());
            if laboratory.head().hash != checked.manifest.head {
                checked.wrong.push("its head is not the one that it says".to_owned());
            }
        }
        Err(error) => checked.wrong.push(error.to_string()),
    }
    checked.wrong.extend(faults_of(&dir)?);
    Ok(checked)
}
