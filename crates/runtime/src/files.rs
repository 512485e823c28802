//! Files attached to what was observed: kept by their hash, and never handed out changed.

use crate::error::SubmitError;
use crate::open::{OpenLaboratory, Receipt};
use crate::store::AnyStore;
use crate::view::LaboratoryView;
use stonewear_journal::{Hash, Store, StoreError};
use stonewear_lab::attachment::media_type_of;
use stonewear_lab::request::{AttachFile, ImportFile};
use stonewear_lab::state::KeptFile;
use stonewear_lab::{Lab, Request};

/// A file that is to be attached. What kind it is follows from its bytes.
#[derive(Debug, Clone, Copy)]
pub struct NewFile<'a> {
    /// The check, item, sample, specimen, run or result.
    pub to: &'a str,
    /// The step of the check; may be empty.
    pub step: &'a str,
    /// What the file is called.
    pub name: &'a str,
    /// Its content.
    pub bytes: &'a [u8],
}

/// The SHA-256 of bytes, as facts name a file: hexadecimal digits in lower case.
pub fn sha256(bytes: &[u8]) -> String {
    Hash::of(bytes).to_string()
}

impl OpenLaboratory {
    /// Attaches a file to what was observed: its bytes are kept by their hash, then the fact that
    /// names them. A file that is refused is not kept. Should the program be killed between the
    /// two, bytes are left that nothing names; a fact never names bytes that were not kept.
    ///
    /// A `key` that was seen before is answered as it was the first time.
    ///
    /// # Errors
    /// The laboratory's refusal, or that file or fact could not be kept.
    pub fn attach(
        &mut self,
        by: &str,
        key: Option<&str>,
        file: &NewFile<'_>,
    ) -> Result<Receipt, SubmitError> {
        let request = AttachFile {
            to: file.to.to_owned(),
            step: file.step.to_owned(),
            name: file.name.to_owned(),
            media_type: media_type_of(file.name, file.bytes).unwrap_or_default().to_owned(),
            sha256: Hash::of(file.bytes).to_string(),
            bytes: file.bytes.len().to_string(),
        }
        .into();
        self.keep_and_submit(by, key, &request, file.bytes)
    }

    /// Takes over the rows of a file of the past. Its bytes are kept by their hash, as with files
    /// that are attached; then the facts that name them.
    ///
    /// # Errors
    /// The laboratory's refusal, or that file or facts could not be kept.
    pub fn import_file(
        &mut self,
        by: &str,
        key: Option<&str>,
        request: ImportFile,
        bytes: &[u8],
    ) -> Result<Receipt, SubmitError> {
        // Whatever was sent with the rows, the file that is kept is the one that is named.
        let request = ImportFile {
            sha256: Hash::of(bytes).to_string(),
            bytes: bytes.len().to_string(),
            ..request
        };
        self.keep_and_submit(by, key, &request.into(), bytes)
    }

    /// Keeps bytes that facts name which were decided elsewhere, as the demo's scenario has them.
    ///
    /// # Errors
    /// When they could not be kept.
    pub fn keep_file(&mut self, bytes: &[u8]) -> Result<(), StoreError> {
        self.store().put_blob(bytes).map(drop)
    }

    /// Keeps the bytes that a request names by their hash, unless it would be refused, then asks.
    pub(crate) fn keep_and_submit(
        &mut self,
        by: &str,
        key: Option<&str>,
        request: &Request,
        bytes: &[u8],
    ) -> Result<Receipt, SubmitError> {
        let is_new = match key {
            Some(key) => self.store().find_request(key)?.is_empty(),
            None => true,
        };
        if is_new && self.damage().is_none() {
            self.consider(by, request)?;
            self.store().put_blob(bytes)?;
        }
        self.submit_made(by, key, request)
    }

    /// The bytes of an attached file; `None` when no fact names this hash.
    ///
    /// # Errors
    /// [`StoreError::Damaged`], with the file named, when its bytes are missing or no longer have
    /// this hash; and the store's own troubles.
    pub fn file(&self, sha256: &str) -> Result<Option<Vec<u8>>, StoreError> {
        file(self.lab(), &self.store(), sha256)
    }
}

impl LaboratoryView {
    /// The bytes of an attached file; `None` when no fact names this hash.
    ///
    /// # Errors
    /// As with [`OpenLaboratory::file`].
    pub fn file(&self, sha256: &str) -> Result<Option<Vec<u8>>, StoreError> {
        file(self.lab(), self.store(), sha256)
    }

    /// The bytes of a file that a fact names, be it attached, imported or an issued paper.
    ///
    /// # Errors
    /// As with [`OpenLaboratory::file`].
    pub fn kept(&self, file: &KeptFile) -> Result<Vec<u8>, StoreError> {
        bytes_of(self.store(), &file.sha256, &file.name, file.position)
    }
}

fn file(lab: &Lab, store: &AnyStore, sha256: &str) -> Result<Option<Vec<u8>>, StoreError> {
    let Some(attached) = lab.attached(sha256) else { return Ok(None) };
    bytes_of(store, sha256, &attached.value.name, attached.position).map(Some)
}

/// The bytes under a hash, or what is missing and which entry names it.
fn bytes_of(
    store: &AnyStore,
    sha256: &str,
    name: &str,
    position: u64,
) -> Result<Vec<u8>, StoreError> {
    // The store compares the bytes with the hash each time it reads them.
    let kept = sha256.parse::<Hash>().ok().map(|hash| store.get_blob(hash)).transpose()?;
    kept.flatten().ok_or_else(|| {
        StoreError::Damaged(format!(
            "the attached file {sha256} (“{name}”, entry {position}) is missing"
        ))
    })
}
