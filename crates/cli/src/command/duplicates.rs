//! `stonewear duplicates`: how far people repeat, from pairs among the laboratory's own results.

use super::sheet;
use crate::answer::{Answer, Failure};
use crate::arguments::Folder;
use serde_json::json;
use std::path::PathBuf;
use stonewear_report::{duplicates_csv, duplicates_sentence, duplicates_sheet};
use stonewear_runtime::LaboratoryView;

/// Show the duplicates of each person by each method: pairs, spread, and whether people differ.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Example:\n\
\x20 stonewear duplicates --method astm-d6928\n\
\x20 stonewear duplicates --csv > pairs.csv\n\
\x20 stonewear duplicates --out duplicates.pdf")]
pub(crate) struct Duplicates {
    #[command(flatten)]
    folder: Folder,
    /// Only this method.
    #[arg(long, value_name = "METHOD")]
    method: Option<String>,
    /// The pairs as a table with commas.
    #[arg(long, conflicts_with = "out")]
    csv: bool,
    /// Print everything to this PDF file.
    #[arg(long, short, value_name = "FILE")]
    out: Option<PathBuf>,
}

pub(crate) fn run(duplicates: &Duplicates) -> Result<Answer, Failure> {
    let view = LaboratoryView::open(&duplicates.folder.place()?)?;
    let lab = view.lab();
    let mut all = lab.duplicates();
    if let Some(typed) = &duplicates.method {
        all.retain(|one| one.method.answers_to(typed.trim()));
        if all.is_empty() {
            let message =
                format!("nothing was tested by “{typed}”; `stonewear show` lists methods");
            return Err(Failure::WrongInput(message));
        }
    }
    if let Some(out) = &duplicates.out {
        return sheet::print(&duplicates_sheet(lab, &all, view.now()), out);
    }
    let text = if duplicates.csv {
        duplicates_csv(&all)
    } else {
        let mut text = String::new();
        for of_method in &all {
            text += &format!("{}: {}\n", of_method.method, duplicates_sentence(of_method));
            for person in &of_method.people {
                text += &format!("  {}: {}\n", person.person, person.words.join(" "));
            }
        }
        text
    };
    Ok(Answer::new(text, json!({ "duplicates": all })))
}
