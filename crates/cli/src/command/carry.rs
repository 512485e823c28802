//! `stonewear journal push` and `pull`: a journal carried between a folder and a database.

use crate::answer::{Answer, Failure};
use crate::arguments::Folder;
use serde_json::json;
use stonewear_runtime::{Carried, CarryError};

/// Carry to a database what it lacks of the journal in a folder. Nothing is carried where the two went on
/// differently; what broke off goes on where it ended.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Example:\n\
\x20 stonewear journal push --dir laboratory --database postgres://granite@db.example.org/stonewear --laboratory granite-hill")]
pub(crate) struct Push {
    #[command(flatten)]
    how: How,
}

/// Carry from a database what the journal in a folder lacks; a folder that is not there is made. Nothing is
/// carried where the two went on differently; what broke off goes on where it ended.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Example:\n\
\x20 stonewear journal pull --dir laboratory --database postgres://granite@db.example.org/stonewear --laboratory granite-hill")]
pub(crate) struct Pull {
    #[command(flatten)]
    how: How,
}

#[derive(Debug, clap::Args)]
struct How {
    #[command(flatten)]
    folder: Folder,
    /// Facts that are carried in one transaction.
    #[arg(long, value_name = "NUMBER", default_value = "500", value_parser = clap::value_parser!(u16).range(1..))]
    batch: u16,
}

pub(super) fn push(push: &Push) -> Result<Answer, Failure> {
    let How { folder, batch } = &push.how;
    let database = folder.database()?;
    let carried = stonewear_runtime::push(&folder.dir, &database, usize::from(*batch));
    answer(carried.map_err(failure)?, &database.to_string(), "pull")
}

pub(super) fn pull(pull: &Pull) -> Result<Answer, Failure> {
    let How { folder, batch } = &pull.how;
    let database = folder.database()?;
    let carried = stonewear_runtime::pull(&folder.dir, &database, usize::from(*batch));
    answer(carried.map_err(failure)?, &folder.dir.display().to_string(), "push")
}

fn answer(carried: Carried, to: &str, other_way: &str) -> Result<Answer, Failure> {
    let Carried { facts, head, files, lacking, beyond } = &carried;
    let mut text = format!(
        "{to}: {facts} facts and {files} files were carried; verified: {} facts, head {}",
        head.position, head.hash
    );
    if *beyond > 0 {
        text.push_str(&format!(
            "\nIt has {beyond} facts more than the other: `stonewear journal {other_way}` carries them"
        ));
    }
    for one in lacking {
        text.push_str(&format!("\nNOT CARRIED: {one}"));
    }
    let json = json!({
        "carried": facts, "files": files, "lacking": lacking, "beyond": beyond,
        "facts": head.position, "head": head.hash.to_string(),
    });
    Ok(Answer { text, json, is_no: !lacking.is_empty() })
}

fn failure(error: CarryError) -> Failure {
    match error {
        CarryError::Open(error) => error.into(),
        CarryError::Strangers { .. } => Failure::wrong_input(error),
        CarryError::Fork { .. } => Failure::Refused(error.to_string()),
        CarryError::Damaged { .. } | CarryError::BrokenOff { .. } => Failure::surroundings(error),
    }
}
