//! `stonewear check`: guided checks, step by step.

use super::asking::ask;
use super::check_view;
use crate::answer::{Answer, Failure};
use crate::arguments::{Asking, Folder};
use stonewear_lab::request::{CorrectObservation, GiveUpCheck, Observe, SetInterval, StartCheck};

#[derive(Debug, clap::Subcommand)]
pub(crate) enum Check {
    /// List the checks, newest first.
    #[command(after_help = "\
Example:\n\
\x20 stonewear check list --open\n\
\x20 stonewear check list --of MILL-1")]
    List {
        #[command(flatten)]
        folder: Folder,
        /// Only those of this item.
        #[arg(long, value_name = "ITEM")]
        of: Option<String>,
        /// Only those that are not finished.
        #[arg(long)]
        open: bool,
    },
    /// Show a check: what its next step asks, or how it ended.
    #[command(after_help = "\
Example:\n\
\x20 stonewear check show C26-001")]
    Show {
        #[command(flatten)]
        folder: Folder,
        /// The check.
        check: String,
    },
    /// Begin a check of an item.
    #[command(after_help = "\
Example:\n\
\x20 stonewear check start --by AB MILL-1 function-check")]
    Start {
        #[command(flatten)]
        asking: Asking,
        /// The item.
        item: String,
        /// The procedure, like function-check.
        procedure: String,
    },
    /// Record what was seen or read in the step that is next.
    #[command(after_help = "\
Example:\n\
\x20 stonewear check observe --by AB C26-001 machine-empty yes\n\
\x20 stonewear check observe --by AB C26-002 mass 5000.5 --with BAL-1")]
    Observe {
        #[command(flatten)]
        asking: Asking,
        /// The check.
        check: String,
        /// The step.
        step: String,
        /// yes or no, or the number that was read.
        #[arg(allow_negative_numbers = true)]
        seen: String,
        /// What is taken off it, where the step judges the difference of two readings.
        #[arg(long, value_name = "NUMBER", default_value = "", allow_negative_numbers = true)]
        less: String,
        /// The item that a number was read with.
        #[arg(long, value_name = "ITEM", default_value = "")]
        with: String,
        /// Expanded uncertainty (k = 2) of the number: the verdict is then guarded with it, so that
        /// a pass is wrong in 2.5 % of cases at most.
        #[arg(long, value_name = "U", default_value = "", allow_negative_numbers = true)]
        uncertainty: String,
        /// Anything worth keeping.
        #[arg(long, default_value = "")]
        note: String,
        /// It is a second observation of a step that was passed already: the check goes on where
        /// it is if it agrees, and back to the step if not.
        #[arg(long)]
        second: bool,
    },
    /// Correct what was recorded at a step. Where a check turns out not to have been passed, the
    /// item is held and the results that stand on it are in doubt.
    #[command(after_help = "\
Example:\n\
\x20 stonewear check correct --by AB C26-002 mass 5012.5 --reason 'digits were swapped'")]
    Correct {
        #[command(flatten)]
        asking: Asking,
        /// The check.
        check: String,
        /// The step.
        step: String,
        /// yes or no, or the number that was really read.
        #[arg(allow_negative_numbers = true)]
        seen: String,
        /// What is taken off it, where the step judges the difference of two readings.
        #[arg(long, value_name = "NUMBER", default_value = "", allow_negative_numbers = true)]
        less: String,
        /// Why.
        #[arg(long)]
        reason: String,
    },
    /// End a check that cannot be passed; the item is held.
    #[command(after_help = "\
Example:\n\
\x20 stonewear check give-up --by AB C26-001 --reason 'the guard does not close'")]
    GiveUp {
        #[command(flatten)]
        asking: Asking,
        /// The check.
        check: String,
        /// Why.
        #[arg(long)]
        reason: String,
    },
    /// Decide how long a pass of a procedure is good for in this laboratory.
    #[command(after_help = "\
Example:\n\
\x20 stonewear check interval balance-check 6 --by AB --reason 'moved twice a year'")]
    Interval {
        #[command(flatten)]
        asking: Asking,
        /// The procedure.
        procedure: String,
        /// Months.
        months: String,
        /// On what grounds.
        #[arg(long)]
        reason: String,
    },
}

pub(crate) fn run(check: Check) -> Result<Answer, Failure> {
    match check {
        Check::List { folder, of, open } => check_view::list(&folder, of.as_deref(), open),
        Check::Show { folder, check } => check_view::show(&folder, &check),
        Check::Start { asking, item, procedure } => ask(&asking, StartCheck { item, procedure }),
        Check::Observe { asking, check, step, seen, less, with, uncertainty, note, second } => {
            let second = if second { "yes" } else { "" }.to_owned();
            let instrument = with;
            ask(&asking, Observe { check, step, seen, less, instrument, uncertainty, note, second })
        }
        Check::Correct { asking, check, step, seen, less, reason } => {
            ask(&asking, CorrectObservation { check, step, seen, less, reason })
        }
        Check::Interval { asking, procedure, months, reason } => {
            ask(&asking, SetInterval { procedure, months, reason })
        }
        Check::GiveUp { asking, check, reason } => ask(&asking, GiveUpCheck { check, reason }),
    }
}
