//! `stonewear evidence`: what does this result stand on?

use crate::answer::{Answer, Failure};
use crate::arguments::Folder;
use serde_json::json;
use stonewear_lab::evidence::Proof;
use stonewear_runtime::LaboratoryView;

/// Show what a result stands on, from the result back to apparatus, balance and people. Exit
/// status 1 when a link is not proved.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Example:\n\
\x20 stonewear evidence L26-020 --dir demo-laboratory")]
pub(crate) struct Evidence {
    #[command(flatten)]
    folder: Folder,
    /// The result.
    result: String,
}

pub(crate) fn run(evidence: &Evidence) -> Result<Answer, Failure> {
    let view = LaboratoryView::open(&evidence.folder.place()?).map_err(Failure::surroundings)?;
    let lab = view.lab();
    let Some(result) = lab.results.get(evidence.result.trim().to_uppercase().as_str()) else {
        return Err(Failure::WrongInput(format!(
            "there is no result “{}”",
            evidence.result.trim()
        )));
    };
    let links = lab.evidence(result);
    let day = |at: jiff::Timestamp| lab.local(at).date().to_string();
    let mut text = String::new();
    for link in &links {
        let since = link.since.map(day).unwrap_or_default();
        let until = link.until.map(|until| format!(" until {}", day(until))).unwrap_or_default();
        let held = match &link.proof {
            Proof::Recorded => format!("recorded {since}"),
            Proof::Proved { check } => format!("proved by {check} since {since}{until}"),
            Proof::Authorised { authorisation } => {
                format!("authorised by {authorisation} since {since}{until}")
            }
            Proof::Supervised { by } => format!("watched by {by} since {since}{until}"),
            Proof::NotProved { why } => format!("NOT PROVED: {why}"),
        };
        text.push_str(&format!("{:22} {:18} {:28} {held}\n", link.role, link.code, link.name));
    }
    let is_no = links.iter().any(|link| matches!(link.proof, Proof::NotProved { .. }));
    Ok(Answer { text, json: json!({ "result": result.code, "evidence": links }), is_no })
}
