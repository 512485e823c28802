//! A laboratory's folder: where its files are, and who has it open.

use crate::error::OpenError;
use std::fs::{File, OpenOptions, TryLockError};
use std::io::{Read, Seek, Write};
use std::path::{Path, PathBuf};
use stonewear_journal::StoreError;

/// The journal within the folder.
const JOURNAL: &str = "journal.sqlite";
/// The file whose lock says that a program works with the folder.
const LOCK: &str = "open.lock";
/// What is written, and removed, to see whether a disk that was full takes something again.
const TRIAL: &str = "room.trial";
/// How much.
const ROOM: usize = 64 * 1024;
/// The laboratory's own method files.
const METHODS: &str = "methods";

/// The paths of a laboratory's folder.
#[derive(Debug, Clone)]
pub(crate) struct Folder(PathBuf);

impl Folder {
    pub(crate) fn new(path: &Path) -> Self {
        Self(path.to_owned())
    }

    pub(crate) fn path(&self) -> &Path {
        &self.0
    }

    pub(crate) fn journal(&self) -> PathBuf {
        self.0.join(JOURNAL)
    }

    pub(crate) fn methods(&self) -> PathBuf {
        self.0.join(METHODS)
    }

    /// Makes the folder, if it is not there.
    pub(crate) fn create(&self) -> Result<(), OpenError> {
        std::fs::create_dir_all(&self.0).map_err(|source| self.fault(&self.0, source))
    }

    /// Takes the folder for this program alone. The lock is the system's and goes with the program,
    /// however it ends; the text in the file only says who holds it.
    ///
    /// `None` where nothing can be written in the folder, but a journal stands there: nobody works
    /// with it, and it can be read.
    pub(crate) fn lock(&self) -> Result<Option<File>, OpenError> {
        let path = self.0.join(LOCK);
        let mut options = OpenOptions::new();
        let opened = options.read(true).write(true).create(true).truncate(false).open(&path);
        let mut file = match opened {
            Ok(file) => file,
            Err(error) if takes_nothing(&error) && self.journal().exists() => return Ok(None),
            Err(source) => return Err(self.fault(&path, source)),
        };
        match file.try_lock() {
            Ok(()) => {}
            Err(TryLockError::WouldBlock) => {
                let mut holder = String::new();
                // Only a courtesy: without it the message is still right.
                let _ = file.read_to_string(&mut holder);
                let by =
                    if holder.is_empty() { String::new() } else { format!(" ({})", holder.trim()) };
                return Err(OpenError::InUse { folder: self.0.clone(), by });
            }
            Err(TryLockError::Error(source)) => return Err(self.fault(&path, source)),
        }
        let holder = format!("process {}\n", std::process::id());
        // Only a courtesy, too: on a full disk the lock holds without it.
        let _ = file
            .set_len(0)
            .and_then(|()| file.rewind())
            .and_then(|()| file.write_all(holder.as_bytes()));
        Ok(Some(file))
    }

    /// Whether the disk takes as much as some entries need.
    ///
    /// # Errors
    /// In the words that an entry would meet.
    pub(crate) fn has_room(&self) -> Result<(), StoreError> {
        let path = self.0.join(TRIAL);
        let written = File::create(&path)
            .and_then(|mut file| file.write_all(&[0; ROOM]).and_then(|()| file.sync_all()));
        let _ = std::fs::remove_file(&path);
        written.map_err(|error| match error.kind() {
            std::io::ErrorKind::StorageFull => StoreError::DiskFull,
            _ => StoreError::Failing(error.to_string()),
        })
    }

    fn fault(&self, path: &Path, source: std::io::Error) -> OpenError {
        OpenError::Folder { path: path.to_owned(), source }
    }
}

/// Whether an error says that the folder takes nothing new.
fn takes_nothing(error: &std::io::Error) -> bool {
    use std::io::ErrorKind::{PermissionDenied, QuotaExceeded, ReadOnlyFilesystem, StorageFull};
    matches!(error.kind(), PermissionDenied | ReadOnlyFilesystem | StorageFull | QuotaExceeded)
}

/// Reads the laboratory's own methods beside those that are built in.
pub(crate) fn methods(folder: &Folder) -> Result<Vec<stonewear_method::Method>, OpenError> {
    let mut methods = stonewear_method::library::built_in_methods();
    let own = folder.methods();
    if !own.is_dir() {
        return Ok(methods);
    }
    let fault = |source| OpenError::Folder { path: own.clone(), source };
    let mut paths: Vec<PathBuf> = std::fs::read_dir(&own)
        .map_err(fault)?
        .filter_map(|entry| entry.ok().map(|entry| entry.path()))
        .filter(|path| path.extension().is_some_and(|extension| extension == "toml"))
        .collect();
    paths.sort();
    for path in paths {
        let text = std::fs::read_to_string(&path)
            .map_err(|source| OpenError::Folder { path: path.clone(), source })?;
        let name = path.display().to_string();
        let method = stonewear_method::read(&name, &text)
            .map_err(|error| OpenError::MethodFile(error.to_string()))?;
        // A file of the laboratory takes the place of the built-in edition that it names.
        methods.retain(|known| known.key() != method.key());
        methods.push(method);
    }
    Ok(methods)
}
