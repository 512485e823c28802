//! `stonewear weigh`: the two masses that make the loss, and those on the way to them.

use super::asking::ask;
use crate::answer::{Answer, Failure};
use crate::arguments::{Asking, Departing};
use stonewear_lab::request::{WeighAfter, WeighBefore, WeighDrying};

#[derive(Debug, clap::Subcommand)]
pub(crate) enum Weigh {
    /// The specimen, washed and oven-dry, before the run.
    #[command(after_help = "\
Example:\n\
\x20 stonewear weigh before --by CD S26-001-1 1500.0")]
    Before(Mass),
    /// What is kept on the method's sieve after the run, oven-dry.
    #[command(after_help = "\
Example:\n\
\x20 stonewear weigh after --by CD S26-001-1 1278")]
    After {
        #[command(flatten)]
        mass: Mass,
        /// The sieve; left out, the only one of that opening in service.
        #[arg(long, default_value = "")]
        sieve: String,
        /// The coarser sieve above it; left out, the only one in service, if there is one.
        #[arg(long, default_value = "")]
        guard_sieve: String,
    },
    /// A specimen while it dries, to see whether its mass is constant.
    #[command(after_help = "\
Example:\n\
\x20 stonewear weigh drying --by CD S26-001-1 1501.4")]
    Drying {
        #[command(flatten)]
        asking: Asking,
        /// The specimen.
        specimen: String,
        /// The mass, g.
        #[arg(allow_negative_numbers = true)]
        mass: String,
        /// The balance; left out, the only one in service.
        #[arg(long, default_value = "")]
        balance: String,
        /// The oven; left out, the only one in service, if there is one.
        #[arg(long, default_value = "")]
        oven: String,
    },
}

#[derive(Debug, clap::Args)]
pub(crate) struct Mass {
    #[command(flatten)]
    asking: Asking,
    #[command(flatten)]
    departing: Departing,
    /// The specimen.
    specimen: String,
    /// The mass: g, or as the balance prints it (`1.5012 kg`, `ST,GS,+ 1501.2 g`); left out, the
    /// last of a series of drying weighings that is constant.
    #[arg(allow_negative_numbers = true, default_value = "")]
    mass: String,
    /// The balance; left out, the only one in service.
    #[arg(long, default_value = "")]
    balance: String,
    /// The oven; left out, the only one in service, if there is one.
    #[arg(long, default_value = "")]
    oven: String,
    /// Why a mass that is already recorded is replaced.
    #[arg(long, default_value = "")]
    reason: String,
}

pub(crate) fn run(weigh: Weigh) -> Result<Answer, Failure> {
    match weigh {
        Weigh::Before(mass) => ask(
            &mass.asking,
            WeighBefore {
                specimen: mass.specimen,
                mass_g: mass.mass,
                balance: mass.balance,
                oven: mass.oven,
                reason: mass.reason,
                deviation: mass.departing.deviation,
            },
        ),
        Weigh::Drying { asking, specimen, mass, balance, oven } => {
            ask(&asking, WeighDrying { specimen, mass_g: mass, balance, oven })
        }
        Weigh::After { mass, sieve, guard_sieve } => ask(
            &mass.asking,
            WeighAfter {
                specimen: mass.specimen,
                mass_g: mass.mass,
                balance: mass.balance,
                oven: mass.oven,
                sieve,
                guard_sieve,
                reason: mass.reason,
                deviation: mass.departing.deviation,
            },
        ),
    }
}
