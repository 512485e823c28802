//! Papers that were issued, the letterhead, and how a paper stands now.

use super::{Lab, Noted, TestResult};
use crate::code::{DoubtCode, ResultCode};
use crate::fact::{CoveredResult, LetterheadSet, PaperIssued, PaperKind};
use jiff::Timestamp;
use serde::Serialize;

/// Fewer digits of a fingerprint than these name no paper.
pub const SHORTEST_FINGERPRINT: usize = 12;
/// So many digits of a fingerprint are printed.
pub const PRINTED_FINGERPRINT: usize = 24;

/// Something that has happened since a paper was issued.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case", tag = "since")]
pub enum Since {
    /// Another paper was issued in its place.
    Replaced {
        /// Its number.
        by: String,
        /// Why.
        reason: String,
    },
    /// A result that it reports was worked out again.
    Revised {
        /// The result.
        result: ResultCode,
        /// The version that holds now.
        version: usize,
        /// Why.
        reason: String,
    },
    /// A result that it reports is in doubt.
    InDoubt {
        /// The result.
        result: ResultCode,
        /// The doubt, which nobody has closed yet.
        doubt: DoubtCode,
        /// What happened.
        reason: String,
    },
}

impl Since {
    /// As a sentence.
    pub fn in_words(&self) -> String {
        let because = |reason: &str| {
            if reason.is_empty() { String::new() } else { format!(" ({reason})") }
        };
        match self {
            Self::Replaced { by, reason } => format!("It was replaced by {by}{}.", because(reason)),
            Self::Revised { result, version, reason } => format!(
                "{result} was worked out again: version {version} holds now{}.",
                because(reason)
            ),
            Self::InDoubt { result, doubt, reason } => {
                format!(
                    "{result} is in doubt, and nobody has dealt with it yet: {doubt}, {reason}."
                )
            }
        }
    }
}

/// What the next paper about something would be.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct NextPaper {
    /// Its number.
    pub number: String,
    /// The results that it would report.
    pub covers: Vec<CoveredResult>,
    /// The number of the paper that it would replace.
    pub replaces: Option<String>,
    /// Why, where that is on record already: a result was worked out again.
    pub reason: String,
}

impl Lab {
    /// What the next paper of a kind about something would be; `None` while there is nothing to
    /// issue: no such result, nothing released.
    pub fn next_paper(&self, kind: PaperKind, of: &str, at: Timestamp) -> Option<NextPaper> {
        let earlier = self.papers_about(kind, of);
        let replaces = earlier.last().map(|paper| paper.value.number.clone());
        match kind {
            PaperKind::TestReport => {
                let result = self.results.get(of)?;
                let version = result.version();
                result.release()?;
                let again = earlier
                    .iter()
                    .filter(|paper| paper.value.covers.iter().all(|one| one.version == version))
                    .count();
                // The first report of a version is numbered as the version itself.
                let number = match again {
                    0 => format!("{of}/{version}"),
                    again => format!("{of}/{version}.{}", again + 1),
                };
                let reason = match (again, result.current()) {
                    (0, Some(current)) => current.value.reason.clone(),
                    _ => String::new(),
                };
                let covers = vec![CoveredResult { result: result.code.clone(), version }];
                Some(NextPaper { number, covers, replaces, reason })
            }
            PaperKind::ProjectReport => {
                let covers: Vec<CoveredResult> = self
                    .released_of_project(of)
                    .map(|result| CoveredResult {
                        result: result.code.clone(),
                        version: result.version(),
                    })
                    .collect();
                if covers.is_empty() {
                    return None;
                }
                let (year, number) = self.next_number('G', at);
                let number = crate::code::numbered('G', year, number);
                Some(NextPaper { number, covers, replaces, reason: String::new() })
            }
        }
    }

    /// The released results of the samples of a project, by code.
    pub fn released_of_project<'a>(
        &'a self,
        project: &'a str,
    ) -> impl Iterator<Item = &'a TestResult> {
        self.results.values().filter(move |result| {
            let sample = self.samples.get(&result.sample);
            result.release().is_some()
                && sample.is_some_and(|sample| !project.is_empty() && sample.project == project)
        })
    }

    /// The letterhead in force.
    pub fn letterhead(&self) -> Option<&LetterheadSet> {
        self.letterheads.last().map(|noted| &noted.value)
    }

    /// The paper of this fingerprint: whole, or its first digits as they are printed, with or
    /// without spaces and hyphens. `None` also where more than one would fit.
    pub fn paper_of(&self, typed: &str) -> Option<&Noted<PaperIssued>> {
        let digits: String = typed
            .chars()
            .filter(|c| !c.is_whitespace() && *c != '-')
            .map(|c| c.to_ascii_lowercase())
            .collect();
        let is_one = digits.len() >= SHORTEST_FINGERPRINT
            && digits.len() <= 64
            && digits.bytes().all(|b| b.is_ascii_hexdigit());
        if !is_one {
            return None;
        }
        let mut found =
            self.papers.range(digits.clone()..).take_while(|(whole, _)| whole.starts_with(&digits));
        let first = found.next().map(|(_, paper)| paper);
        if found.next().is_some() { None } else { first }
    }

    /// The paper with this number.
    pub fn paper_numbered(&self, number: &str) -> Option<&Noted<PaperIssued>> {
        self.papers.values().find(|paper| paper.value.number == number)
    }

    /// The papers of a kind about something, oldest first.
    pub fn papers_about(&self, kind: PaperKind, of: &str) -> Vec<&Noted<PaperIssued>> {
        let mut papers: Vec<_> = self
            .papers
            .values()
            .filter(|paper| paper.value.paper == kind && paper.value.of == of)
            .collect();
        papers.sort_by_key(|paper| paper.position);
        papers
    }

    /// The report that was issued last of the version of a result that counts.
    pub fn issued_report(&self, result: &TestResult) -> Option<&Noted<PaperIssued>> {
        let version = result.version();
        self.papers_about(PaperKind::TestReport, result.code.as_str())
            .into_iter()
            .rfind(|paper| paper.value.covers.iter().all(|one| one.version == version))
    }

    /// What has happened since a paper was issued that its reader should know; nothing while it
    /// says what the laboratory still says.
    pub fn since_issue(&self, paper: &Noted<PaperIssued>) -> Vec<Since> {
        let issued = &paper.value;
        let replaced = self
            .papers
            .values()
            .filter(|other| other.value.replaces.as_deref() == Some(issued.number.as_str()))
            .map(|other| Since::Replaced {
                by: other.value.number.clone(),
                reason: other.value.reason.clone(),
            });
        let covered = || {
            issued
                .covers
                .iter()
                .filter_map(|one| Some((one.version, self.results.get(&one.result)?)))
        };
        let revised =
            covered().filter(|(version, result)| result.version() > *version).map(|(_, result)| {
                Since::Revised {
                    result: result.code.clone(),
                    version: result.version(),
                    reason: result
                        .current()
                        .map(|now| now.value.reason.clone())
                        .unwrap_or_default(),
                }
            });
        let doubted = covered().flat_map(|(_, result)| {
            self.doubts_of(&result.code)
                .filter(|doubt| !doubt.closed.contains_key(&result.code))
                .map(|doubt| Since::InDoubt {
                    result: result.code.clone(),
                    doubt: doubt.code.clone(),
                    reason: doubt.opened.value.clone(),
                })
        });
        replaced.chain(revised).chain(doubted).collect()
    }
}
