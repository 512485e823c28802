//! `stonewear database`: preparing a database for many laboratories, by the role that owns it.

use crate::answer::{Answer, Failure};
use crate::arguments::Shared;
use serde_json::json;
use stonewear_journal::StoreError;
use stonewear_journal::postgres::{LaboratoryName, Prepared};

#[derive(Debug, clap::Subcommand)]
pub(crate) enum Database {
    /// Make the tables in an empty database, as the role that owns it and may make roles. Done once.
    #[command(after_help = "\
Example:\n\
\x20 createuser --createrole stonewear_owner && createdb --owner stonewear_owner stonewear\n\
\x20 stonewear database prepare --database postgres://stonewear_owner@localhost/stonewear")]
    Prepare {
        #[command(flatten)]
        shared: Shared,
    },
    /// Let a role work in a laboratory of the database; a laboratory that is not there is made.
    #[command(after_help = "\
Example:\n\
\x20 createuser --no-superuser granite\n\
\x20 stonewear database admit granite-hill --role granite --database postgres://stonewear_owner@localhost/stonewear")]
    Admit {
        /// What the laboratory is called in the database: small letters, digits, hyphens.
        name: String,
        /// The role that its server and its commands use, and nobody else's.
        #[arg(long)]
        role: String,
        #[command(flatten)]
        shared: Shared,
    },
}

pub(crate) fn run(database: &Database) -> Result<Answer, Failure> {
    match database {
        Database::Prepare { shared } => prepare(shared),
        Database::Admit { name, role, shared } => admit(name, role, shared),
    }
}

fn prepare(shared: &Shared) -> Result<Answer, Failure> {
    let address = shared.address()?;
    let prepared = stonewear_journal::postgres::prepare(&address).map_err(failure)?;
    let is_new = prepared == Prepared::Now;
    let text = if is_new {
        format!("{address} is prepared; next, admit a laboratory: stonewear database admit")
    } else {
        format!("{address} was prepared already; nothing was changed")
    };
    Ok(Answer::new(text, json!({ "database": address.to_string(), "is_new": is_new })))
}

fn admit(name: &str, role: &str, shared: &Shared) -> Result<Answer, Failure> {
    let laboratory: LaboratoryName =
        name.parse().map_err(|error| Failure::WrongInput(format!("NAME: {error}")))?;
    let address = shared.address()?;
    let is_new =
        stonewear_journal::postgres::admit(&address, &laboratory, role).map_err(failure)?;
    let made = if is_new { "a new laboratory" } else { "the laboratory was there" };
    let text = format!("the role {role} may work in {laboratory} at {address} ({made})");
    let json = json!({ "laboratory": laboratory.as_str(), "role": role, "is_new": is_new });
    Ok(Answer::new(text, json))
}

fn failure(error: StoreError) -> Failure {
    match error {
        StoreError::Database(error) => Failure::Refused(error.to_string()),
        other => Failure::surroundings(other),
    }
}
