//! `stonewear api`: the interface for programs, described.

use crate::answer::{Answer, Failure};
use std::path::PathBuf;

#[derive(Debug, clap::Subcommand)]
pub(crate) enum Api {
    /// Print the description of the interface for programs, OpenAPI 3.1 as JSON.
    #[command(after_help = "\
Example:\n\
\x20 stonewear api describe --out openapi.json")]
    Describe {
        /// Write it to this file.
        #[arg(long, value_name = "FILE")]
        out: Option<PathBuf>,
    },
}

pub(crate) fn run(api: &Api) -> Result<Answer, Failure> {
    let Api::Describe { out } = api;
    let description = stonewear_server::description();
    let text = format!("{description:#}");
    if let Some(file) = out {
        std::fs::write(file, format!("{text}\n")).map_err(|error| {
            Failure::Surroundings(format!("{} cannot be written: {error}", file.display()))
        })?;
        let paths = description["paths"].as_object().map_or(0, serde_json::Map::len);
        let said = format!("{}: {paths} addresses", file.display());
        return Ok(Answer::new(said, serde_json::json!({ "file": file, "addresses": paths })));
    }
    Ok(Answer::new(text, description.clone()))
}
