//! `stonewear procedure`: check procedures, generated or from a file.

use crate::answer::{Answer, Failure};
use serde_json::json;
use std::path::{Path, PathBuf};
use stonewear_procedure::{Described, function_check, read_apparatus, step_json};

#[derive(Debug, clap::Subcommand)]
pub(crate) enum Procedure {
    /// Generate the function check of an apparatus from its description.
    #[command(after_help = "\
Example:\n\
\x20 stonewear procedure function-check --apparatus mill.toml")]
    FunctionCheck {
        /// The description file.
        #[arg(long, value_name = "FILE")]
        apparatus: PathBuf,
    },
}

pub(crate) fn run(procedure: &Procedure) -> Result<Answer, Failure> {
    let Procedure::FunctionCheck { apparatus } = procedure;
    let described = described(apparatus)?;
    let check = function_check(&described.apparatus);
    let mut text = format!("{}\n", check.title);
    for (number, step) in (1..).zip(&check.steps) {
        text.push_str(&format!(
            "{number:3}. {}: {}\n     {}\n",
            step.id, step.title, step.instruction
        ));
        if let Some(caution) = &step.caution {
            text.push_str(&format!("     Caution: {} ({})\n", caution.text, caution.source));
        }
    }
    for default in &described.defaults_used {
        text.push_str(&format!("default used: {default}\n"));
    }
    let steps: Vec<_> = check.steps.iter().map(step_json).collect();
    Ok(Answer::new(
        text,
        json!({
            "procedure": check.id,
            "title": check.title,
            "apparatus": described.apparatus,
            "defaults_used": described.defaults_used,
            "steps": steps,
        }),
    ))
}

/// Reads the description of an apparatus.
pub(crate) fn described(path: &Path) -> Result<Described, Failure> {
    let name = path.display().to_string();
    let text = std::fs::read_to_string(path)
        .map_err(|error| Failure::Surroundings(format!("{name} cannot be read: {error}")))?;
    read_apparatus(&name, &text).map_err(Failure::wrong_input)
}
