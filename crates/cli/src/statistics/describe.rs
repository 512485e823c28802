//! `stonewear describe`: what one column of values says.

use super::document::{Document, defined};
use super::file::Csv;
use super::table::{figure, lines, short};
use crate::answer::{Answer, Failure};
use stonewear_stats::{StatsError, describe as stats};

/// Describe one column: mean, standard deviation, extremes, autocorrelation.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Example (invented figures):\n\
\x20 printf 'loss\\n14.8\\n15.1\\n14.6\\n' > loss.csv\n\
\x20 stonewear describe loss.csv")]
pub(crate) struct Describe {
    #[command(flatten)]
    csv: Csv,
}

pub(crate) fn describe(command: &Describe) -> Result<Answer, Failure> {
    let values = command.csv.numbers()?;
    let answer = || -> Result<Answer, StatsError> {
        let found = stats::describe(&values)?;
        let median = stats::median(&values)?;
        let json = Document::new()
            .put("n", found.n)
            .figure("mean", &found.mean)
            .figure("standard_deviation", &found.standard_deviation)
            .put("minimum", found.minimum)
            .put("median", median)
            .put("maximum", found.maximum)
            .figure("lag1_autocorrelation", &found.lag1_autocorrelation)
            .value();
        let text = lines(&[
            ("n", found.n.to_string()),
            ("mean", figure(&found.mean)),
            ("standard deviation", figure(&found.standard_deviation)),
            ("minimum", short(found.minimum)),
            ("median", short(median)),
            ("maximum", short(found.maximum)),
            ("lag-1 autocorrelation", figure(&found.lag1_autocorrelation)),
        ]);
        Ok(Answer::new(text, json))
    };
    defined(answer(), &["mean", "standard_deviation", "lag1_autocorrelation"])
}
