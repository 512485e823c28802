//! Papers: where they are made, and how they are issued and kept.

use crate::error::SubmitError;
use crate::open::{OpenLaboratory, Receipt, anchor_of};
use crate::replay;
use crate::store::AnyStore;
use crate::view::LaboratoryView;
use jiff::Timestamp;
use serde_json::Value;
use std::collections::BTreeSet;
use std::ops::ControlFlow;
use stonewear_journal::{Hash, Store, StoreError};
use stonewear_lab::fact::{PaperIssued, PaperKind, PaperLanguage};
use stonewear_lab::request::IssuePaper;
use stonewear_lab::state::{NextPaper, TestResult};
use stonewear_lab::{Lab, Request};
use stonewear_report::{ChainedFact, Mark, Origin, Sheet, TestReport, TypesetError, Typesetter};

/// What a paper that is to be issued says.
#[derive(Debug, Clone)]
pub enum Said {
    /// A test report.
    Report(Box<TestReport>),
    /// A report of a project.
    Sheet(Box<Sheet>),
}

impl Said {
    fn mark(&self) -> Option<&Mark> {
        match self {
            Self::Report(report) => report.mark.as_ref(),
            Self::Sheet(sheet) => sheet.mark.as_ref(),
        }
    }

    fn language(&self) -> &str {
        match self {
            Self::Report(report) => &report.language,
            Self::Sheet(sheet) => &sheet.language,
        }
    }

    /// The paper as PDF.
    ///
    /// # Errors
    /// Those of the typesetter.
    pub fn typeset(&self, typesetter: &dyn Typesetter) -> Result<Vec<u8>, TypesetError> {
        match self {
            Self::Report(report) => typesetter.test_report(report),
            Self::Sheet(sheet) => typesetter.sheet(sheet),
        }
    }
}

/// Which paper is to be issued.
#[derive(Debug, Clone, Copy)]
pub struct Wanted<'a> {
    /// What it is.
    pub kind: PaperKind,
    /// What it is about: the code of a result, the name of a project.
    pub of: &'a str,
    /// Why it replaces an earlier one, where that is not on record already.
    pub reason: &'a str,
    /// Its language, where it is not that of the letterhead.
    pub language: Option<PaperLanguage>,
}

/// A paper that is ready to be typeset and issued.
#[derive(Debug, Clone)]
pub struct Prepared {
    /// What it says.
    pub said: Said,
    request: IssuePaper,
}

impl OpenLaboratory {
    /// Where a paper is made now: for its mark.
    ///
    /// # Errors
    /// When the journal cannot be read.
    pub fn origin(&self) -> Result<Origin, StoreError> {
        origin(self.lab(), &self.store())
    }

    /// The bytes of the file of an issued paper.
    ///
    /// # Errors
    /// [`StoreError::Damaged`], when they are missing or no longer have their hash; and the store's
    /// own troubles.
    pub fn issued_file(&self, paper: &PaperIssued) -> Result<Vec<u8>, StoreError> {
        issued_file(&self.store(), paper)
    }

    /// Makes the next paper of a kind about something ready to be issued.
    ///
    /// # Errors
    /// The refusal that issuing it would meet, or that the journal cannot be read.
    pub fn prepare(&self, by: &str, wanted: Wanted<'_>) -> Result<Prepared, SubmitError> {
        let (lab, at) = (self.lab(), self.now());
        let Wanted { kind, reason, .. } = wanted;
        let of = match kind {
            PaperKind::TestReport => wanted.of.trim().to_uppercase(),
            PaperKind::ProjectReport => wanted.of.trim().to_owned(),
        };
        let next = lab.next_paper(kind, &of, at);
        let said = match next.as_ref() {
            Some(next) => Some(self.said(by, Wanted { of: &of, ..wanted }, next)?),
            None => None,
        };
        let mark = said.as_ref().and_then(Said::mark);
        let request = IssuePaper {
            paper: kind.name().to_owned(),
            of,
            number: next.map(|next| next.number).unwrap_or_default(),
            fingerprint: mark.map(|mark| mark.fingerprint.clone()).unwrap_or_default(),
            made_at: lab.position.to_string(),
            reason: reason.to_owned(),
            language: said.as_ref().map(|said| said.language().to_owned()).unwrap_or_default(),
            ..IssuePaper::default()
        };
        // The file is still to be made; whatever else is wrong is said before it is.
        let as_if = IssuePaper { sha256: "0".repeat(64), bytes: "1".to_owned(), ..request.clone() };
        self.consider(by, &Request::from(as_if))?;
        let empty = || Said::Sheet(Box::default());
        Ok(Prepared { said: said.unwrap_or_else(empty), request })
    }

    fn said(&self, by: &str, wanted: Wanted<'_>, next: &NextPaper) -> Result<Said, SubmitError> {
        let Wanted { kind, of, reason, language } = wanted;
        let (lab, at) = (self.lab(), self.now());
        let origin = self.origin()?;
        let who = lab.people.get(by).map(|person| person.name.clone()).unwrap_or_default();
        let reason = if reason.trim().is_empty() { next.reason.as_str() } else { reason.trim() };
        let (PaperKind::TestReport, Some(result)) = (kind, lab.results.get(of)) else {
            let anchor = Some(self.anchor());
            let sheet = stonewear_report::project_sheet(lab, of, next, (&who, reason), anchor, at);
            let sheet = sheet.in_language(language);
            return Ok(Said::Sheet(Box::new(sheet.marked(kind.name(), &next.number, &origin))));
        };
        let anchor = anchor_of(&self.store(), result)?;
        let report = stonewear_report::test_report(lab, result, anchor);
        let report = report.to_be_issued(lab, next, (&who, reason), at).in_language(language);
        Ok(Said::Report(Box::new(report.marked(&origin))))
    }

    /// Issues a paper: its bytes are kept by their hash, then the fact that names them. A paper that
    /// is refused is not kept.
    ///
    /// A `key` that was seen before is answered as it was the first time.
    ///
    /// # Errors
    /// The laboratory's refusal, or that file or fact could not be kept.
    pub fn issue(
        &mut self,
        by: &str,
        key: Option<&str>,
        prepared: Prepared,
        file: &[u8],
    ) -> Result<Receipt, SubmitError> {
        let request = Request::from(IssuePaper {
            sha256: Hash::of(file).to_string(),
            bytes: file.len().to_string(),
            ..prepared.request
        });
        self.keep_and_submit(by, key, &request, file)
    }
}

impl OpenLaboratory {
    /// The facts of the journal that bear on a result, oldest first: for its audit extract.
    ///
    /// # Errors
    /// When the journal cannot be read.
    pub fn chain_of(&self, result: &TestResult) -> Result<Vec<ChainedFact>, StoreError> {
        chain(self.lab(), &self.store(), result)
    }
}

impl LaboratoryView {
    /// The facts of the journal that bear on a result, oldest first: for its audit extract.
    ///
    /// # Errors
    /// When the journal cannot be read.
    pub fn chain_of(&self, result: &TestResult) -> Result<Vec<ChainedFact>, StoreError> {
        chain(self.lab(), self.store(), result)
    }

    /// Where a paper is made now: for its mark.
    ///
    /// # Errors
    /// When the journal cannot be read.
    pub fn origin(&self) -> Result<Origin, StoreError> {
        origin(self.lab(), self.store())
    }

    /// The bytes of the file of an issued paper.
    ///
    /// # Errors
    /// As with [`OpenLaboratory::issued_file`].
    pub fn issued_file(&self, paper: &PaperIssued) -> Result<Vec<u8>, StoreError> {
        issued_file(self.store(), paper)
    }
}

fn origin(lab: &Lab, store: &AnyStore) -> Result<Origin, StoreError> {
    Ok(Origin {
        laboratory: replay::hash_at(store, 1)?.unwrap_or_default(),
        position: lab.position,
        page: lab.letterhead().map(|head| head.page.clone()).unwrap_or_default(),
    })
}

fn issued_file(store: &AnyStore, paper: &PaperIssued) -> Result<Vec<u8>, StoreError> {
    let missing =
        || StoreError::Damaged(format!("the file {} of {} is missing", paper.sha256, paper.number));
    let hash = paper.sha256.parse::<Hash>().map_err(|_| missing())?;
    // The store compares the bytes with the hash each time it reads them.
    store.get_blob(hash)?.ok_or_else(missing)
}

/// The facts of the journal that a result stands on, oldest first: those that its links rest on, and
/// those that name what was done for it.
fn chain(lab: &Lab, store: &AnyStore, result: &TestResult) -> Result<Vec<ChainedFact>, StoreError> {
    let codes = &stonewear_report::codes_of(lab, result);
    let links = lab.evidence(result);
    let rests_on: BTreeSet<u64> = links.iter().flat_map(|link| link.positions.clone()).collect();
    let mut facts = Vec::new();
    let mut unreadable = None;
    store.read_from(1, &mut |raw| {
        match serde_json::from_slice::<Entry>(raw.bytes) {
            Ok(entry) => {
                let mut about = Vec::new();
                name(&entry.fact, codes, &mut about);
                if !about.is_empty() || rests_on.contains(&raw.position) {
                    let kind = entry.fact.get("kind").and_then(Value::as_str).unwrap_or_default();
                    facts.push(ChainedFact {
                        position: raw.position,
                        at: entry.at,
                        by: entry.by,
                        kind: kind.to_owned(),
                        about,
                        hash: raw.hash.to_string(),
                    });
                }
            }
            Err(error) => {
                unreadable = Some(format!("entry {} cannot be read: {error}", raw.position));
                return ControlFlow::Break(());
            }
        }
        ControlFlow::Continue(())
    })?;
    unreadable.map_or(Ok(facts), |what| Err(StoreError::Damaged(what)))
}

/// An entry as the chain of evidence reads it.
#[derive(serde::Deserialize)]
struct Entry {
    at: Timestamp,
    by: String,
    fact: Value,
}

/// Adds every code that stands somewhere in a fact, each once.
fn name(value: &Value, codes: &[String], about: &mut Vec<String>) {
    match value {
        Value::String(text) if codes.contains(text) && !about.contains(text) => {
            about.push(text.clone());
        }
        Value::Array(items) => items.iter().for_each(|item| name(item, codes, about)),
        Value::Object(fields) => fields.values().for_each(|item| name(item, codes, about)),
        _ => {}
    }
}
