//! `stonewear item`: equipment and where it stands.

use super::asking::ask;
use crate::answer::{Answer, Failure};
use crate::arguments::Asking;
use std::path::PathBuf;
use stonewear_lab::request::{ChangeStanding, CorrectItem, RegisterItem};

#[derive(Debug, clap::Subcommand)]
pub(crate) enum Item {
    /// Register a piece of equipment.
    #[command(after_help = "\
Example:\n\
\x20 stonewear item register --by AB SIEVE-1 --kind sieve --name 'wash sieve 1.18 mm' --opening 1.18\n\
\x20 stonewear item register --by AB MILL-1 --kind apparatus --name 'jar mill' --apparatus mill.toml")]
    Register {
        #[command(flatten)]
        asking: Asking,
        /// The code marked on it, like JAR-3.
        code: String,
        /// Kind: apparatus, jar, ball-charge, balance, oven, sieve, thermometer, stopwatch,
        /// tachometer, caliper, drum, bath.
        #[arg(long)]
        kind: String,
        /// What people call it.
        #[arg(long)]
        name: String,
        /// Who made it, and its number.
        #[arg(long, default_value = "")]
        maker_and_serial: String,
        /// Opening of a sieve, mm.
        #[arg(long, value_name = "MM", default_value = "", allow_negative_numbers = true)]
        opening: String,
        /// The smallest step that an instrument shows, in the unit that it reads.
        #[arg(long, value_name = "STEP", default_value = "", allow_negative_numbers = true)]
        resolution: String,
        /// How an apparatus is built: a description file.
        #[arg(long, value_name = "FILE")]
        apparatus: Option<PathBuf>,
    },
    /// Correct how an item is described; what is left out stays as it is.
    #[command(after_help = "\
Example:\n\
\x20 stonewear item correct --by AB BAL-1 --resolution 0.1 --reason 'read off its plate'")]
    Correct {
        #[command(flatten)]
        asking: Asking,
        /// The item.
        item: String,
        /// What people call it.
        #[arg(long, default_value = "")]
        name: String,
        /// Who made it, and its number.
        #[arg(long, default_value = "")]
        maker_and_serial: String,
        /// The smallest step that an instrument shows, in the unit that it reads.
        #[arg(long, value_name = "STEP", default_value = "", allow_negative_numbers = true)]
        resolution: String,
        /// Why.
        #[arg(long)]
        reason: String,
    },
    /// Put an item into service.
    #[command(after_help = "\
Example:\n\
\x20 stonewear item into-service --by AB SIEVE-1")]
    IntoService {
        #[command(flatten)]
        asking: Asking,
        /// The item.
        item: String,
        /// Anything worth keeping.
        #[arg(long, default_value = "")]
        reason: String,
    },
    /// Hold an item: it is not to be used.
    #[command(after_help = "\
Example:\n\
\x20 stonewear item hold --by AB SIEVE-1 --reason 'a tear in the cloth'")]
    Hold {
        #[command(flatten)]
        asking: Asking,
        /// The item.
        item: String,
        /// Why.
        #[arg(long)]
        reason: String,
    },
    /// Retire an item for ever.
    #[command(after_help = "\
Example:\n\
\x20 stonewear item retire --by AB SIEVE-1 --reason 'cloth torn'")]
    Retire {
        #[command(flatten)]
        asking: Asking,
        /// The item.
        item: String,
        /// Why.
        #[arg(long)]
        reason: String,
    },
}

pub(crate) fn run(item: Item) -> Result<Answer, Failure> {
    let change = |item: String, standing: &str, reason: String| ChangeStanding {
        item,
        standing: standing.to_owned(),
        reason,
    };
    match item {
        Item::Register {
            asking,
            code,
            kind,
            name,
            maker_and_serial,
            opening,
            resolution,
            apparatus,
        } => {
            let apparatus = match apparatus {
                Some(path) => Some(super::procedure::described(&path)?.apparatus),
                None => None,
            };
            ask(
                &asking,
                RegisterItem {
                    code,
                    kind,
                    name,
                    maker_and_serial,
                    opening_mm: opening,
                    resolution,
                    apparatus,
                },
            )
        }
        Item::Correct { asking, item, name, maker_and_serial, resolution, reason } => {
            ask(&asking, CorrectItem { item, name, maker_and_serial, resolution, reason })
        }
        Item::IntoService { asking, item, reason } => {
            ask(&asking, change(item, "in-service", reason))
        }
        Item::Hold { asking, item, reason } => ask(&asking, change(item, "held", reason)),
        Item::Retire { asking, item, reason } => ask(&asking, change(item, "retired", reason)),
    }
}
