//! The signatures of a journal: keys, checkpoints, outside time stamps, and what all that vouches for.

use super::token::manager;
use crate::answer::{Answer, Failure};
use crate::arguments::{Asking, Folder};
use serde_json::json;
use std::path::{Path, PathBuf};
use stonewear_journal::signature::{Coverage, Line, PublicKey};
use stonewear_lab::PersonCode;
use stonewear_runtime::{SigningError, Verified};

/// Sign how far the journal has come, now.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Example:\n\
\x20 stonewear journal sign")]
pub(crate) struct Sign {
    #[command(flatten)]
    folder: Folder,
}

/// Show the key by which the journal is signed, or let a new one take its place.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Example:\n\
\x20 stonewear journal key\n\
\x20 stonewear journal key --new 'the machine was replaced' --by IK")]
pub(crate) struct Key {
    #[command(flatten)]
    asking: Asking,
    /// Make a new key, for this reason; the old one vouches for it.
    #[arg(long, value_name = "REASON", requires = "by")]
    new: Option<String>,
}

/// Write a request for an outside time stamp (RFC 3161) over the last signature into a file. Send it to
/// a time-stamping authority of your choice; nothing is sent from here.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Example:\n\
\x20 stonewear journal stamp-request --out request.tsq")]
pub(crate) struct StampRequest {
    #[command(flatten)]
    folder: Folder,
    /// File to write.
    #[arg(long, short, value_name = "FILE")]
    out: PathBuf,
}

/// Keep the answer of a time-stamping authority beside the journal. That it stamps the last signature is
/// looked at; the authority's own signature is not: `openssl ts -verify` does that.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Example:\n\
\x20 stonewear journal stamp-keep answer.tsr")]
pub(crate) struct StampKeep {
    #[command(flatten)]
    folder: Folder,
    /// The answer, DER.
    file: PathBuf,
}

/// Take over that entries at the end of the journal are lost, and go on from what is there: whoever may
/// manage does. That they are missing is signed, and named whenever the journal is verified.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Example:\n\
\x20 stonewear journal accept-end --by IK --reason 'the disk failed; the bench sheets of the day were entered again'")]
pub(crate) struct AcceptEnd {
    #[command(flatten)]
    asking: Asking,
    /// What happened, and what was done about it.
    #[arg(long)]
    reason: String,
}

pub(crate) fn sign(asked: &Sign) -> Result<Answer, Failure> {
    let line =
        stonewear_runtime::sign_folder(&asked.folder.place()?, "asked for").map_err(failure)?;
    Ok(signed("signed", &line))
}

pub(crate) fn key(asked: &Key) -> Result<Answer, Failure> {
    let dir = &asked.asking.folder.dir;
    if let Some(why) = &asked.new {
        let (_, by) = manager(&asked.asking)?;
        let why = format!("{why} ({by})");
        let line = stonewear_runtime::new_signing_key(&asked.asking.folder.place()?, &why)
            .map_err(failure)?;
        let mut answer = signed("a new key was made, and the old one vouches for it;", &line);
        answer
            .text
            .push_str("\nThe old key lies beside the new one; destroy it when nobody needs it.");
        return Ok(answer);
    }
    let Some(key) = stonewear_runtime::public_key(dir).map_err(failure)? else {
        let text = "nothing is signed yet; `stonewear journal sign` makes a key and signs";
        return Ok(Answer { text: text.to_owned(), json: json!({ "key": null }), is_no: true });
    };
    let fingerprint = key.fingerprint();
    let text = format!(
        "fingerprint {fingerprint}\npublic key  {key}\n\n{}\n\
         Note the fingerprint outside this machine, or hand the key over: with it anybody can show \
         that what it signed was not written anew (stonewear journal verify --public-key).",
        key.pem()
    );
    let json = json!({ "key": key, "fingerprint": fingerprint, "pem": key.pem() });
    Ok(Answer::new(text, json))
}

fn signed(what: &str, line: &Line) -> Answer {
    let text =
        format!("{what} entries 1 to {}, by the key {} at {}", line.position, line.key, line.at);
    Answer::new(text, json!({ "signature": line }))
}

pub(crate) fn stamp_request(asked: &StampRequest) -> Result<Answer, Failure> {
    let (position, bytes) =
        stonewear_runtime::stamp_request(&asked.folder.place()?).map_err(failure)?;
    std::fs::write(&asked.out, &bytes).map_err(|error| {
        Failure::Surroundings(format!("{} cannot be written: {error}", asked.out.display()))
    })?;
    let text = format!(
        "{}: a request for a stamp of entries 1 to {position}. Send it to a time-stamping authority \
         (Content-Type: application/timestamp-query), and keep the answer: stonewear journal stamp-keep",
        asked.out.display()
    );
    Ok(Answer::new(text, json!({ "file": asked.out, "position": position })))
}

pub(crate) fn stamp_keep(asked: &StampKeep) -> Result<Answer, Failure> {
    let file = asked.file.display();
    let answer = std::fs::read(&asked.file)
        .map_err(|error| Failure::Surroundings(format!("{file} cannot be read: {error}")))?;
    let position = match stonewear_runtime::keep_stamp(&asked.folder.dir, &answer) {
        Err(SigningError::Nothing(what)) => {
            return Err(Failure::WrongInput(format!("{file}: {what}")));
        }
        kept => kept.map_err(failure)?,
    };
    let text = format!("kept: the stamp vouches for entries 1 to {position}");
    Ok(Answer::new(text, json!({ "position": position })))
}

pub(crate) fn accept_end(asked: &AcceptEnd) -> Result<Answer, Failure> {
    let reason = asked.reason.trim();
    if reason.is_empty() || asked.asking.by.trim().is_empty() {
        let what = "--by and --reason: who takes over that entries are lost, and why";
        return Err(Failure::WrongInput(what.to_owned()));
    }
    let by = PersonCode::from(asked.asking.by.trim().to_uppercase());
    let dir = asked.asking.folder.only_in_a_file(
        "where the end of a database is lost, its owner restores it by PostgreSQL's own means",
    )?;
    let line = stonewear_runtime::accept_end(dir, &by, reason).map_err(failure)?;
    let until = line.lost_until.unwrap_or(line.position);
    let text = format!(
        "entries {} to {until} are lost; the laboratory goes on behind entry {}",
        line.position + 1,
        line.position
    );
    Ok(Answer::new(text, json!({ "signature": line })))
}

fn failure(error: SigningError) -> Failure {
    match error {
        SigningError::Open(error) => error.into(),
        SigningError::Nothing(what) | SigningError::MayNot(what) => Failure::Refused(what),
        other => Failure::surroundings(other),
    }
}

/// The key that a person names: a file, or its digits.
pub(super) fn named_key(typed: &str) -> Result<PublicKey, Failure> {
    let text = if Path::new(typed).is_file() {
        std::fs::read_to_string(typed)
            .map_err(|error| Failure::Surroundings(format!("{typed} cannot be read: {error}")))?
    } else {
        typed.to_owned()
    };
    text.parse().map_err(|error| Failure::WrongInput(format!("--public-key: {error}")))
}

/// What was found, in words and for programs, behind what the chain itself says.
pub(super) fn add(
    answer: &mut Answer,
    verified: &Verified,
    trusted: Option<&PublicKey>,
    dir: bool,
) {
    let mut lines = vec![std::mem::take(&mut answer.text)];
    if verified.journal.intact() {
        lines.extend(vouched(&verified.signatures, verified.journal.facts, trusted));
        if dir {
            lines.push(format!(
                "files that facts name: {}, compared with their hashes",
                verified.files
            ));
        }
    }
    let faults = verified.signatures.faults.iter().map(|one| format!("signatures: {one}"));
    lines.extend(faults.chain(verified.wrong.iter().cloned()).map(|one| format!("WRONG: {one}")));
    for stamp in &verified.stamps {
        lines.push(match stamp {
            Ok(position) => format!(
                "an outside time stamp is kept for entries 1 to {position}; \
                 check it with openssl ts -verify and the authority's certificate"
            ),
            Err(what) => format!("WRONG: {what}"),
        });
    }
    answer.text = lines.join("\n");
    answer.is_no |= !verified.is_good();
    if let Some(document) = answer.json.as_object_mut() {
        document.insert("signatures".to_owned(), json!(verified.signatures));
        document.insert("wrong".to_owned(), json!(verified.wrong));
        document.insert("files".to_owned(), json!(verified.files));
        document.insert("good".to_owned(), json!(verified.is_good()));
    }
}

/// Who could have changed what.
fn vouched(signatures: &Coverage, facts: u64, trusted: Option<&PublicKey>) -> Vec<String> {
    let mut lines = Vec::new();
    let Coverage { until, .. } = signatures;
    if let (Some(at), Some(key)) = (signatures.at, signatures.key) {
        lines.push(format!(
            "signed: entries 1 to {until}, last at {at}, by the key {key} ({} signatures)",
            signatures.checkpoints
        ));
        lines.push(format!(
            "  Without that key nobody could change, take out, add or move one of the entries 1 to {until} \
             unfound. Who can read signing.key could write all of them anew: the account under which the \
             program runs, and whoever administers this machine. Against them stands what was noted or \
             kept elsewhere: a printed report, a backup, an outside time stamp."
        ));
        if trusted.is_some() {
            lines.push(
                "  The key is the one that was named, or one that it vouches for by its signature."
                    .to_owned(),
            );
        } else {
            lines.push(
                "  The key was taken from the same folder: who can write there could have put another in \
                 its place. Compare the fingerprint with one that was noted elsewhere, or name the key: \
                 --public-key."
                    .to_owned(),
            );
        }
    }
    if *until < facts {
        lines.push(format!(
            "not signed: entries {} to {facts}. Who can write journal.sqlite could have replaced them, \
             with hashes that fit; only a later head that was noted elsewhere would show it.",
            until + 1
        ));
    }
    for key in &signatures.keys {
        let by = match key.vouched_by {
            Some(by) => format!("the key {by} vouches for it"),
            None if key.from <= 1 || signatures.keys.first() == Some(key) => {
                "the first one".to_owned()
            }
            None => "NO earlier key vouches for it".to_owned(),
        };
        lines.push(format!("key {} from entry {} on, {}: {by}", key.fingerprint, key.from, key.at));
    }
    for loss in &signatures.losses {
        lines.push(format!(
            "LOST, and taken over at {}: entries {} to {}, as they were recorded first: {}",
            loss.at, loss.from, loss.until, loss.why
        ));
    }
    lines
}
