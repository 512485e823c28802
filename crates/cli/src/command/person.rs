//! `stonewear person`: people and what they may do.

use super::asking::ask;
use crate::answer::{Answer, Failure};
use crate::arguments::Asking;
use stonewear_lab::request::{AddPerson, SetRights};

#[derive(Debug, clap::Subcommand)]
pub(crate) enum Person {
    /// Add a person.
    #[command(after_help = "\
Example:\n\
\x20 stonewear person add --by AB CD --name 'Cyd Dell' --may test,release")]
    Add {
        #[command(flatten)]
        asking: Asking,
        /// Initials.
        code: String,
        /// Name.
        #[arg(long)]
        name: String,
        /// What they may do: test, release, manage; several with commas.
        #[arg(long, value_delimiter = ',')]
        may: Vec<String>,
    },
    /// Change what a person may do.
    #[command(after_help = "\
Example:\n\
\x20 stonewear person rights --by AB CD --may test --reason 'release training not finished'")]
    Rights {
        #[command(flatten)]
        asking: Asking,
        /// Initials.
        person: String,
        /// What they may do from now on: test, release, manage; several with commas.
        #[arg(long, value_delimiter = ',')]
        may: Vec<String>,
        /// On what grounds.
        #[arg(long)]
        reason: String,
    },
}

pub(crate) fn run(person: Person) -> Result<Answer, Failure> {
    match person {
        Person::Add { asking, code, name, may } => {
            ask(&asking, AddPerson { code, name, rights: may })
        }
        Person::Rights { asking, person, may, reason } => {
            ask(&asking, SetRights { person, rights: may, reason })
        }
    }
}
