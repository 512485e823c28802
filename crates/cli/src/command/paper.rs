//! `stonewear paper`: a result as a PDF.

use crate::answer::{Answer, Failure};
use crate::arguments::Folder;
use serde_json::json;
use std::path::PathBuf;
use stonewear_lab::ResultCode;
use stonewear_report::Typesetter;
use stonewear_runtime::LaboratoryView;

/// Print the test report of a result as PDF; a draft while nobody has released it.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Example:\n\
\x20 stonewear paper L26-001 --out report.pdf")]
pub(crate) struct Paper {
    #[command(flatten)]
    folder: Folder,
    /// The result.
    result: String,
    /// File to write.
    #[arg(long, short, value_name = "FILE")]
    out: PathBuf,
}

pub(crate) fn run(paper: &Paper) -> Result<Answer, Failure> {
    let view = LaboratoryView::open(&paper.folder.dir)?;
    let typed = paper.result.trim().to_uppercase();
    let Some(result) = view.lab().results.get(typed.as_str()) else {
        let known = view.lab().results.keys().map(ResultCode::as_str);
        return Err(super::unknown("there is no result", paper.result.trim(), known));
    };
    let anchor = view.anchor_of(result).map_err(Failure::surroundings)?;
    let report = stonewear_report::test_report(view.lab(), result, anchor);
    let press = stonewear_paper::Press::new().map_err(Failure::surroundings)?;
    let bytes = press.test_report(&report).map_err(Failure::surroundings)?;
    std::fs::write(&paper.out, &bytes).map_err(|error| {
        Failure::Surroundings(format!("{} cannot be written: {error}", paper.out.display()))
    })?;
    let released = report.authorised.is_some();
    let standing = if released { "" } else { ", a draft: nobody has released this result" };
    Ok(Answer::new(
        format!("{}: report {}{standing}", paper.out.display(), report.number),
        json!({
            "file": paper.out,
            "report": report.number,
            "bytes": bytes.len(),
            "released": released,
        }),
    ))
}
