//! When the laboratory signs how far its journal has come, and what its signatures vouch for.

use crate::end::EndNote;
use crate::error::OpenError;
use crate::folder::Folder;
use crate::open::OpenLaboratory;
use crate::place::Place;
use crate::replay::{self, Witnesses};
use crate::store::AnyStore;
use crate::view::{LaboratoryView, noted};
use std::collections::BTreeMap;
use std::io::BufReader;
use std::ops::ControlFlow;
use std::path::Path;
use std::sync::{Mutex, PoisonError};
use stonewear_journal::signature::{
    Book, Coverage, Ledger, Line, PublicKey, SignatureError, Stand, stamp,
};
use stonewear_journal::{Hash, Head, Instant, StoreError, Verification};
use stonewear_lab::PersonCode;
use stonewear_lab::fact::Right;

/// After so many facts the journal is signed anew.
const EVERY: u64 = 100;
/// Where outside time stamps are kept within the folder.
pub(crate) const STAMPS: &str = "stamps";

/// What was signed last, and what went wrong since.
#[derive(Debug)]
pub(crate) struct Signing {
    book: Book,
    stands: Mutex<SignatureStands>,
}

/// How the signatures of an open laboratory stand.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct SignatureStands {
    /// The last place that is signed; 0 when there is none.
    pub until: u64,
    /// When.
    pub at: Option<Instant>,
    /// The fingerprint of the key.
    pub key: Option<Hash>,
    /// Why signing did not go well; empty while it does.
    pub trouble: String,
}

impl Signing {
    pub(crate) fn in_folder(folder: &Path) -> Self {
        let book = Book::in_folder(folder);
        let stands = match book.last() {
            Ok(None) => SignatureStands::default(),
            Ok(Some(line)) => SignatureStands::of(&line),
            Err(error) => {
                SignatureStands { trouble: error.to_string(), ..SignatureStands::default() }
            }
        };
        Self { book, stands: Mutex::new(stands) }
    }

    pub(crate) fn stands(&self) -> SignatureStands {
        self.stands.lock().unwrap_or_else(PoisonError::into_inner).clone()
    }

    /// As they stand in the file: another program, a backup, may have signed meanwhile.
    fn read_again(&self) -> SignatureStands {
        let known = self.stands();
        match self.book.last() {
            Ok(Some(line)) if line.position >= known.until => {
                let read = SignatureStands { trouble: known.trouble, ..SignatureStands::of(&line) };
                self.note(read.clone());
                read
            }
            _ => known,
        }
    }

    fn note(&self, stands: SignatureStands) {
        *self.stands.lock().unwrap_or_else(PoisonError::into_inner) = stands;
    }
}

impl SignatureStands {
    fn of(line: &Line) -> Self {
        Self {
            until: line.position,
            at: Some(line.at),
            key: Some(line.key_behind()),
            trouble: String::new(),
        }
    }
}

impl OpenLaboratory {
    /// Signs how far the journal has come, unless that is signed already; whether anything was signed.
    /// What goes wrong stands in [`OpenLaboratory::signatures`], too: facts are kept all the same.
    ///
    /// # Errors
    /// When key or signatures cannot be read or written.
    pub fn sign(&self, why: &str) -> Result<bool, SignatureError> {
        let stands = self.signing.read_again();
        let first = self.first_hash().and_then(|hash| hash.parse().ok());
        let Some(laboratory) = first.filter(|_| self.head().position > stands.until) else {
            return Ok(false);
        };
        let stand = Stand { laboratory, head: self.head(), at: now() };
        match self.signing.book.sign(stand, why) {
            Ok(line) => {
                self.signing.note(SignatureStands::of(&line));
                Ok(true)
            }
            Err(error) => {
                self.signing.note(SignatureStands { trouble: error.to_string(), ..stands });
                Err(error)
            }
        }
    }

    /// Signs where it is time to: after enough facts, and at once when a paper left the house.
    pub(crate) fn sign_in_time(&self, paper_was_issued: bool) {
        let until = self.signing.stands().until;
        let is_time = self.head().position.saturating_sub(until) >= EVERY;
        let why = if paper_was_issued { "a paper was issued" } else { "facts" };
        if paper_was_issued || is_time {
            // What went wrong is shown where signatures are.
            let _ = self.sign(why);
        }
    }

    /// How the signatures stand.
    pub fn signatures(&self) -> SignatureStands {
        self.signing.read_again()
    }
}

/// Makes a new signing key for the laboratory in a folder; the old one vouches for it.
///
/// # Errors
/// When there is no laboratory, its journal is damaged, or a file cannot be read or written.
pub fn new_signing_key(place: impl Into<Place>, why: &str) -> Result<Line, SigningError> {
    let place = place.into();
    let stand = stand_of(&place)?;
    Ok(Book::in_folder(place.folder()).rotate(stand, why)?)
}

/// Signs how far the journal in a folder has come, also while another program serves it; the last
/// signature, where nothing was recorded since.
///
/// # Errors
/// As [`new_signing_key`].
pub fn sign_folder(place: impl Into<Place>, why: &str) -> Result<Line, SigningError> {
    let place = place.into();
    let stand = stand_of(&place)?;
    let book = Book::in_folder(place.folder());
    match book.last()? {
        Some(last) if last.head() == stand.head => Ok(last),
        _ => Ok(book.sign(stand, why)?),
    }
}

/// The key by which the laboratory in a folder signs; `None` until it has signed.
///
/// # Errors
/// When its file cannot be read.
pub fn public_key(dir: &Path) -> Result<Option<PublicKey>, SigningError> {
    Ok(Book::in_folder(dir).public_key()?)
}

/// Why nothing was signed.
#[derive(Debug, thiserror::Error)]
pub enum SigningError {
    /// The laboratory cannot be opened, or is damaged.
    #[error(transparent)]
    Open(#[from] OpenError),
    /// Key or signatures.
    #[error(transparent)]
    Signature(#[from] SignatureError),
    /// There is nothing that could be signed, stamped or taken over.
    #[error("{0}")]
    Nothing(String),
    /// Who asks may not.
    #[error("{0}")]
    MayNot(String),
    /// A file cannot be read or written.
    #[error("{}: {source}", path.display())]
    File {
        /// The file.
        path: std::path::PathBuf,
        /// What the system says.
        source: std::io::Error,
    },
}

fn stand_of(place: &Place) -> Result<Stand, SigningError> {
    let view = LaboratoryView::open(place)?;
    let store = view.store();
    let nothing = || SigningError::Nothing("nothing is recorded yet".to_owned());
    let hash = |position| -> Result<Hash, SigningError> {
        let hash = replay::hash_at(store, position).map_err(OpenError::from)?;
        hash.and_then(|hash| hash.parse().ok()).ok_or_else(nothing)
    };
    let position = view.lab().position;
    let (laboratory, hash) = (hash(1)?, hash(position)?);
    Ok(Stand { laboratory, head: Head { position, hash }, at: now() })
}

/// Signatures are made at the machine, whatever the calendar of the laboratory is.
fn now() -> Instant {
    Instant::from(crate::Clock::Machine.now())
}

/// Takes over that entries at the end are lost, so that the laboratory can go on from what is there:
/// the loss is signed and named for ever after, with who says so and why. Whoever may manage does.
///
/// # Errors
/// When who asks may not, another program has the folder open, nothing is missing, or something else is
/// wrong.
pub fn accept_end(dir: &Path, by: &PersonCode, reason: &str) -> Result<Line, SigningError> {
    let folder = Folder::new(dir);
    let _lock = folder.lock()?;
    let noted = noted(&Place::from(dir));
    let store = AnyStore::open_read_only(&Place::from(dir))?;
    let replayed = replay::replay(&store, &[]).map_err(OpenError::from)?;
    if let Some(damage) = replayed.damage {
        return Err(OpenError::Damaged(damage).into());
    }
    // By what is left of the journal: who had the right then.
    let people = &replayed.lab.people;
    if !people.get(by).is_some_and(|person| person.may(Right::Manage)) {
        let managers = people.values().filter(|person| person.may(Right::Manage));
        let names = stonewear_lab::words::listed(managers.map(|person| person.code.to_string()));
        return Err(SigningError::MayNot(format!(
            "{by} may not manage here, so not give up entries for lost; ask {names}"
        )));
    }
    let head = replayed.head;
    let until = noted.iter().map(|noted| noted.position).max().unwrap_or(0);
    if until <= head.position {
        return Err(SigningError::Nothing(format!(
            "nothing is missing: the journal ends with entry {}, as was noted",
            head.position
        )));
    }
    let first = replay::hash_at(&store, 1).map_err(OpenError::from)?;
    let laboratory = first.and_then(|hash| hash.parse().ok());
    let Some(laboratory) = laboratory else {
        return Err(SigningError::Nothing("no entry is left: return to a backup".to_owned()));
    };
    let stand = Stand { laboratory, head, at: now() };
    let line = Book::in_folder(dir).accept_loss(stand, until, &format!("{reason} ({by})"))?;
    let mut end = EndNote::in_folder(dir);
    end.replace(head).map_err(|source| SigningError::File { path: dir.to_owned(), source })?;
    Ok(line)
}

/// What became of looking at everything that a laboratory keeps.
#[derive(Debug)]
pub struct Verified {
    /// The chain, and its end as it was noted.
    pub journal: Verification,
    /// What the signatures vouch for.
    pub signatures: Coverage,
    /// How many files facts name.
    pub files: usize,
    /// What is wrong with them, and with the database around the chain.
    pub wrong: Vec<String>,
    /// Outside time stamps: the place they vouch for; or what is wrong with one.
    pub stamps: Vec<Result<u64, String>>,
}

impl Verified {
    /// Whether all is as it was written.
    pub fn is_good(&self) -> bool {
        self.journal.intact()
            && self.signatures.faults.is_empty()
            && self.wrong.is_empty()
            && self.stamps.iter().all(Result::is_ok)
    }
}

/// Hashes of a journal at the places that signatures speak of, gathered as it is read.
struct Heard {
    ledger: Ledger,
    wanted: std::collections::BTreeSet<u64>,
    hashes: BTreeMap<u64, Hash>,
}

impl Heard {
    fn of(ledger: Ledger) -> Self {
        let mut wanted = ledger.positions();
        wanted.insert(1);
        Self { ledger, wanted, hashes: BTreeMap::new() }
    }

    fn hear(&mut self, entry: Head) {
        if self.wanted.contains(&entry.position) {
            self.hashes.insert(entry.position, entry.hash);
        }
    }

    fn judged(&self, journal: &Verification, trusted: Option<&PublicKey>) -> Coverage {
        self.ledger.judged(&self.hashes, journal.head, trusted)
    }
}

/// Looks at everything that a laboratory keeps: chain, end, signatures, files that facts name, the
/// database. With `trusted`, only what that key or its successors signed counts.
///
/// # Errors
/// When there is none or it cannot be read; what is wrong is an answer, not an error.
pub fn verify_whole(
    place: impl Into<Place>,
    trusted: Option<&PublicKey>,
) -> Result<Verified, OpenError> {
    let place = place.into();
    let dir = place.folder();
    let noted = noted(&place);
    let ledger = ledger(dir)?;
    let store = AnyStore::open_read_only(&place)?;
    let mut heard = Heard::of(ledger);
    let mut witnesses = Witnesses::new(&noted);
    let mut journal =
        stonewear_journal::replay_read(&store, Head::GENESIS, &|_| (), &mut |head, ()| {
            heard.hear(head);
            witnesses.hear(head);
            ControlFlow::Continue(())
        })?;
    if journal.broken.is_none() {
        journal.broken = witnesses.against(journal.head);
    }
    let signatures = heard.judged(&journal, trusted);
    // A database that cannot be read through is wrong, too.
    let mut wrong = store.inspect().unwrap_or_else(|error| vec![error.to_string()]);
    let files = if journal.intact() { files_of(&place, &mut wrong)? } else { 0 };
    let stamps = stamps(dir, &heard.ledger);
    Ok(Verified { journal, signatures, files, wrong, stamps })
}

/// Looks at an exported journal and, where it is at hand, its file of signatures.
///
/// # Errors
/// When a file cannot be read; what is wrong is an answer, not an error.
pub fn verify_export_with(
    export: &Path,
    signatures: &Path,
    trusted: Option<&PublicKey>,
) -> Result<Verified, OpenError> {
    let fault = |path: &Path| {
        let path = path.to_owned();
        move |source| OpenError::Folder { path, source }
    };
    let text = std::fs::read_to_string(signatures).map_err(fault(signatures))?;
    let file = std::fs::File::open(export).map_err(fault(export))?;
    let mut heard = Heard::of(Ledger::read(&text));
    let journal = stonewear_journal::read_export(BufReader::new(file), &mut |entry| {
        heard.hear(entry.head());
        ControlFlow::Continue(())
    })
    .map_err(fault(export))?;
    let signatures = heard.judged(&journal, trusted);
    Ok(Verified { journal, signatures, files: 0, wrong: Vec::new(), stamps: Vec::new() })
}

pub(crate) fn ledger(dir: &Path) -> Result<Ledger, OpenError> {
    let text = Book::in_folder(dir).text().map_err(|error| OpenError::Folder {
        path: dir.to_owned(),
        source: std::io::Error::other(error.to_string()),
    })?;
    Ok(Ledger::read(&text))
}

/// Holds every file that a fact names against its hash; how many there are.
fn files_of(place: &Place, wrong: &mut Vec<String>) -> Result<usize, OpenError> {
    let view = LaboratoryView::open(place)?;
    let files = view.lab().kept_files();
    for file in &files {
        if let Err(error) = view.kept(file) {
            let said = error.to_string();
            if !wrong.contains(&said) {
                wrong.push(said);
            }
        }
    }
    Ok(files.len())
}

/// The request for an outside time stamp (RFC 3161) over the last signature, which is made first where
/// facts came since.
///
/// # Errors
/// As [`sign_folder`].
pub fn stamp_request(place: impl Into<Place>) -> Result<(u64, Vec<u8>), SigningError> {
    let place = place.into();
    let line = sign_folder(&place, "an outside time stamp")?;
    let (hash, _) = last_signature(place.folder())?;
    Ok((line.position, stamp::request(hash, crate::drawn_seed())))
}

/// Keeps the answer of a time-stamping authority beside the journal. It is looked at only as far as
/// that it grants a stamp of the last signature; the authority's own signature is not checked here.
///
/// # Errors
/// When it is no such answer, or cannot be kept.
pub fn keep_stamp(dir: &Path, answer: &[u8]) -> Result<u64, SigningError> {
    let (hash, head) = last_signature(dir)?;
    stamp::looks_right(answer, hash).map_err(|what| SigningError::Nothing(what.to_owned()))?;
    let folder = dir.join(STAMPS);
    let path = folder.join(format!("{:020}.tsr", head.position));
    std::fs::create_dir_all(&folder)
        .and_then(|()| std::fs::write(&path, answer))
        .map_err(|source| SigningError::File { path, source })?;
    Ok(head.position)
}

fn last_signature(dir: &Path) -> Result<(Hash, Head), SigningError> {
    let last = ledger(dir)?.hashes().pop();
    last.ok_or_else(|| SigningError::Nothing("nothing is signed yet".to_owned()))
}

fn stamps(dir: &Path, ledger: &Ledger) -> Vec<Result<u64, String>> {
    let Ok(entries) = std::fs::read_dir(dir.join(STAMPS)) else { return Vec::new() };
    let mut paths: Vec<_> = entries.flatten().map(|entry| entry.path()).collect();
    paths.sort();
    let signed = ledger.hashes();
    let look = |path: &Path| -> Result<u64, String> {
        let answer = std::fs::read(path).map_err(|error| error.to_string())?;
        let of = signed.iter().find(|(hash, _)| stamp::looks_right(&answer, *hash).is_ok());
        of.map(|(_, head)| head.position)
            .ok_or_else(|| format!("{} stamps none of the signatures", path.display()))
    };
    paths.iter().map(|path| look(path)).collect()
}

/// The hash at a place of a store, as a hash.
pub(crate) fn hash_at(store: &AnyStore, position: u64) -> Result<Option<Hash>, StoreError> {
    Ok(replay::hash_at(store, position)?.and_then(|hash| hash.parse().ok()))
}
