//! `stonewear check`: guided checks, step by step.

use super::asking::ask;
use crate::answer::{Answer, Failure};
use crate::arguments::Asking;
use stonewear_lab::request::{GiveUpCheck, Observe, StartCheck};

#[derive(Debug, clap::Subcommand)]
pub(crate) enum Check {
    /// Begin a check of an item.
    Start {
        #[command(flatten)]
        asking: Asking,
        /// The item.
        item: String,
        /// The procedure, like function-check.
        procedure: String,
    },
    /// Record what was seen or read in the step that is next.
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
        /// The item that a number was read with.
        #[arg(long, value_name = "ITEM", default_value = "")]
        with: String,
        /// Anything worth keeping.
        #[arg(long, default_value = "")]
        note: String,
    },
    /// End a check that cannot be passed; the item is held.
    GiveUp {
        #[command(flatten)]
        asking: Asking,
        /// The check.
        check: String,
        /// Why.
        #[arg(long)]
        reason: String,
    },
}

pub(crate) fn run(check: Check) -> Result<Answer, Failure> {
    match check {
        Check::Start { asking, item, procedure } => ask(&asking, StartCheck { item, procedure }),
        Check::Observe { asking, check, step, seen, with, note } => {
            ask(&asking, Observe { check, step, seen, instrument: with, note })
        }
        Check::GiveUp { asking, check, reason } => ask(&asking, GiveUpCheck { check, reason }),
    }
}
