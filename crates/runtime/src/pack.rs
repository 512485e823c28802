//! A whole laboratory in one folder of plain files, to be kept, sent or moved, and made into a
//! laboratory again without losing a byte of its journal.
//!
//! | file | what it is |
//! | --- | --- |
//! | `journal.jsonl` | every fact, one a line, as `FORMAT.md` says |
//! | `files/` | every attached, imported or issued file under its SHA-256, as the facts name it |
//! | `methods/` | the method files that the laboratory added itself |
//! | `signatures.jsonl` | what the laboratory's key has signed, where it has signed |
//! | `FORMAT.md`, `verify_journal.py` | how to read the journal, and how to verify it without this program |

use crate::backup::Until;
use crate::error::OpenError;
use crate::folder::Folder;
use crate::place::Place;
use crate::replay::recorded;
use crate::view::LaboratoryView;
use std::fs::File;
use std::io::{BufRead, BufReader, BufWriter, ErrorKind, Write};
use std::ops::ControlFlow;
use std::path::{Path, PathBuf};
use stonewear_journal::signature::Book;
use stonewear_journal::{Draft, Hash, Head, SqliteStore, Store, StoreError};
use stonewear_lab::Lab;
use stonewear_lab::state::KeptFile;
use thiserror::Error;

const JOURNAL: &str = "journal.jsonl";
pub(crate) const SIGNATURES: &str = "signatures.jsonl";
const FILES: &str = "files";
pub(crate) const METHODS: &str = "methods";
/// What a pack carries so that it can be read without this program.
pub(crate) const EXPLAINED: [(&str, &str); 2] = [
    ("FORMAT.md", include_str!("../../../docs/journal-format.md")),
    ("verify_journal.py", include_str!("../../../docs/verify_journal.py")),
];
/// Facts appended in one transaction: few enough for little memory, many enough for few waits.
const BATCH: usize = 1000;

/// What was packed or unpacked.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Packed {
    /// How many facts.
    pub facts: u64,
    /// Hash of the last of them.
    pub head: Hash,
    /// How many files that facts name.
    pub files: usize,
    /// How many method files of the laboratory's own.
    pub methods: usize,
}

/// Why a laboratory was not packed or unpacked. Nothing is left half done.
#[derive(Debug, Error)]
pub enum PackError {
    /// The laboratory cannot be opened, or is damaged.
    #[error(transparent)]
    Open(#[from] OpenError),
    /// The journal of the pack is not what was written.
    #[error("{}: {what}; nothing was unpacked", path.display())]
    Broken {
        /// The file.
        path: PathBuf,
        /// Where and how.
        what: String,
    },
    /// A file that a fact names is not in the pack, or is another.
    #[error("the file “{name}”, which entry {position} names, {what}: look at {}", path.display())]
    Attached {
        /// What it is called.
        name: String,
        /// The fact that names it.
        position: u64,
        /// What is wrong.
        what: &'static str,
        /// Where it should be.
        path: PathBuf,
    },
    /// Something stands where the result should go.
    #[error("{} is there already and not empty; name a folder that is empty or not there", .0.display())]
    NotEmpty(PathBuf),
    /// A file cannot be read or written.
    #[error("{}: {source}", path.display())]
    File {
        /// The file.
        path: PathBuf,
        /// What the system says.
        source: std::io::Error,
    },
}

impl From<StoreError> for PackError {
    fn from(error: StoreError) -> Self {
        Self::Open(error.into())
    }
}

pub(crate) fn fault(path: &Path) -> impl Fn(std::io::Error) -> PackError {
    let path = path.to_owned();
    move |source| PackError::File { path: path.clone(), source }
}

/// Writes a laboratory into the folder `into`, which must be empty or not there.
///
/// # Errors
/// When the laboratory cannot be read or is damaged, or the folder cannot be written.
pub fn pack(place: impl Into<Place>, into: &Path) -> Result<Packed, PackError> {
    let place = place.into();
    let dir = place.folder();
    let view = LaboratoryView::open(&place)?;
    built(into, |into| {
        let path = into.join(JOURNAL);
        let mut out = BufWriter::new(File::create(&path).map_err(fault(&path))?);
        let verification = crate::view::export(&place, &mut out)?;
        // What is on the disk may be sent away at once.
        out.into_inner()
            .map_err(std::io::IntoInnerError::into_error)
            .and_then(|file| file.sync_all())
            .map_err(fault(&path))?;
        for (name, text) in EXPLAINED {
            write(&into.join(name), text.as_bytes())?;
        }
        let signatures = Book::in_folder(dir).text().unwrap_or_default();
        if !signatures.is_empty() {
            write(&into.join(SIGNATURES), signatures.as_bytes())?;
        }
        let kept = view.lab().kept_files();
        let files = into.join(FILES);
        for one in &kept {
            write(&files.join(&one.sha256), &view.kept(one)?)?;
        }
        let methods = copy_methods(&Folder::new(dir).methods(), &into.join(METHODS))?;
        Ok(packed(verification.head, kept.len(), methods))
    })
}

/// Makes the laboratory in the pack `from` stand in `dir`, which must be empty or not there. The
/// journal is the same, hash for hash.
///
/// All of the pack is looked at before anything is written: the chain, that every fact is known to
/// this version of the program, and every file that a fact names.
///
/// # Errors
/// When the pack is not what was written, with the place; or something cannot be read or written.
pub fn unpack(from: &Path, dir: &Path) -> Result<Packed, PackError> {
    let journal = from.join(JOURNAL);
    let reader = || File::open(&journal).map(BufReader::new).map_err(fault(&journal));
    let (lab, expected) = looked_through(reader()?, &journal, Until::End)?;
    let kept = lab.kept_files();
    let files = from.join(FILES);
    for one in &kept {
        let path = files.join(&one.sha256);
        match std::fs::read(&path) {
            Ok(bytes) if Hash::of(&bytes).to_string() == one.sha256 => {}
            Ok(_) => return Err(wrong(one, "is not what the fact names", path)),
            Err(error) if error.kind() == ErrorKind::NotFound => return Err(missing(one, path)),
            Err(source) => return Err(PackError::File { path, source }),
        }
    }
    built(dir, |into| {
        let folder = Folder::new(into);
        let mut store = SqliteStore::create(&folder.journal())?;
        for one in &kept {
            let path = files.join(&one.sha256);
            store.put_blob(&std::fs::read(&path).map_err(fault(&path))?)?;
        }
        let head = refill(&mut store, reader()?, &journal, Until::End)?;
        if head != expected {
            let what = "the file changed while it was read".to_owned();
            return Err(PackError::Broken { path: journal.clone(), what });
        }
        let signatures = from.join(SIGNATURES);
        if signatures.exists() {
            let text = std::fs::read(&signatures).map_err(fault(&signatures))?;
            write(&into.join(SIGNATURES), &text)?;
        }
        let methods = copy_methods(&from.join(METHODS), &folder.methods())?;
        Ok(packed(expected, kept.len(), methods))
    })
}

fn wrong(file: &KeptFile, what: &'static str, path: PathBuf) -> PackError {
    PackError::Attached { name: file.name.clone(), position: file.position, what, path }
}

fn missing(file: &KeptFile, path: PathBuf) -> PackError {
    wrong(file, "is missing", path)
}

fn packed(head: Head, files: usize, methods: usize) -> Packed {
    Packed { facts: head.position, head: head.hash, files, methods }
}

/// Verifies a journal file as far as it is wanted, and folds it: the laboratory, and where it ends.
pub(crate) fn looked_through(
    reader: impl BufRead,
    path: &Path,
    until: Until,
) -> Result<(Lab, Head), PackError> {
    let mut lab = Lab::new();
    let mut unknown = None;
    let mut head = Head::GENESIS;
    let verification = stonewear_journal::read_export(reader, &mut |entry| {
        if until.is_passed(&entry) {
            return ControlFlow::Break(());
        }
        match recorded(&entry) {
            Ok(recorded) => {
                head = Head { position: entry.position, hash: entry.hash };
                lab.apply(&recorded);
                ControlFlow::Continue(())
            }
            Err(error) => {
                unknown = Some(format!(
                    "entry {}: the fact is of a kind that this version of the program does not know \
                     ({error}); use a later version",
                    entry.position
                ));
                ControlFlow::Break(())
            }
        }
    })
    .map_err(fault(path))?;
    match unknown.or_else(|| verification.what()) {
        Some(what) => Err(PackError::Broken { path: path.to_owned(), what }),
        None => Ok((lab, head)),
    }
}

/// Appends the entries of a journal file, as far as they are wanted, to an empty store.
pub(crate) fn refill(
    store: &mut SqliteStore,
    reader: impl BufRead,
    path: &Path,
    until: Until,
) -> Result<Head, PackError> {
    let mut head = Head::GENESIS;
    let mut batch = Vec::with_capacity(BATCH);
    let mut wrong = None;
    let mut append = |batch: &mut Vec<Draft>| -> Result<(), StoreError> {
        let entries = store.append(head, batch)?;
        if let Some(last) = entries.last() {
            head = Head { position: last.position, hash: last.hash };
        }
        batch.clear();
        Ok(())
    };
    let read = stonewear_journal::read_export(reader, &mut |entry| {
        if until.is_passed(&entry) {
            return ControlFlow::Break(());
        }
        // What was read as canonical JSON a moment ago is an object.
        let fact = serde_json::from_str(entry.fact.get()).unwrap_or_default();
        let (by, request) = (entry.by.into_owned(), entry.request.into_owned());
        batch.push(Draft { at: entry.at, by, request, fact });
        if batch.len() == BATCH
            && let Err(error) = append(&mut batch)
        {
            wrong = Some(error);
            return ControlFlow::Break(());
        }
        ControlFlow::Continue(())
    });
    // Whether it is still what was looked through is judged by its head.
    let _ = read.map_err(fault(path))?;
    match wrong {
        Some(error) => return Err(error.into()),
        None => append(&mut batch)?,
    }
    Ok(head)
}

/// Builds a folder beside its place and moves it there when it is whole, so that nothing is ever
/// seen half done.
pub(crate) fn built<T>(
    place: &Path,
    build: impl FnOnce(&Path) -> Result<T, PackError>,
) -> Result<T, PackError> {
    match std::fs::read_dir(place) {
        Ok(mut entries) => {
            if entries.next().is_some() {
                return Err(PackError::NotEmpty(place.to_owned()));
            }
            std::fs::remove_dir(place).map_err(fault(place))?;
        }
        Err(error) if error.kind() == ErrorKind::NotFound => {}
        Err(source) => return Err(PackError::File { path: place.to_owned(), source }),
    }
    let mut name = place.file_name().unwrap_or_default().to_owned();
    name.push(format!(".{}.partial", std::process::id()));
    let partial = place.with_file_name(name);
    std::fs::create_dir_all(&partial).map_err(fault(&partial))?;
    let outcome = build(&partial)
        .and_then(|done| std::fs::rename(&partial, place).map_err(fault(place)).map(|()| done));
    // The new name is on the disk, too, where the system can be asked for that.
    if let Some(Ok(parent)) = place.parent().map(File::open) {
        let _ = parent.sync_all();
    }
    if outcome.is_err() {
        // What stood in the way of building may stand in the way of tidying up, too.
        let _ = std::fs::remove_dir_all(&partial);
    }
    outcome
}

pub(crate) fn write(path: &Path, bytes: &[u8]) -> Result<(), PackError> {
    if let Some(parent) = path.parent() {
        std::fs::create_dir_all(parent).map_err(fault(parent))?;
    }
    File::create(path)
        .and_then(|mut file| file.write_all(bytes).and_then(|()| file.sync_all()))
        .map_err(fault(path))
}

/// Copies method files, and says how many.
pub(crate) fn copy_methods(from: &Path, into: &Path) -> Result<usize, PackError> {
    let entries = match std::fs::read_dir(from) {
        Ok(entries) => entries,
        Err(error) if error.kind() == ErrorKind::NotFound => return Ok(0),
        Err(source) => return Err(PackError::File { path: from.to_owned(), source }),
    };
    let mut copied = 0;
    for entry in entries {
        let path = entry.map_err(fault(from))?.path();
        if path.extension().is_some_and(|extension| extension == "toml")
            && let Some(name) = path.file_name()
        {
            write(&into.join(name), &std::fs::read(&path).map_err(fault(&path))?)?;
            copied += 1;
        }
    }
    Ok(copied)
}
