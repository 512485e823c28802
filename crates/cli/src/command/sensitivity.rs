//! `stonewear sensitivity`: what the laboratory's own experiments say about how the loss follows
//! the conditions of a run. Doubts use it.

use super::asking::ask;
use crate::answer::{Answer, Failure};
use crate::arguments::{Asking, Folder};
use serde_json::json;
use stonewear_lab::request::RecordSensitivity;
use stonewear_runtime::LaboratoryView;

#[derive(Debug, clap::Subcommand)]
pub(crate) enum Sensitivity {
    /// Record what an experiment says.
    #[command(after_help = "\
Example:\n\
\x20 stonewear sensitivity record --by AB charge --method astm-d6928 --percent-of-loss 0.9 --uncertainty 0.3 --experiment 'report X-4'")]
    Record {
        #[command(flatten)]
        asking: Asking,
        /// The condition: revolutions, charge or water-temperature.
        condition: String,
        /// The method it holds for, like astm-d6928.
        #[arg(long)]
        method: String,
        /// Percent of the loss per 1 % more revolutions or charge, or per 1 °C warmer water.
        #[arg(long, value_name = "PERCENT", allow_negative_numbers = true)]
        percent_of_loss: String,
        /// Its expanded uncertainty (k = 2), in the same unit.
        #[arg(long, value_name = "U", default_value = "", allow_negative_numbers = true)]
        uncertainty: String,
        /// The experiment: where its record is.
        #[arg(long)]
        experiment: String,
    },
    /// List what is recorded, newest first.
    #[command(after_help = "\
Example:\n\
\x20 stonewear sensitivity list")]
    List {
        #[command(flatten)]
        folder: Folder,
    },
}

pub(crate) fn run(sensitivity: Sensitivity) -> Result<Answer, Failure> {
    match sensitivity {
        Sensitivity::Record {
            asking,
            condition,
            method,
            percent_of_loss,
            uncertainty,
            experiment,
        } => ask(
            &asking,
            RecordSensitivity { condition, method, percent_of_loss, uncertainty, experiment },
        ),
        Sensitivity::List { folder } => list(&folder),
    }
}

fn list(folder: &Folder) -> Result<Answer, Failure> {
    let laboratory = LaboratoryView::open(&folder.place()?).map_err(Failure::surroundings)?;
    let recorded: Vec<_> = laboratory.lab().sensitivities.iter().rev().collect();
    let lines: Vec<String> = recorded
        .iter()
        .map(|one| {
            let value = &one.value;
            let within = value.uncertainty.map_or_else(String::new, |u| format!(" ± {u} (k = 2)"));
            format!(
                "{}: {}{within} % of the loss {} ({})",
                value.method,
                value.percent_of_loss,
                value.condition.per(),
                value.experiment
            )
        })
        .collect();
    let said = if lines.is_empty() {
        "no experiment is recorded; effects are worked out from published or derived figures only"
            .to_owned()
    } else {
        lines.join("\n")
    };
    Ok(Answer::new(said, json!({ "sensitivities": recorded })))
}
