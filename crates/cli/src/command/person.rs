//! `stonewear person`: people and what they may do.

use super::asking::ask;
use super::authorisation::{self, Authorise, Change, Supervise};
use crate::answer::{Answer, Failure};
use crate::arguments::{Asking, Folder};
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
    Authorise(Authorise),
    /// Suspend an authorisation for a while.
    #[command(after_help = "\
Example:\n\
\x20 stonewear person suspend --by AB A26-003 --reason 'away for half a year'")]
    Suspend(Change),
    /// Withdraw an authorisation for good.
    #[command(after_help = "\
Example:\n\
\x20 stonewear person withdraw --by AB A26-003 --reason 'left the wet bench'")]
    Withdraw(Change),
    /// Put a suspended authorisation in force again.
    #[command(after_help = "\
Example:\n\
\x20 stonewear person reinstate --by AB A26-003 --reason 'two witnessed specimens'")]
    Reinstate(Change),
    Supervise(Supervise),
    /// Show a person: rights, and each authorisation with its evidence.
    #[command(after_help = "\
Example:\n\
\x20 stonewear person show CD")]
    Show {
        #[command(flatten)]
        folder: Folder,
        /// Initials.
        person: String,
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
        Person::Authorise(authorise) => authorise.ask(),
        Person::Suspend(change) => change.ask("suspended"),
        Person::Withdraw(change) => change.ask("withdrawn"),
        Person::Reinstate(change) => change.ask("in-force"),
        Person::Supervise(supervise) => supervise.ask(),
        Person::Show { folder, person } => authorisation::show(&folder, &person),
    }
}
