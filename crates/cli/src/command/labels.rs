//! `stonewear labels`: labels to stick on bags, jars and instruments.

use crate::answer::{Answer, Failure};
use crate::arguments::Folder;
use serde_json::json;
use std::path::PathBuf;
use stonewear_report::{LabelSize, Typesetter};
use stonewear_runtime::LaboratoryView;

/// Print labels as PDF: the code to be scanned and to be read, and what it belongs to.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Example:\n\
\x20 stonewear labels S26-001 S26-001-1 JAR-3\n\
\x20 stonewear labels JAR-1 JAR-2 JAR-3 --size A4-sheet --out jars.pdf")]
pub(crate) struct Labels {
    #[command(flatten)]
    folder: Folder,
    /// Codes of samples, specimens, items, or anything else that has one.
    #[arg(required = true, value_name = "CODE")]
    codes: Vec<String>,
    /// Width x height of a label in mm, or A4-sheet for 3 x 8 labels of 70 mm x 37 mm.
    #[arg(long, default_value = "62x29")]
    size: LabelSize,
    /// Address of the laboratory's page, like http://bench:7007: a scanner then types the address
    /// of the thing instead of its code.
    #[arg(long, value_name = "URL", default_value = "")]
    base: String,
    /// File to write.
    #[arg(long, short, value_name = "FILE", default_value = "labels.pdf")]
    out: PathBuf,
}

pub(crate) fn run(labels: &Labels) -> Result<Answer, Failure> {
    let view = LaboratoryView::open(&labels.folder.place()?)?;
    let lab = view.lab();
    let things = labels.codes.iter().map(|code| {
        let known = || super::laboratory::codes(lab);
        lab.thing(code)
            .ok_or_else(|| super::unknown("nothing here has the code", code.trim(), known()))
    });
    let things = things.collect::<Result<Vec<_>, Failure>>()?;
    let at = view.now();
    let sheet = stonewear_report::labels(lab, &things, labels.size, &labels.base, at);
    let press = stonewear_paper::Press::new().map_err(Failure::surroundings)?;
    let bytes = press.labels(&sheet).map_err(Failure::surroundings)?;
    std::fs::write(&labels.out, &bytes).map_err(|error| {
        Failure::Surroundings(format!("{} cannot be written: {error}", labels.out.display()))
    })?;
    let codes: Vec<&str> = things.iter().map(|thing| thing.code.as_str()).collect();
    Ok(Answer::new(
        format!("{}: labels of {}", labels.out.display(), codes.join(", ")),
        json!({ "file": labels.out, "codes": codes, "bytes": bytes.len() }),
    ))
}
