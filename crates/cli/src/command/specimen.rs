//! `stonewear specimen`: made up for one jar, fraction by fraction.

use super::asking::ask;
use crate::answer::{Answer, Failure};
use crate::arguments::{Asking, Departing};
use stonewear_lab::request::{BeginSpecimen, StartSoak, WeighFractions, WorkOutResult};

#[derive(Debug, clap::Subcommand)]
pub(crate) enum Specimen {
    /// Begin a specimen of a sample.
    #[command(after_help = "\
Example:\n\
\x20 stonewear specimen begin --by CD S26-001 --method astm-d6928 --grading 19.0")]
    Begin {
        #[command(flatten)]
        asking: Asking,
        #[command(flatten)]
        departing: Departing,
        /// The sample.
        sample: String,
        /// The method, like astm-d6928.
        #[arg(long)]
        method: String,
        /// The grading of the method.
        #[arg(long, default_value = "")]
        grading: String,
        /// The balance; left out, the only one in service.
        #[arg(long, default_value = "")]
        balance: String,
    },
    /// Weigh in its fractions, coarsest first.
    #[command(after_help = "\
Example:\n\
\x20 stonewear specimen make-up --by CD S26-001-1 375.2 374.9 750.1")]
    MakeUp {
        #[command(flatten)]
        asking: Asking,
        #[command(flatten)]
        departing: Departing,
        /// The specimen.
        specimen: String,
        /// One mass a fraction, g, coarsest first; `-` leaves a fraction as it is.
        #[arg(required = true, allow_negative_numbers = true)]
        masses: Vec<String>,
        /// Why a mass that is already recorded is replaced.
        #[arg(long, default_value = "")]
        reason: String,
    },
    /// Put a specimen into its water: the clock of the soak starts.
    #[command(after_help = "\
Example:\n\
\x20 stonewear specimen soak --by CD S26-001-1")]
    Soak {
        #[command(flatten)]
        asking: Asking,
        /// The specimen.
        specimen: String,
    },
    /// Work out a result from other than the number of specimens that the method wants.
    #[command(after_help = "\
Example:\n\
\x20 stonewear specimen work-out --by CD S26-002-1 --deviation 'the second jar leaked'")]
    WorkOut {
        #[command(flatten)]
        asking: Asking,
        #[command(flatten)]
        departing: Departing,
        /// The specimens.
        #[arg(required = true)]
        specimens: Vec<String>,
    },
}

pub(crate) fn run(specimen: Specimen) -> Result<Answer, Failure> {
    match specimen {
        Specimen::Begin { asking, departing, sample, method, grading, balance } => {
            let deviation = departing.deviation;
            ask(&asking, BeginSpecimen { sample, method, grading, balance, deviation })
        }
        Specimen::MakeUp { asking, departing, specimen, masses, reason } => {
            let kept = |mass: String| if mass == "-" { String::new() } else { mass };
            let masses_g = masses.into_iter().map(kept).collect();
            let deviation = departing.deviation;
            ask(&asking, WeighFractions { specimen, masses_g, reason, deviation })
        }
        Specimen::Soak { asking, specimen } => ask(&asking, StartSoak { specimen }),
        Specimen::WorkOut { asking, departing, specimens } => {
            ask(&asking, WorkOutResult { specimens, deviation: departing.deviation })
        }
    }
}
