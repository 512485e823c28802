//! `stonewear paper check` and `stonewear paper list`: is this paper what was issued, and does it
//! still stand?

use crate::answer::{Answer, Failure};
use crate::arguments::Folder;
use serde_json::json;
use std::path::PathBuf;
use stonewear_report::{PaperCheck, PaperVerdict, printed};
use stonewear_runtime::LaboratoryView;

#[derive(Debug, clap::Args)]
pub(super) struct Check {
    #[command(flatten)]
    folder: Folder,
    /// The file.
    file: PathBuf,
}

/// The exit status of each verdict; the help of the command lists them.
fn exit_status(verdict: PaperVerdict) -> u8 {
    match verdict {
        PaperVerdict::Stands => 0,
        PaperVerdict::Superseded => 10,
        PaperVerdict::InDoubt => 11,
        PaperVerdict::Altered => 12,
        PaperVerdict::NotIssued => 13,
        PaperVerdict::OfAnotherLaboratory => 14,
        PaperVerdict::NoMark => 15,
    }
}

pub(super) fn check(check: &Check) -> Result<Answer, Failure> {
    let view = LaboratoryView::open(&check.folder.place()?)?;
    let file = check.file.display();
    let bytes = std::fs::read(&check.file)
        .map_err(|error| Failure::Surroundings(format!("{file} cannot be read: {error}")))?;
    let origin = view.origin().map_err(Failure::surroundings)?;
    let found = PaperCheck::of_file(view.lab(), &origin.laboratory, &bytes);
    let words = found.in_words(view.lab());
    let text = format!("{file}: {}", words.join("\n"));
    let answer = Answer::new(text, json!({ "file": check.file, "check": found, "words": words }));
    match exit_status(found.verdict) {
        0 => Ok(answer),
        status => Err(Failure::Answered(Box::new(answer), status)),
    }
}

#[derive(Debug, clap::Args)]
pub(super) struct List {
    #[command(flatten)]
    folder: Folder,
}

pub(super) fn list(list: &List) -> Result<Answer, Failure> {
    let view = LaboratoryView::open(&list.folder.place()?)?;
    let lab = view.lab();
    let mut papers: Vec<_> = lab.papers.values().collect();
    papers.sort_by_key(|paper| paper.position);
    let mut text = String::new();
    let mut listed = Vec::new();
    for paper in papers {
        let found = PaperCheck::of_record(lab, paper);
        text.push_str(&format!(
            "{:14} {:10} {}  {:22} {}\n",
            paper.value.number,
            lab.local(paper.at).date(),
            printed(&paper.value.fingerprint),
            paper.value.of,
            found.verdict.in_words()
        ));
        listed.push(json!({ "paper": paper, "verdict": found.verdict, "since": found.since }));
    }
    if listed.is_empty() {
        text.push_str("no paper was issued yet");
    }
    Ok(Answer::new(text, json!({ "papers": listed })))
}
