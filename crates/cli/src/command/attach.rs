//! `stonewear attach` and `stonewear file`: photos and files of what was observed, in and out.

use super::asking::{answered, open};
use crate::answer::{Answer, Failure};
use crate::arguments::{Asking, Folder};
use serde_json::json;
use std::fs::{File, OpenOptions};
use std::io::{Read, Write};
use std::path::PathBuf;
use stonewear_lab::attachment::LARGEST_FILE;
use stonewear_runtime::{LaboratoryView, NewFile};

/// Attach a photo or a file to a check, an item, a sample, a specimen, a run, a result or an
/// authorisation.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
A picture (JPEG, PNG, WebP), a PDF, or text (.txt, .csv) of at most 20 MB; the content says which.\n\
The journal keeps its SHA-256, the folder its bytes.\n\n\
Example:\n\
\x20 stonewear attach --by AB C26-001 lid-mark.jpg --step lid-marks\n\
\x20 stonewear attach --by AB BAL-1 certificate.pdf")]
pub(crate) struct Attach {
    #[command(flatten)]
    asking: Asking,
    /// What it belongs to.
    code: String,
    /// The file.
    file: PathBuf,
    /// The step of the check that it belongs to.
    #[arg(long, value_name = "STEP", default_value = "")]
    step: String,
}

/// Write an attached file out again, after comparing it with its hash.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
`stonewear show CODE` lists the files of a thing with their hashes.\n\n\
Example:\n\
\x20 stonewear file 3f79bb7b435b05321651daefd374cdc681dc06faa65e374e38337b88ca046dea --out lid-mark.jpg")]
pub(crate) struct FileOut {
    #[command(flatten)]
    folder: Folder,
    /// SHA-256 of the file, 64 hexadecimal digits.
    hash: String,
    /// Where to write it; a file that is there already is not replaced.
    #[arg(long, value_name = "FILE")]
    out: PathBuf,
}

pub(crate) fn attach(attach: Attach) -> Result<Answer, Failure> {
    let path = attach.file.display();
    let unreadable = |error| Failure::Surroundings(format!("{path} cannot be read: {error}"));
    let file = File::open(&attach.file).map_err(unreadable)?;
    let mut bytes = Vec::new();
    // One byte more than is kept is enough to be refused for its size.
    file.take(LARGEST_FILE + 1).read_to_end(&mut bytes).map_err(unreadable)?;
    let name = attach.file.file_name().map(|name| name.to_string_lossy()).unwrap_or_default();
    let (mut laboratory, by) = open(&attach.asking)?;
    let new = NewFile { to: &attach.code, step: &attach.step, name: &name, bytes: &bytes };
    let receipt = laboratory.attach(&by, None, &new);
    answered(laboratory.lab(), "attach-file", receipt)
}

pub(crate) fn file(file: &FileOut) -> Result<Answer, Failure> {
    let view = LaboratoryView::open(&file.folder.place()?)?;
    let hash = file.hash.trim().to_lowercase();
    let kept = view.file(&hash).map_err(Failure::surroundings)?;
    let Some((bytes, attached)) = kept.zip(view.lab().attached(&hash)) else {
        return Err(Failure::WrongInput(format!(
            "no file with the hash “{hash}” is attached here"
        )));
    };
    let out = file.out.display();
    // What is there may be somebody's only copy of something.
    OpenOptions::new()
        .write(true)
        .create_new(true)
        .open(&file.out)
        .and_then(|mut to| to.write_all(&bytes))
        .map_err(|error| Failure::Surroundings(format!("{out} cannot be written: {error}")))?;
    let text = format!(
        "wrote “{}” ({} bytes) to {out}; its hash is right",
        attached.value.name,
        bytes.len()
    );
    Ok(Answer::new(text, json!({ "file": attached, "out": file.out })))
}
