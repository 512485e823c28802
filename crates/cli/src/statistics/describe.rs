//! `stonewear describe`: what one column of values says.

use super::document::{Document, defined};
use super::file::Csv;
use super::table::{figure, lines, short};
use crate::answer::{Answer, Failure};
use serde_json::json;
use stonewear_stats::normality::{anderson_darling, shapiro_wilk};
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
    /// Test whether the values could be normal.
    #[arg(long)]
    normality: bool,
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
            .figure("lag1_autocorrelation", &found.lag1_autocorrelation);
        let mut pairs = vec![
            ("n", found.n.to_string()),
            ("mean", figure(&found.mean)),
            ("standard deviation", figure(&found.standard_deviation)),
            ("minimum", short(found.minimum)),
            ("median", short(median)),
            ("maximum", short(found.maximum)),
            ("lag-1 autocorrelation", figure(&found.lag1_autocorrelation)),
        ];
        if !command.normality {
            return Ok(Answer::new(lines(&pairs), json.value()));
        }
        let tests = [
            (
                "anderson_darling",
                "Anderson-Darling",
                anderson_darling(&values).map(|t| (t.statistic, t.p)),
            ),
            ("shapiro_wilk", "Shapiro-Wilk", shapiro_wilk(&values).map(|t| (t.statistic, t.p))),
        ];
        let mut json = json;
        for (field, label, test) in tests {
            match test {
                Ok((statistic, p)) => {
                    json = json.put(field, json!({ "statistic": statistic, "p": p }));
                    pairs.push((label, format!("{}, p {}", short(statistic), short(p))));
                }
                Err(why) => {
                    pairs.push((label, format!("not defined ({why})")));
                    json = json.missing(field, why);
                }
            }
        }
        Ok(Answer::new(lines(&pairs), json.value()))
    };
    defined(answer(), &["mean", "standard_deviation", "lag1_autocorrelation"])
}
