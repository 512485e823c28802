//! `stonewear journal`: verify, export, pack and unpack.

use super::{carry, signing};
use crate::answer::{Answer, Failure};
use crate::arguments::Folder;
use serde_json::json;
use std::io::{ErrorKind, Write};
use std::path::{Path, PathBuf};
use stonewear_journal::Verification;
use stonewear_journal::signature::PublicKey;
use stonewear_runtime::{LaboratoryView, OpenError, Packed};

#[derive(Debug, clap::Subcommand)]
pub(crate) enum Journal {
    /// Verify a laboratory's journal, or an exported one: its chain, what its signatures vouch for,
    /// the files that facts name. Exit status 1 when something is wrong.
    #[command(after_help = "\
Example:\n\
\x20 stonewear journal verify\n\
\x20 stonewear journal verify --public-key laboratory.pem\n\
\x20 stonewear journal verify export.jsonl --signatures signatures.jsonl")]
    Verify {
        /// An exported journal, JSON Lines; left out, the journal in the folder is verified.
        #[arg(conflicts_with = "dir")]
        file: Option<PathBuf>,
        #[command(flatten)]
        folder: Folder,
        /// The file of signatures that belongs to the exported journal.
        #[arg(long, value_name = "FILE", requires = "file")]
        signatures: Option<PathBuf>,
        /// Count only what this key, or one that it vouches for, has signed: a file (PEM), or the
        /// 64 digits.
        #[arg(long, value_name = "KEY")]
        public_key: Option<String>,
    },
    Sign(signing::Sign),
    Key(signing::Key),
    StampRequest(signing::StampRequest),
    StampKeep(signing::StampKeep),
    AcceptEnd(signing::AcceptEnd),
    /// Write a laboratory's journal to stdout as JSON Lines, one fact a line.
    #[command(after_help = "\
Example:\n\
\x20 stonewear journal export > export.jsonl\n\
\x20 stonewear journal export --files attached > export.jsonl")]
    Export {
        #[command(flatten)]
        folder: Folder,
        /// Also write every file that facts name (attached, imported, issued papers) into this
        /// folder, each under its SHA-256.
        #[arg(long, value_name = "FOLDER")]
        files: Option<PathBuf>,
    },
    /// Write the whole laboratory into a folder of plain files: journal, files, its own
    /// methods, the description of the format and a verifier in another language.
    #[command(after_help = "\
Example:\n\
\x20 stonewear journal pack --into handed-over")]
    Pack {
        #[command(flatten)]
        folder: Folder,
        /// The folder to write, empty or not there.
        #[arg(long, value_name = "FOLDER")]
        into: PathBuf,
    },
    /// Make a packed laboratory stand in an empty folder, the same hash for hash.
    #[command(after_help = "\
Example:\n\
\x20 stonewear journal unpack handed-over --dir laboratory")]
    Unpack {
        /// The packed folder.
        from: PathBuf,
        #[command(flatten)]
        folder: Folder,
    },
    Push(carry::Push),
    Pull(carry::Pull),
}

pub(crate) fn run(journal: &Journal) -> Result<Answer, Failure> {
    match journal {
        Journal::Verify { file, folder, signatures, public_key } => {
            let key = public_key.as_deref().map(signing::named_key).transpose()?;
            verify(file.as_deref(), folder, signatures.as_deref(), key.as_ref())
        }
        Journal::Sign(asked) => signing::sign(asked),
        Journal::Key(asked) => signing::key(asked),
        Journal::StampRequest(asked) => signing::stamp_request(asked),
        Journal::StampKeep(asked) => signing::stamp_keep(asked),
        Journal::AcceptEnd(asked) => signing::accept_end(asked),
        Journal::Export { folder, files } => {
            // Files first: should one be damaged, that is said before anything is written.
            if let Some(files) = files {
                attached(folder, files)?;
            }
            export(folder)
        }
        Journal::Pack { folder, into } => {
            moved("packed", into, &stonewear_runtime::pack(&folder.place()?, into)?)
        }
        Journal::Unpack { from, folder } => {
            let dir = folder.only_in_a_file(
                "unpack it into a folder, and carry it to the database: stonewear journal push",
            )?;
            moved("unpacked", dir, &stonewear_runtime::unpack(from, dir)?)
        }
        Journal::Push(asked) => carry::push(asked),
        Journal::Pull(asked) => carry::pull(asked),
    }
}

/// What was packed or unpacked, and where it stands now.
fn moved(verb: &str, to: &Path, packed: &Packed) -> Result<Answer, Failure> {
    let Packed { facts, head, files, methods } = packed;
    let text = format!(
        "{verb} into {}: {facts} facts, head {head}; files: {files}; own methods: {methods}",
        to.display()
    );
    let json = json!({
        "facts": facts, "head": head.to_string(), "files": files, "methods": methods,
    });
    Ok(Answer::new(text, json))
}

/// Writes every file that a fact names, each compared with its hash as it is read.
fn attached(folder: &Folder, into: &Path) -> Result<(), Failure> {
    let view = LaboratoryView::open(&folder.place()?).map_err(Failure::surroundings)?;
    let unwritten = |path: &Path, error: std::io::Error| {
        Failure::Surroundings(format!("{} could not be written: {error}", path.display()))
    };
    std::fs::create_dir_all(into).map_err(|error| unwritten(into, error))?;
    for file in view.lab().kept_files() {
        let bytes = view.kept(&file).map_err(Failure::surroundings)?;
        let path = into.join(&file.sha256);
        std::fs::write(&path, bytes).map_err(|error| unwritten(&path, error))?;
    }
    Ok(())
}

fn export(folder: &Folder) -> Result<Answer, Failure> {
    let mut stdout = std::io::BufWriter::new(std::io::stdout().lock());
    let outcome = match stonewear_runtime::export(&folder.place()?, &mut stdout) {
        Ok(outcome) => outcome,
        // A reader that has gone away, such as `head`, is no failure of ours.
        Err(OpenError::Folder { source, .. }) if source.kind() == ErrorKind::BrokenPipe => {
            return Ok(Answer::said());
        }
        Err(OpenError::Folder { source, .. }) => return Err(unwritten(&source)),
        Err(error) => return Err(error.into()),
    };
    match stdout.flush() {
        Err(error) if error.kind() != ErrorKind::BrokenPipe => return Err(unwritten(&error)),
        _ => {}
    }
    match outcome.what() {
        None => Ok(Answer::said()),
        Some(what) => Err(Failure::Surroundings(format!(
            "only what comes before the damage was exported: {what}"
        ))),
    }
}

fn unwritten(error: &std::io::Error) -> Failure {
    Failure::Surroundings(format!("the export could not be written: {error}"))
}

fn verify(
    file: Option<&Path>,
    folder: &Folder,
    signatures: Option<&Path>,
    key: Option<&PublicKey>,
) -> Result<Answer, Failure> {
    let verified = match (file, signatures) {
        (Some(file), None) if key.is_some() => {
            return Err(Failure::WrongInput(format!(
                "--public-key: {} holds no signatures; name their file with --signatures",
                file.display()
            )));
        }
        (Some(file), None) => return Ok(answer(&stonewear_runtime::verify_file(file)?)),
        (Some(file), Some(signatures)) => {
            stonewear_runtime::verify_export_with(file, signatures, key)?
        }
        (None, _) => stonewear_runtime::verify_whole(&folder.place()?, key)?,
    };
    let mut answer = answer(&verified.journal);
    signing::add(&mut answer, &verified, key, file.is_none());
    Ok(answer)
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
