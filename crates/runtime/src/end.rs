//! Where the journal ended when the last entry was acknowledged, noted beside it.
//!
//! SQLite goes back to the last whole transaction when the tail of its write-ahead log is gone, and
//! what is left is a shorter journal without a fault in it. So the end is noted in a small file of its
//! own after each entry. The note costs no waiting for the disk: should the power fail, it may be older
//! than the journal, which says nothing, but never younger.

use std::fs::{File, OpenOptions};
use std::io::{Seek, Write};
use std::path::{Path, PathBuf};
use stonewear_journal::Head;

/// The file within the laboratory's folder.
const FILE: &str = "journal.end";

/// The note, held open while somebody works with the folder.
#[derive(Debug)]
pub(crate) struct EndNote {
    path: PathBuf,
    file: Option<File>,
}

impl EndNote {
    pub(crate) fn in_folder(folder: &Path) -> Self {
        Self { path: folder.join(FILE), file: None }
    }

    /// Where the journal ended, by the note; `None` where there is none that can be read. It is a
    /// witness only: without it a journal is as good as its chain.
    pub(crate) fn read(&self) -> Option<Head> {
        let text = std::fs::read_to_string(&self.path).ok()?;
        let (position, hash) = text.trim_end().split_once(' ')?;
        Some(Head { position: position.parse().ok()?, hash: hash.parse().ok()? })
    }

    /// Notes where the journal ends now.
    pub(crate) fn write(&mut self, head: Head) {
        // What cannot be noted is not noted: the entry is on the disk all the same.
        let _ = self.try_write(head);
    }

    fn try_write(&mut self, head: Head) -> std::io::Result<()> {
        // One write of always the same length: a program that is killed leaves the old or the new.
        let text = format!("{:020} {}\n", head.position, head.hash);
        let file = match &mut self.file {
            Some(file) => file,
            none => {
                let mut options = OpenOptions::new();
                none.insert(options.write(true).create(true).truncate(false).open(&self.path)?)
            }
        };
        file.rewind()?;
        file.write_all(text.as_bytes())
    }

    /// Writes the note anew, to the disk: after somebody has taken over that entries are lost.
    pub(crate) fn replace(&mut self, head: Head) -> std::io::Result<()> {
        self.file = None;
        let mut file = File::create(&self.path)?;
        writeln!(file, "{:020} {}", head.position, head.hash)?;
        file.sync_all()
    }
}
