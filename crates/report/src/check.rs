//! Whether a paper that somebody holds is what was issued, and whether it still stands.

use crate::mark::{self, Mark, printed};
use serde::Serialize;
use stonewear_lab::Lab;
use stonewear_lab::fact::PaperIssued;
use stonewear_lab::state::{Noted, Since};

/// What is to be said of a paper.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum PaperVerdict {
    /// It was issued so, and says what the laboratory still says.
    Stands,
    /// It was issued so, and another version or paper holds now.
    Superseded,
    /// It was issued so, and a result in it is in doubt now.
    InDoubt,
    /// It carries the mark of an issued paper, and is not that paper.
    Altered,
    /// It was made here and never issued: a draft, or a sheet for use in the house.
    NotIssued,
    /// It was made from the journal of another laboratory.
    OfAnotherLaboratory,
    /// It carries no mark.
    NoMark,
}

impl PaperVerdict {
    /// All of them.
    pub const ALL: [Self; 7] = [
        Self::Stands,
        Self::Superseded,
        Self::InDoubt,
        Self::Altered,
        Self::NotIssued,
        Self::OfAnotherLaboratory,
        Self::NoMark,
    ];

    /// In words.
    pub fn in_words(self) -> &'static str {
        match self {
            Self::Stands => "as issued, and it stands",
            Self::Superseded => "as issued, but superseded since",
            Self::InDoubt => "as issued, but a result in it is in doubt",
            Self::Altered => "altered: this is not the file that was issued",
            Self::NotIssued => "made here, but never issued",
            Self::OfAnotherLaboratory => "made from the journal of another laboratory",
            Self::NoMark => "no paper of this program: it carries no mark",
        }
    }
}

/// A paper against the record.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct PaperCheck {
    /// What is to be said of it.
    pub verdict: PaperVerdict,
    /// SHA-256 of the file; empty where only a fingerprint was asked about.
    pub sha256: String,
    /// The mark in the file.
    pub mark: Option<Mark>,
    /// The issued paper that it is, or claims to be.
    pub issued: Option<Noted<PaperIssued>>,
    /// What has happened since that paper was issued.
    pub since: Vec<Since>,
}

impl PaperCheck {
    /// An issued paper as it stands now, by its record alone.
    pub fn of_record(lab: &Lab, issued: &Noted<PaperIssued>) -> Self {
        let since = lab.since_issue(issued);
        let is_doubt = |one: &Since| matches!(one, Since::InDoubt { .. });
        let verdict = if since.is_empty() {
            PaperVerdict::Stands
        } else if since.iter().all(is_doubt) {
            PaperVerdict::InDoubt
        } else {
            PaperVerdict::Superseded
        };
        Self { verdict, sha256: String::new(), mark: None, issued: Some(issued.clone()), since }
    }

    /// A file against the record of a laboratory, which is known by the hash of the first fact of
    /// its journal.
    pub fn of_file(lab: &Lab, laboratory: &str, file: &[u8]) -> Self {
        let sha256 = mark::hash(file);
        let mark = Mark::read(file);
        if let Some(issued) = lab.papers.values().find(|paper| paper.value.sha256 == sha256) {
            return Self { sha256, mark, ..Self::of_record(lab, issued) };
        }
        let claims = mark.as_ref().and_then(|mark| {
            let by_fingerprint = lab.papers.get(&mark.fingerprint);
            let numbered = || lab.paper_numbered(&mark.number);
            by_fingerprint.or_else(|| numbered().filter(|_| mark.laboratory == laboratory))
        });
        let verdict = match (&mark, claims) {
            (None, _) => PaperVerdict::NoMark,
            (Some(_), Some(_)) => PaperVerdict::Altered,
            (Some(mark), None) if mark.laboratory != laboratory => {
                PaperVerdict::OfAnotherLaboratory
            }
            (Some(_), None) => PaperVerdict::NotIssued,
        };
        let since = claims.map(|issued| lab.since_issue(issued)).unwrap_or_default();
        Self { verdict, sha256, mark, issued: claims.cloned(), since }
    }

    /// In sentences: the verdict, the record, and what has happened since.
    pub fn in_words(&self, lab: &Lab) -> Vec<String> {
        let mut said = vec![format!("{}.", super::build::capital(self.verdict.in_words()))];
        if let Some(issued) = &self.issued {
            let paper = &issued.value;
            let name = lab.people.get(&issued.by).map_or(issued.by.as_str(), |who| &who.name);
            said.push(format!(
                "On record: {} {}, about {}, issued by {name} on {}, fingerprint {}.",
                paper.paper.in_words(),
                paper.number,
                paper.of,
                lab.local(issued.at).date(),
                printed(&paper.fingerprint)
            ));
        }
        match (self.verdict, &self.mark, &self.issued) {
            (PaperVerdict::Altered, _, Some(issued)) => said.push(format!(
                "The file that was issued has SHA-256 {}; this one has {}.",
                issued.value.sha256, self.sha256
            )),
            (PaperVerdict::NotIssued, Some(mark), _) => said.push(format!(
                "It is a {} made at fact {} of the journal; its fingerprint {} is not on record.",
                mark.paper,
                mark.position,
                mark.printed()
            )),
            (PaperVerdict::OfAnotherLaboratory, Some(mark), _) => said.push(format!(
                "It names a laboratory whose journal begins with {}….",
                mark.laboratory.get(..16).unwrap_or_default()
            )),
            _ => {}
        }
        said.extend(self.since.iter().map(Since::in_words));
        said
    }
}
