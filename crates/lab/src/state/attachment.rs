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

impl Lab {
    /// The files attached to a check, item, sample, specimen, run or result, oldest first.
    pub fn attachments_of(&self, code: &str) -> &[Noted<Attachment>] {
        self.attachments.get(code).map(Vec::as_slice).unwrap_or_default()
    }

    /// The first attachment of the file with this hash; `None` when no fact names it.
    pub fn attached(&self, sha256: &str) -> Option<&Noted<Attachment>> {
        self.attachments.values().flatten().find(|attached| attached.value.sha256 == sha256)
    }
}
