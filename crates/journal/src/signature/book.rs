//! The file of signatures in a laboratory's folder, and the key beside it. Several programs may sign:
//! the one that serves, a backup. Each holds the file while it adds its line.

use super::line::genesis;
use super::{Kind, Line, PublicKey, SecretKey};
use crate::hash::Hash;
use crate::instant::Instant;
use crate::store::Head;
use std::fs::{File, OpenOptions};
use std::io::{ErrorKind, Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};

/// The signatures.
const FILE: &str = "signatures.jsonl";
/// The key that signs. It is never part of an export or a backup.
const KEY: &str = "signing.key";
/// More than any line takes; the reason that somebody gives is cut to fit.
const LONGEST: u64 = 8192;
/// The longest reason.
const LONGEST_WHY: usize = 1000;

/// Why nothing was signed.
#[derive(Debug, thiserror::Error)]
pub enum SignatureError {
    /// A file cannot be read or written.
    #[error("{}: {source}", path.display())]
    File {
        /// The file.
        path: PathBuf,
        /// What the system says.
        source: std::io::Error,
    },
    /// The file holds no key.
    #[error(
        "{} holds no signing key that can be read; bring back a copy of it, or move it away and \
         let a new key be made", .0.display()
    )]
    NotAKey(PathBuf),
    /// The last line of the signatures cannot be read, so no line can follow it.
    #[error("{}: its last line is no signature; keep a copy of the file and move it away", .0.display())]
    NotALine(PathBuf),
    /// The system gives no chance to make a key from.
    #[error("the system gives no random bytes: {0}")]
    NoChance(String),
}

impl SignatureError {
    pub(super) fn file(path: &Path, source: std::io::Error) -> Self {
        Self::File { path: path.to_owned(), source }
    }
}

/// What is signed: how far the journal of a laboratory has come.
#[derive(Debug, Clone, Copy)]
pub struct Stand {
    /// The hash of its first entry.
    pub laboratory: Hash,
    /// Its end.
    pub head: Head,
    /// When.
    pub at: Instant,
}

/// The signatures of a laboratory and the key that makes them.
#[derive(Debug, Clone)]
pub struct Book {
    file: PathBuf,
    key: PathBuf,
}

impl Book {
    /// The signatures in a laboratory's folder.
    pub fn in_folder(folder: &Path) -> Self {
        Self { file: folder.join(FILE), key: folder.join(KEY) }
    }

    /// The text of the file; empty where there is none.
    ///
    /// # Errors
    /// When it cannot be read.
    pub fn text(&self) -> Result<String, SignatureError> {
        match std::fs::read(&self.file) {
            Ok(bytes) => Ok(String::from_utf8_lossy(&bytes).into_owned()),
            Err(error) if error.kind() == ErrorKind::NotFound => Ok(String::new()),
            Err(source) => Err(SignatureError::file(&self.file, source)),
        }
    }

    /// The last line; `None` where nothing was signed yet.
    ///
    /// # Errors
    /// When the file cannot be read.
    pub fn last(&self) -> Result<Option<Line>, SignatureError> {
        match File::open(&self.file) {
            Ok(mut file) => Ok(self.tail(&mut file)?.map(|(line, _)| line)),
            Err(error) if error.kind() == ErrorKind::NotFound => Ok(None),
            Err(source) => Err(SignatureError::file(&self.file, source)),
        }
    }

    /// The key that others check by; `None` until the first signature.
    ///
    /// # Errors
    /// When the file of the key cannot be read.
    pub fn public_key(&self) -> Result<Option<PublicKey>, SignatureError> {
        Ok(SecretKey::load(&self.key)?.map(|key| key.public()))
    }

    /// Signs how far the journal has come. The first time a key is made.
    ///
    /// # Errors
    /// When key or file cannot be read or written.
    pub fn sign(&self, stand: Stand, why: &str) -> Result<Line, SignatureError> {
        self.add(stand, |line, _| {
            line.kind = Kind::Checkpoint;
            line.why = why.to_owned();
        })
    }

    /// Signs that somebody took over that the entries behind the end, up to `lost_until`, are lost.
    ///
    /// # Errors
    /// As [`Book::sign`].
    pub fn accept_loss(
        &self,
        stand: Stand,
        lost_until: u64,
        why: &str,
    ) -> Result<Line, SignatureError> {
        self.add(stand, |line, _| {
            line.kind = Kind::AcceptedLoss;
            line.lost_until = Some(lost_until);
            line.why = why.to_owned();
        })
    }

    /// Makes a new key, lets the old one vouch for it, and puts the old one aside (`signing.key` with
    /// its fingerprint's first digits behind it): it may be destroyed.
    ///
    /// # Errors
    /// As [`Book::sign`].
    pub fn rotate(&self, stand: Stand, why: &str) -> Result<Line, SignatureError> {
        let new = SecretKey::generate()?;
        let beside = self.key.with_extension("key.new");
        let _ = std::fs::remove_file(&beside);
        new.save(&beside)?;
        let line = self.add(stand, |line, _| {
            line.kind = Kind::Key;
            line.public_key = Some(new.public());
            line.why = why.to_owned();
        })?;
        let mut digits = line.key.to_string();
        digits.truncate(8);
        let aside = self.key.with_extension(format!("key.{digits}"));
        let moved =
            std::fs::rename(&self.key, &aside).and_then(|()| std::fs::rename(&beside, &self.key));
        moved.map_err(|source| SignatureError::file(&self.key, source))?;
        Ok(line)
    }

    fn add(
        &self,
        stand: Stand,
        fill: impl FnOnce(&mut Line, &SecretKey),
    ) -> Result<Line, SignatureError> {
        let fault = |source| SignatureError::file(&self.file, source);
        let mut options = OpenOptions::new();
        let mut file = options
            .read(true)
            .write(true)
            .create(true)
            .truncate(false)
            .open(&self.file)
            .map_err(fault)?;
        // Goes when the file is closed, however this program ends.
        file.lock().map_err(fault)?;
        let last = self.tail(&mut file)?;
        let key = match SecretKey::load(&self.key)? {
            Some(key) => key,
            None => {
                let key = SecretKey::generate()?;
                key.save(&self.key)?;
                key
            }
        };
        let fingerprint = key.public().fingerprint();
        let mut previous = last.as_ref().map_or_else(genesis, |(line, _)| Hash::of(&line.text()));
        let mut text = Vec::new();
        let bare = |previous| Line {
            at: stand.at,
            head: stand.head.hash,
            key: fingerprint,
            kind: Kind::Checkpoint,
            laboratory: stand.laboratory,
            lost_until: None,
            position: stand.head.position,
            previous,
            public_key: None,
            signature: String::new(),
            why: String::new(),
        };
        let is_known = last.as_ref().is_some_and(|(line, _)| line.key_behind() == fingerprint);
        if !is_known {
            let why = if last.is_none() { "the first key" } else { "another key was found here" };
            let line = Line {
                kind: Kind::Key,
                public_key: Some(key.public()),
                why: why.to_owned(),
                ..bare(previous)
            };
            let line = line.signed(&key).text();
            previous = Hash::of(&line);
            text.extend(line);
            text.push(b'\n');
        }
        let mut line = bare(previous);
        fill(&mut line, &key);
        line.why = line.why.chars().take(LONGEST_WHY).collect();
        let line = line.signed(&key);
        text.extend(line.text());
        text.push(b'\n');
        // What a killed program left of a line is no line: it is written over.
        let end = last.map_or(0, |(_, end)| end);
        file.set_len(end)
            .and_then(|()| file.seek(SeekFrom::Start(end)))
            .and_then(|_| file.write_all(&text))
            .and_then(|()| file.sync_all())
            .map_err(fault)?;
        Ok(line)
    }

    /// The last whole line, and where it ends.
    fn tail(&self, file: &mut File) -> Result<Option<(Line, u64)>, SignatureError> {
        let fault = |source| SignatureError::file(&self.file, source);
        let length = file.metadata().map_err(fault)?.len();
        let from = length.saturating_sub(2 * LONGEST);
        file.seek(SeekFrom::Start(from)).map_err(fault)?;
        let mut bytes = Vec::new();
        file.read_to_end(&mut bytes).map_err(fault)?;
        let Some(feed) = bytes.iter().rposition(|byte| *byte == b'\n') else {
            return Ok(None);
        };
        let begin = bytes[..feed].iter().rposition(|byte| *byte == b'\n').map_or(0, |at| at + 1);
        let line = serde_json::from_slice(&bytes[begin..feed])
            .map_err(|_| SignatureError::NotALine(self.file.clone()))?;
        Ok(Some((line, from + feed as u64 + 1)))
    }
}
