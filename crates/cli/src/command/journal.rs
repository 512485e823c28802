//! `stonewear journal`: verify and export.

use crate::answer::{Answer, Failure};
use crate::arguments::Folder;
use serde_json::json;
use std::io::Write;
use std::path::PathBuf;
use stonewear_journal::Verification;

#[derive(Debug, clap::Subcommand)]
pub(crate) enum Journal {
    /// Verify a laboratory's journal, or an exported one. Exit status 1 when it is broken.
    Verify {
        /// An exported journal, JSON Lines.
        #[arg(conflicts_with = "dir")]
        file: Option<PathBuf>,
        /// Folder of the laboratory.
        #[arg(long, value_name = "DIR", required_unless_present = "file")]
        dir: Option<PathBuf>,
    },
    /// Write a laboratory's journal to stdout as JSON Lines, one fact a line.
    Export {
        #[command(flatten)]
        folder: Folder,
    },
}

pub(crate) fn run(journal: &Journal) -> Result<Answer, Failure> {
    match journal {
        Journal::Verify { file: Some(file), .. } => stonewear_runtime::verify_file(file)
            .map(|outcome| answer(&outcome))
            .map_err(Failure::surroundings),
        Journal::Verify { dir, .. } => {
            let dir = dir.clone().unwrap_or_else(|| PathBuf::from("laboratory"));
            stonewear_runtime::verify_folder(&dir)
                .map(|outcome| answer(&outcome))
                .map_err(Failure::surroundings)
        }
        Journal::Export { folder } => {
            let mut stdout = std::io::BufWriter::new(std::io::stdout().lock());
            let outcome = stonewear_runtime::export(&folder.dir, &mut stdout)
                .map_err(Failure::surroundings)?;
            stdout.flush().map_err(Failure::surroundings)?;
            match outcome.what() {
                None => Ok(Answer::default()),
                Some(what) => Err(Failure::Surroundings(format!(
                    "only what comes before the damage was exported: {what}"
                ))),
            }
        }
    }
}

fn answer(outcome: &Verification) -> Answer {
    let text = match outcome.what() {
        Some(what) => format!("BROKEN: {what}"),
        None => format!("intact: {} facts, head {}", outcome.facts, outcome.head.hash),
    };
    Answer {
        text,
        json: json!({
            "facts": outcome.facts,
            "head": outcome.head.hash.to_string(),
            "intact": outcome.intact(),
            "broken_at": outcome.broken_at(),
            "what": outcome.what(),
        }),
        is_no: !outcome.intact(),
    }
}
