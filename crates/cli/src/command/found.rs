//! `stonewear found`: a new laboratory in an empty folder.

use super::asking::ask;
use crate::answer::{Answer, Failure};
use crate::arguments::{Asking, Folder};
use stonewear_lab::request::FoundLaboratory;

/// Found a laboratory in a folder, with its first person.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Example:\n\
\x20 stonewear found --name 'Example Laboratory' --address '1 Example Road' --founder AB --founder-name 'Ada Brook' --invented")]
pub(crate) struct Found {
    #[command(flatten)]
    folder: Folder,
    /// Name of the laboratory.
    #[arg(long)]
    name: String,
    /// Postal address.
    #[arg(long)]
    address: String,
    /// Time zone of the laboratory, like Europe/Madrid; left out, universal time.
    #[arg(long, value_name = "ZONE", default_value = "")]
    time_zone: String,
    /// Your initials.
    #[arg(long, value_name = "CODE")]
    founder: String,
    /// Your name.
    #[arg(long)]
    founder_name: String,
    /// Everything in it is invented; page and papers say so.
    #[arg(long)]
    invented: bool,
}

pub(crate) fn run(found: Found) -> Result<Answer, Failure> {
    let asking = Asking { folder: found.folder, by: found.founder.clone() };
    ask(
        &asking,
        FoundLaboratory {
            name: found.name,
            address: found.address,
            founder_code: found.founder,
            founder_name: found.founder_name,
            time_zone: found.time_zone,
            invented: if found.invented { "yes" } else { "no" }.to_owned(),
        },
    )
}
