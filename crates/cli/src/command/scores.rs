//! `stonewear scores`: scores of this laboratory in the proficiency rounds of others.

use super::asking::ask;
use super::sheet;
use crate::answer::{Answer, Failure};
use crate::arguments::{Asking, Folder};
use crate::statistics::{file, picture, table};
use std::path::PathBuf;
use stonewear_lab::proficiency::{scores_csv, scores_document, series};
use stonewear_lab::request::{ActOnScore, CloseScore, TakeInScores};
use stonewear_report::{proficiency_sheet, score_chart};
use stonewear_runtime::LaboratoryView;

#[derive(Debug, clap::Subcommand)]
pub(crate) enum Scores {
    /// Take in the table of a provider: rows about this laboratory. One bad row, and none is taken.
    #[command(after_help = "\
Columns are found by name: round, date, material, value (or result_code), assigned_value, and\n\
standard_deviation or the uncertainties; method and quantity where the table has several.\n\n\
Example:\n\
\x20 stonewear scores take-in --by IK --provider 'Northern Rounds' --method astm-d6928 --file 2026.csv")]
    TakeIn {
        #[command(flatten)]
        asking: Asking,
        /// Who runs the rounds.
        #[arg(long)]
        provider: String,
        /// The method, where the table has no column for it.
        #[arg(long, default_value = "")]
        method: String,
        /// CSV file; `-` reads standard input.
        #[arg(long, value_name = "FILE")]
        file: PathBuf,
        /// Why rows that were taken in before are replaced.
        #[arg(long, default_value = "")]
        reason: String,
    },
    /// Record what was done about a score.
    #[command(after_help = "\
Example:\n\
\x20 stonewear scores act --by IK P26-004 --cause 'worn balls' --action 'new charge, jar mill checked'")]
    Act {
        #[command(flatten)]
        asking: Asking,
        /// The score.
        score: String,
        /// What was found to be the cause.
        #[arg(long)]
        cause: String,
        /// What was done.
        #[arg(long)]
        action: String,
    },
    /// Close the matter of a score.
    #[command(after_help = "\
Example:\n\
\x20 stonewear scores close --by IK P26-004 --finding 'the next round was satisfactory'")]
    Close {
        #[command(flatten)]
        asking: Asking,
        /// The score.
        score: String,
        /// What shows that it helped.
        #[arg(long)]
        finding: String,
    },
    /// Show the scores over the years.
    #[command(after_help = "\
Example:\n\
\x20 stonewear scores show --dir demo-laboratory --svg scores.svg\n\
\x20 stonewear scores show --dir demo-laboratory --out scores.pdf")]
    Show {
        #[command(flatten)]
        folder: Folder,
        /// Write the scores to this CSV file.
        #[arg(long, value_name = "FILE")]
        csv: Option<PathBuf>,
        /// Write the chart of the first series to this file.
        #[arg(long, value_name = "FILE")]
        svg: Option<PathBuf>,
        /// Print everything to this PDF file.
        #[arg(long, short, value_name = "FILE")]
        out: Option<PathBuf>,
    },
}

pub(crate) fn run(verb: Scores) -> Result<Answer, Failure> {
    match verb {
        Scores::TakeIn { asking, provider, method, file, reason } => {
            let table = file::text(&file)?;
            ask(&asking, TakeInScores { provider, method, table, reason })
        }
        Scores::Act { asking, score, cause, action } => {
            ask(&asking, ActOnScore { score, cause, action })
        }
        Scores::Close { asking, score, finding } => ask(&asking, CloseScore { score, finding }),
        Scores::Show { folder, csv, svg, out } => {
            let view = LaboratoryView::open(&folder.place()?)?;
            let lab = view.lab();
            if let Some(out) = &csv {
                sheet::write(out, scores_csv(lab).as_bytes())?;
            }
            let all = series(lab);
            if let Some(first) = all.first() {
                picture::write(|| score_chart(first).svg(), svg.as_deref())?;
            }
            if let Some(out) = &out {
                sheet::print(&proficiency_sheet(lab, view.now()), out)?;
            }
            let head =
                ["score", "round", "day", "material", "ours", "assigned", "", "", "verdict", ""];
            let mut text = String::new();
            for series in &all {
                let rows: Vec<Vec<String>> = series
                    .points
                    .iter()
                    .map(|point| {
                        let told = &point.score.told.value;
                        vec![
                            told.score.to_string(),
                            format!("{} {}", told.provider, told.round),
                            told.on.to_string(),
                            told.material.clone(),
                            told.value.to_string(),
                            told.assigned.to_string(),
                            point.scored.kind.symbol().to_owned(),
                            format!("{:.2}", point.scored.value),
                            point.scored.verdict.in_words().to_owned(),
                            point.score.wants().to_owned(),
                        ]
                    })
                    .collect();
                text += &format!("{}, {}\n", series.method, series.quantity);
                text += &table::columns(&head, &rows);
                text += &format!("\n{}\n", series.sentence());
            }
            if text.is_empty() {
                text = "no table of a provider was taken in".to_owned();
            }
            Ok(Answer::new(text, scores_document(lab)))
        }
    }
}
