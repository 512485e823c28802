//! `stonewear paper issue` and `stonewear paper project`.

use super::issue_paper;
use crate::answer::{Answer, Failure};
use crate::arguments::Asking;
use std::path::PathBuf;
use stonewear_lab::fact::{PaperKind, PaperLanguage};
use stonewear_runtime::Wanted;

#[derive(Debug, clap::Args)]
pub(super) struct Issue {
    #[command(flatten)]
    asking: Asking,
    /// The result.
    result: String,
    /// Why it replaces an earlier report of the same version; it is printed.
    #[arg(long, value_name = "WHY", default_value = "")]
    reason: String,
    /// Its language: en, fr, es or de; otherwise that of the letterhead.
    #[arg(long, value_name = "TAG")]
    language: Option<PaperLanguage>,
    /// Write the file here, too; it is kept in the laboratory's folder in any case.
    #[arg(long, short, value_name = "FILE")]
    out: Option<PathBuf>,
}

pub(super) fn report(issue: &Issue) -> Result<Answer, Failure> {
    let wanted = Wanted {
        kind: PaperKind::TestReport,
        of: &issue.result,
        reason: &issue.reason,
        language: issue.language,
    };
    issue_paper(&issue.asking, wanted, issue.out.as_deref())
}

#[derive(Debug, clap::Args)]
pub(super) struct Project {
    #[command(flatten)]
    asking: Asking,
    /// The project, as its samples name it.
    project: String,
    /// Why it replaces an earlier report of the project; it is printed.
    #[arg(long, value_name = "WHY", default_value = "")]
    reason: String,
    /// Its language: en, fr, es or de; otherwise that of the letterhead.
    #[arg(long, value_name = "TAG")]
    language: Option<PaperLanguage>,
    /// Write the file here, too; it is kept in the laboratory's folder in any case.
    #[arg(long, short, value_name = "FILE")]
    out: Option<PathBuf>,
}

pub(super) fn project(project: &Project) -> Result<Answer, Failure> {
    let wanted = Wanted {
        kind: PaperKind::ProjectReport,
        of: &project.project,
        reason: &project.reason,
        language: project.language,
    };
    issue_paper(&project.asking, wanted, project.out.as_deref())
}
