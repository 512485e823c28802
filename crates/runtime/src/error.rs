//! Why a laboratory cannot be opened, and why a request was not taken.

use crate::hindrance::Hindrance;
use crate::replay::Damage;
use std::path::PathBuf;
use stonewear_journal::StoreError;
use stonewear_lab::Refusal;
use thiserror::Error;

/// Why a laboratory cannot be opened.
#[derive(Debug, Error)]
pub enum OpenError {
    /// Another program has it open for work.
    #[error(
        "the laboratory in {folder} is open in another program{by}; stop that one first, or use its page"
    )]
    InUse {
        /// The folder.
        folder: PathBuf,
        /// Which program, as far as it is known.
        by: String,
    },
    /// There is no laboratory.
    #[error("there is no laboratory in {0}; found one with `stonewear found` or `stonewear serve`")]
    NotThere(PathBuf),
    /// A journal stands in a folder that was to be that of a laboratory in a database.
    #[error(
        "a journal stands in {0}, and the laboratory was to be worked with in a database: name another \
         folder with --dir, or leave --database out; `stonewear journal push` takes the journal there"
    )]
    OwnJournal(PathBuf),
    /// The folder cannot be used.
    #[error("{path}: {source}")]
    Folder {
        /// Which path.
        path: PathBuf,
        /// What the system says.
        source: std::io::Error,
    },
    /// A file in the laboratory's `methods` folder is wrong.
    #[error("{0}")]
    MethodFile(String),
    /// The journal cannot be opened.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// The journal is damaged.
    #[error("the journal is damaged: {0}")]
    Damaged(Damage),
}

/// Why a request was not taken.
#[derive(Debug, Error)]
pub enum SubmitError {
    /// The laboratory refuses it.
    #[error(transparent)]
    Refused(#[from] Refusal),
    /// The clock of the machine shows a time well before the last fact, so no time that it gives is
    /// recorded.
    #[error("it was not recorded. {0} {remedy}", remedy = .0.remedy())]
    Clock(Hindrance),
    /// The journal is damaged, so nothing is added to it.
    #[error("nothing can be recorded: the journal is damaged: {0}")]
    ReadOnly(Damage),
    /// The facts could not be kept.
    #[error("it was not recorded: {0}")]
    Store(#[from] StoreError),
}
