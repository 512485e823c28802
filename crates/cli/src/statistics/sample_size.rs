//! `stonewear sample-size`: how many results tell.

use super::document::{Document, defined};
use super::table::{lines, short};
use crate::answer::{Answer, Failure};
use clap::Subcommand;
use stonewear_stats::StatsError;
use stonewear_stats::comparison::{
    Bounds, Design, Tails, power_of_f, power_of_t, sample_size_for_equivalence, sample_size_for_f,
    sample_size_for_t,
};

/// How many results a test needs to find a difference, or to show that there is none that matters.
#[derive(Debug, clap::Args)]
pub(crate) struct SampleSize {
    #[command(subcommand)]
    kind: Kind,
}

#[derive(Debug, Subcommand)]
enum Kind {
    /// A difference of means, by t.
    #[command(
        after_help = "Example:\n  stonewear sample-size means --difference 0.5 --sd 0.6 --power 0.9"
    )]
    Means {
        /// The difference, in the unit of the results.
        #[arg(long, allow_negative_numbers = true)]
        difference: f64,
        /// Standard deviation of single results (of differences with --paired).
        #[arg(long)]
        sd: f64,
        /// Pairs, or one set against a fixed value.
        #[arg(long)]
        paired: bool,
        /// Look in the direction of the difference only.
        #[arg(long)]
        one_sided: bool,
        #[command(flatten)]
        wanted: Wanted,
    },
    /// A ratio of variances, by F.
    #[command(after_help = "Example:\n  stonewear sample-size variances --ratio 3")]
    Variances {
        /// The ratio.
        #[arg(long)]
        ratio: f64,
        #[command(flatten)]
        wanted: Wanted,
    },
    /// Equivalence, by two one-sided tests.
    #[command(
        after_help = "Example:\n  stonewear sample-size equivalence --lower -0.5 --upper 0.5 --sd 0.4"
    )]
    Equivalence {
        /// Smallest difference that does not matter.
        #[arg(long, allow_negative_numbers = true)]
        lower: f64,
        /// Largest difference that does not matter.
        #[arg(long, allow_negative_numbers = true)]
        upper: f64,
        /// The true difference to be prepared for.
        #[arg(long, default_value_t = 0.0, allow_negative_numbers = true)]
        difference: f64,
        /// Standard deviation of single results (of differences with --paired).
        #[arg(long)]
        sd: f64,
        /// Pairs, or one set against a fixed value.
        #[arg(long)]
        paired: bool,
        #[command(flatten)]
        wanted: Wanted,
    },
}

#[derive(Debug, clap::Args)]
struct Wanted {
    /// Level of the test.
    #[arg(long, default_value_t = 0.05)]
    alpha: f64,
    /// Probability with which the test should succeed.
    #[arg(long, default_value_t = 0.8)]
    power: f64,
}

fn design(paired: bool) -> Design {
    if paired { Design::OneSample } else { Design::TwoSamples }
}

pub(crate) fn sample_size(command: &SampleSize) -> Result<Answer, Failure> {
    let answer = || -> Result<Answer, StatsError> {
        let (n, power, each) = match &command.kind {
            Kind::Means { difference, sd, paired, one_sided, wanted } => {
                let tails = if *one_sided { Tails::One } else { Tails::Two };
                let (design, d) = (design(*paired), difference / sd);
                let (_, n) = sample_size_for_t(design, tails, d, wanted.alpha, wanted.power)?;
                (n, power_of_t(design, tails, d, wanted.alpha, n)?, !paired)
            }
            Kind::Variances { ratio, wanted } => {
                let n = sample_size_for_f(*ratio, wanted.alpha, wanted.power)?;
                (n, power_of_f(*ratio, wanted.alpha, n)?, true)
            }
            Kind::Equivalence { lower, upper, difference, sd, paired, wanted } => {
                let bounds = Bounds::new(*lower, *upper)?;
                let (n, power) = sample_size_for_equivalence(
                    design(*paired),
                    *difference,
                    *sd,
                    bounds,
                    wanted.alpha,
                    wanted.power,
                )?;
                (n, power, !paired)
            }
        };
        let json = Document::new().put("n", n).put("in_each_set", each).put("power", power).value();
        let of = if each { "results in each set" } else { "pairs" };
        let text = lines(&[("needed", format!("{n} {of}")), ("power", short(power))]);
        Ok(Answer::new(text, json))
    };
    defined(answer(), &["n", "power"])
}
