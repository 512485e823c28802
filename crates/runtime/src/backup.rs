//! Backups while the laboratory is served, and the way back from them, also to an earlier moment.
//!
//! A folder of backups holds one folder a backup, named by its moment, and `files/`, which they share:
//!
//! | file | what it is |
//! | --- | --- |
//! | `MOMENT/journal.jsonl.gz` | every fact, one a line, as `FORMAT.md` says; `gunzip` unpacks it |
//! | `MOMENT/signatures.jsonl` | what the laboratory's key has signed |
//! | `MOMENT/methods/` | the method files that the laboratory added itself |
//! | `MOMENT/backup.json` | place and hash of the last fact, when, by which version |
//! | `files/` | every attached, imported or issued file under its SHA-256, written once |
//!
//! What lets people and programs in (`access.sqlite`) and what signs (`signing.key`) is secret and never
//! in a backup.

mod returning;
mod schedule;

pub use returning::{Checked, Returned, Until, check_backup, restore, returned};
pub use schedule::{LastBackup, last_backup, note_backup_trouble};

use crate::clock::Clock;
use crate::error::OpenError;
use crate::folder::Folder;
use crate::pack::{self, EXPLAINED, METHODS, PackError, SIGNATURES, built, fault, write};
use crate::place::Place;
use crate::signing::sign_folder;
use crate::store::AnyStore;
use crate::view::LaboratoryView;
use flate2::Compression;
use flate2::write::GzEncoder;
use serde::{Deserialize, Serialize};
use std::fs::{File, OpenOptions, TryLockError};
use std::io::{BufWriter, ErrorKind};
use std::path::{Path, PathBuf};
use stonewear_journal::Hash;
use stonewear_journal::signature::Book;

const JOURNAL: &str = "journal.jsonl.gz";
const MANIFEST: &str = "backup.json";
const FILES: &str = "files";
/// Held while somebody writes into a folder of backups.
const LOCK: &str = "backup.lock";
/// The name of a backup: its moment, to be sorted by.
const MOMENT: &str = "%Y%m%dT%H%M%S.%3fZ";

/// What a backup says of itself.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Manifest {
    /// When it was made, by the clock of the machine.
    pub at: jiff::Timestamp,
    /// Hash of the last fact, as hexadecimal.
    pub head: Hash,
    /// Which laboratory: the hash of the first fact.
    pub laboratory: Hash,
    /// Its name then.
    pub name: String,
    /// The place of the last fact.
    pub position: u64,
    /// The version of the program that made it.
    pub program: String,
    /// The folder of the backup, within the folder of backups. Not part of the file.
    #[serde(skip)]
    pub folder: String,
}

/// A backup that was made.
#[derive(Debug, Clone)]
pub struct BackedUp {
    /// What it says of itself.
    pub manifest: Manifest,
    /// False when nothing had been recorded since the last backup, which stands as it is.
    pub is_new: bool,
    /// Files that were copied now.
    pub new_files: usize,
    /// Files that facts name and that are missing or were changed, in words: they are in no backup.
    pub lacking: Vec<String>,
    /// Old backups that were removed.
    pub removed: Vec<String>,
}

/// Why there is no backup, or no way back from one.
#[derive(Debug, thiserror::Error)]
pub enum BackupError {
    /// The laboratory cannot be opened, or is damaged.
    #[error(transparent)]
    Open(#[from] OpenError),
    /// A folder cannot be written, or what stands there is not what was written.
    #[error(transparent)]
    Pack(#[from] PackError),
    /// There is nothing to copy.
    #[error("nothing is recorded yet")]
    Empty,
    /// The folder of backups is not one of this laboratory, or goes further than it.
    #[error("{0}")]
    Wrong(String),
}

/// Copies the laboratory in `dir` into the folder of backups `to`, also while another program serves
/// it. Of the backups there, only the last `keep` are kept; all, when none is said.
///
/// # Errors
/// When the laboratory cannot be read or is damaged, or `to` cannot be written or is of another
/// laboratory. Earlier backups stand as they are then.
pub fn back_up(dir: &Path, to: &Path, keep: Option<usize>) -> Result<BackedUp, BackupError> {
    std::fs::create_dir_all(to).map_err(fault(to))?;
    let _lock = lock(to)?;
    remove_unfinished(to)?;
    let earlier = backups(to)?;
    let laboratory = first_hash(dir)?;
    // A backup carries a signature of its own; a key that cannot be read is told of elsewhere.
    let _ = sign_folder(dir, "a backup");
    let position = LaboratoryView::open(dir)?.lab().position;
    let at = Clock::Machine.now();
    let last = earlier.last().cloned();
    if let Some(last) = &last {
        belongs(dir, to, last, laboratory)?;
    }
    let done = match last {
        Some(last) if last.position == position => {
            let (new_files, lacking) = copy_files(dir, to)?;
            BackedUp { manifest: last, is_new: false, new_files, lacking, removed: Vec::new() }
        }
        _ => {
            let name = at.strftime(MOMENT).to_string();
            let manifest = built(&to.join(&name), |into| write_backup(dir, into, at, laboratory))?;
            // Behind the journal, so that every file that it names is among them.
            let (new_files, lacking) = copy_files(dir, to)?;
            let manifest = Manifest { folder: name, ..manifest };
            let removed = remove_old(to, &earlier, keep)?;
            BackedUp { manifest, is_new: true, new_files, lacking, removed }
        }
    };
    schedule::note(dir, to, &done, Clock::Machine.now());
    Ok(done)
}

/// The backups in a folder, oldest first. What is not whole is none.
///
/// # Errors
/// When the folder cannot be read.
pub fn backups(to: &Path) -> Result<Vec<Manifest>, BackupError> {
    let entries = std::fs::read_dir(to).map_err(fault(to))?;
    let mut found: Vec<Manifest> = entries
        .flatten()
        .filter_map(|entry| {
            let text = std::fs::read(entry.path().join(MANIFEST)).ok()?;
            let manifest: Manifest = serde_json::from_slice(&text).ok()?;
            let folder = entry.file_name().into_string().ok()?;
            Some(Manifest { folder, ..manifest })
        })
        .filter(|manifest| !manifest.folder.ends_with(".partial"))
        .collect();
    found.sort_by_key(|one| (one.position, one.at));
    Ok(found)
}

fn lock(to: &Path) -> Result<File, BackupError> {
    let path = to.join(LOCK);
    let mut options = OpenOptions::new();
    let file = options.write(true).create(true).truncate(false).open(&path);
    let file = file.map_err(fault(&path))?;
    match file.try_lock() {
        Ok(()) => Ok(file),
        Err(TryLockError::WouldBlock) => Err(BackupError::Wrong(format!(
            "another program is writing a backup into {}; let it finish",
            to.display()
        ))),
        Err(TryLockError::Error(source)) => Err(PackError::File { path, source }.into()),
    }
}

fn first_hash(dir: &Path) -> Result<Hash, BackupError> {
    let first = crate::signing::hash_at(&AnyStore::open_read_only(&Place::from(dir))?, 1)
        .map_err(OpenError::from)?;
    first.ok_or(BackupError::Empty)
}

/// Holds that the last backup is of this very journal: then the new one goes on where it ended.
fn belongs(dir: &Path, to: &Path, last: &Manifest, laboratory: Hash) -> Result<(), BackupError> {
    if last.laboratory != laboratory {
        return Err(BackupError::Wrong(format!(
            "{} holds backups of another laboratory, {}; name another folder",
            to.display(),
            last.name
        )));
    }
    let there =
        crate::signing::hash_at(&AnyStore::open_read_only(&Place::from(dir))?, last.position)
            .map_err(OpenError::from)?;
    match there {
        Some(hash) if hash == last.head => Ok(()),
        Some(_) => Err(BackupError::Wrong(format!(
            "the journal is not the one that was backed up at {}: entry {} or one before it is \
             another; keep both and find out why before anything else, and name another folder \
             for new backups",
            last.at, last.position
        ))),
        None => Err(BackupError::Wrong(format!(
            "the backup of {} goes up to entry {}, and this journal ends before it: its end is lost, \
             or it was returned to an earlier moment; keep both, and name another folder for new \
             backups",
            last.at, last.position
        ))),
    }
}

fn write_backup(
    dir: &Path,
    into: &Path,
    at: jiff::Timestamp,
    laboratory: Hash,
) -> Result<Manifest, PackError> {
    let path = into.join(JOURNAL);
    let file = File::create(&path).map_err(fault(&path))?;
    let mut packed = GzEncoder::new(BufWriter::new(file), Compression::default());
    let verification = crate::view::export(dir, &mut packed)?;
    if let Some(what) = verification.what() {
        return Err(PackError::Broken { path: dir.to_owned(), what });
    }
    packed
        .finish()
        .and_then(|out| out.into_inner().map_err(std::io::IntoInnerError::into_error))
        .and_then(|file| file.sync_all())
        .map_err(fault(&path))?;
    let signatures = Book::in_folder(dir).text().unwrap_or_default();
    write(&into.join(SIGNATURES), signatures.as_bytes())?;
    for (name, text) in EXPLAINED {
        write(&into.join(name), text.as_bytes())?;
    }
    pack::copy_methods(&Folder::new(dir).methods(), &into.join(METHODS))?;
    let view = LaboratoryView::open(dir)?;
    let manifest = Manifest {
        at,
        head: verification.head.hash,
        laboratory,
        name: view.lab().identity.as_ref().map(|one| one.name.clone()).unwrap_or_default(),
        position: verification.head.position,
        program: env!("CARGO_PKG_VERSION").to_owned(),
        folder: String::new(),
    };
    // Last: a folder with it is a whole backup.
    let text = serde_json::to_string_pretty(&manifest).unwrap_or_default();
    write(&into.join(MANIFEST), text.as_bytes())?;
    Ok(manifest)
}

/// Copies every file that a fact names and that no backup has yet: how many, and which are lacking.
fn copy_files(dir: &Path, to: &Path) -> Result<(usize, Vec<String>), BackupError> {
    let view = LaboratoryView::open(dir)?;
    let folder = to.join(FILES);
    let (mut copied, mut lacking) = (0, Vec::new());
    for file in view.lab().kept_files() {
        let path = folder.join(&file.sha256);
        if path.exists() {
            continue;
        }
        match view.kept(&file) {
            Ok(bytes) => {
                let partial = folder.join(format!("{}.partial", file.sha256));
                write(&partial, &bytes)?;
                std::fs::rename(&partial, &path).map_err(fault(&path))?;
                copied += 1;
            }
            Err(error) => lacking.push(error.to_string()),
        }
    }
    Ok((copied, lacking))
}

/// Removes what a program that was killed has left.
fn remove_unfinished(to: &Path) -> Result<(), BackupError> {
    for entry in std::fs::read_dir(to).map_err(fault(to))?.flatten() {
        if entry.file_name().to_string_lossy().ends_with(".partial") {
            std::fs::remove_dir_all(entry.path()).map_err(fault(&entry.path()))?;
        }
    }
    Ok(())
}

/// Removes the oldest backups, so that with the new one `keep` are left. Files stay: as nothing is
/// ever taken out of a journal, the later backups name them all.
fn remove_old(
    to: &Path,
    earlier: &[Manifest],
    keep: Option<usize>,
) -> Result<Vec<String>, BackupError> {
    let Some(keep) = keep else { return Ok(Vec::new()) };
    let too_many = (earlier.len() + 1).saturating_sub(keep.max(1));
    let mut removed = Vec::new();
    for old in &earlier[..too_many.min(earlier.len())] {
        let path = to.join(&old.folder);
        // No longer whole from this moment on, should the program be killed meanwhile.
        let gone =
            std::fs::remove_file(path.join(MANIFEST)).and_then(|()| std::fs::remove_dir_all(&path));
        match gone {
            Err(error) if error.kind() != ErrorKind::NotFound => {
                return Err(PackError::File { path, source: error }.into());
            }
            _ => removed.push(old.folder.clone()),
        }
    }
    Ok(removed)
}

/// The signatures of a backup, up to a place: they are in the order of what they speak of. A line that
/// cannot be read comes along: whoever verifies is to see it.
fn signatures_until(backup: &Path, position: u64) -> Result<String, PackError> {
    let path = backup.join(SIGNATURES);
    let bytes = std::fs::read(&path).map_err(fault(&path))?;
    let is_later = |line: &str| {
        let line: Option<stonewear_journal::signature::Line> = serde_json::from_str(line).ok();
        line.is_some_and(|line| line.position > position)
    };
    let text = String::from_utf8_lossy(&bytes);
    Ok(text.split_inclusive('\n').take_while(|line| !is_later(line)).collect())
}

/// Where a backup's parts lie.
fn journal_of(backup: &Path) -> PathBuf {
    backup.join(JOURNAL)
}

/// What speaks against the signatures of a laboratory.
fn faults_of(dir: &Path) -> Result<Vec<String>, OpenError> {
    Ok(crate::signing::verify_whole(dir, None)?.signatures.faults)
}
