//! Files that were attached, by what they belong to.

use super::{Lab, Noted};
use serde::Serialize;

/// A file that was attached.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Attachment {
    /// The step of the check, if it belongs to one.
    pub step: Option<String>,
    /// What the file is called.
    pub name: String,
    /// Its kind, as its content showed: `image/jpeg`.
    pub media_type: String,
    /// SHA-256 of its bytes, 64 hexadecimal digits in lower case.
    pub sha256: String,
    /// How large it is, in bytes.
    pub bytes: u64,
}

impl Attachment {
    /// Whether it is a picture, which can be shown small.
    pub fn is_picture(&self) -> bool {
        self.media_type.starts_with("image/")
    }
}

/// A file whose bytes are kept beside the journal, because a fact names their hash.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KeptFile {
    /// SHA-256 of its bytes, 64 hexadecimal digits in lower case.
    pub sha256: String,
    /// What it is called, or the number of the paper that it is.
    pub name: String,
    /// The place of the fact in the journal.
    pub position: u64,
}

impl Lab {
    /// Every file that a fact names: what was attached or imported, and papers that were issued. One
    /// that several facts name is there once, by the first of them.
    pub fn kept_files(&self) -> Vec<KeptFile> {
        let attached = self.attachments.values().flatten().map(|one| KeptFile {
            sha256: one.value.sha256.clone(),
            name: one.value.name.clone(),
            position: one.position,
        });
        let issued = self.papers.values().map(|paper| KeptFile {
            sha256: paper.value.sha256.clone(),
            name: paper.value.number.clone(),
            position: paper.position,
        });
        let mut kept: Vec<KeptFile> = attached.chain(issued).collect();
        kept.sort_by(|one, other| {
            (&one.sha256, one.position).cmp(&(&other.sha256, other.position))
        });
        kept.dedup_by(|later, first| later.sha256 == first.sha256);
        kept
    }

    /// The files attached to a check, item, sample, specimen, run or result, oldest first.
    pub fn attachments_of(&self, code: &str) -> &[Noted<Attachment>] {
        self.attachments.get(code).map(Vec::as_slice).unwrap_or_default()
    }

    /// The first attachment of the file with this hash; `None` when no fact names it.
    pub fn attached(&self, sha256: &str) -> Option<&Noted<Attachment>> {
        self.attachments.values().flatten().find(|attached| attached.value.sha256 == sha256)
    }
}
