//! Writing a paper or a file that a command was asked for.

use crate::answer::{Answer, Failure};
use serde_json::json;
use std::path::Path;
use stonewear_report::{Sheet, Typesetter};

/// Prints a sheet as PDF to a file.
pub(super) fn print(sheet: &Sheet, out: &Path) -> Result<Answer, Failure> {
    let press = stonewear_paper::Press::new().map_err(Failure::surroundings)?;
    let bytes = press.sheet(sheet).map_err(Failure::surroundings)?;
    write(out, &bytes)?;
    let text = format!("{}: {}, {}", out.display(), sheet.kind, sheet.title);
    Ok(Answer::new(text, json!({ "file": out, "paper": sheet.kind, "bytes": bytes.len() })))
}

/// Writes a file.
pub(super) fn write(out: &Path, bytes: &[u8]) -> Result<(), Failure> {
    std::fs::write(out, bytes).map_err(|error| {
        Failure::Surroundings(format!("{} cannot be written: {error}", out.display()))
    })
}
