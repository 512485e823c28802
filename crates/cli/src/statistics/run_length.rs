//! `stonewear run-length`: how long until a chart signals.

use super::chart::Rules;
use super::document::{Document, defined};
use super::table::{lines, short};
use crate::answer::{Answer, Failure};
use clap::Subcommand;
use stonewear_stats::StatsError;
use stonewear_stats::run_length::{self as stats, Sides};

/// Average run length of a chart: what its rules cost without a shift, and how fast they see one.
#[derive(Debug, clap::Args)]
pub(crate) struct RunLength {
    #[command(subcommand)]
    kind: Kind,
}

#[derive(Debug, Subcommand)]
enum Kind {
    /// Single values or means with run rules.
    #[command(after_help = "Example:\n  stonewear run-length shewhart --rules 1,2,3,4 --shift 0")]
    Shewhart {
        #[command(flatten)]
        rules: Rules,
        #[command(flatten)]
        shift: Shift,
    },
    /// Exponentially weighted moving average, final limits from the start.
    #[command(
        after_help = "Example:\n  stonewear run-length ewma --lambda 0.2 --width 2.9 --shift 1"
    )]
    Ewma {
        /// Weight of the newest point.
        #[arg(long, default_value_t = 0.2)]
        lambda: f64,
        /// Half-width of the limits in standard deviations of the average.
        #[arg(long, default_value_t = 3.0)]
        width: f64,
        #[command(flatten)]
        shift: Shift,
    },
    /// Cumulative sums.
    #[command(after_help = "Example:\n  stonewear run-length cusum --k 0.5 --h 5 --shift 1")]
    Cusum {
        /// Allowance in standard deviations.
        #[arg(long, default_value_t = 0.5)]
        k: f64,
        /// Decision interval in standard deviations.
        #[arg(long, default_value_t = 5.0)]
        h: f64,
        /// Watch the upper sum only.
        #[arg(long)]
        one_sided: bool,
        #[command(flatten)]
        shift: Shift,
    },
}

#[derive(Debug, clap::Args)]
struct Shift {
    /// Shift of the mean in standard deviations of what is plotted.
    #[arg(long, default_value_t = 0.0, allow_negative_numbers = true)]
    shift: f64,
}

pub(crate) fn run_length(command: &RunLength) -> Result<Answer, Failure> {
    let answer = || -> Result<Answer, StatsError> {
        let (length, shift) = match &command.kind {
            Kind::Shewhart { rules, shift } => {
                (stats::shewhart(&rules.chosen()?, shift.shift)?, shift.shift)
            }
            Kind::Ewma { lambda, width, shift } => {
                (stats::ewma(*lambda, *width, shift.shift)?, shift.shift)
            }
            Kind::Cusum { k, h, one_sided, shift } => {
                let sides = if *one_sided { Sides::Upper } else { Sides::Both };
                (stats::cusum(*k, *h, shift.shift, sides)?, shift.shift)
            }
        };
        let json = Document::new()
            .put("shift", shift)
            .put("average_run_length", length)
            .put("signals_per_point", 1.0 / length)
            .value();
        let text = lines(&[
            ("shift", format!("{} standard deviations", short(shift))),
            ("average run length", format!("{} points", short(length))),
        ]);
        Ok(Answer::new(text, json))
    };
    defined(answer(), &["average_run_length"])
}
