//! `stonewear acceptance`: how much of a lot lies within limits?

use super::document::{Document, defined};
use super::file::Csv;
use super::table::{figure, lines, short};
use crate::answer::{Answer, Failure};
use stonewear_stats::acceptance::acceptance as estimate;

/// Quality index and per cent within limits of a lot, by the standard-deviation method.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Example (invented figures):\n\
\x20 printf 'loss\\n14.8\\n15.1\\n16.6\\n14.9\\n15.7\\n' > lot.csv\n\
\x20 stonewear acceptance lot.csv --upper 18")]
pub(crate) struct Acceptance {
    #[command(flatten)]
    csv: Csv,
    /// Lower limit.
    #[arg(long, allow_negative_numbers = true)]
    lower: Option<f64>,
    /// Upper limit.
    #[arg(long, allow_negative_numbers = true)]
    upper: Option<f64>,
    /// Exit with status 1 when less than this per cent is within.
    #[arg(long, value_name = "PER CENT")]
    at_least: Option<f64>,
}

const FIELDS: [&str; 5] =
    ["mean", "standard_deviation", "q_lower", "q_upper", "percent_within_limits"];

pub(crate) fn acceptance(command: &Acceptance) -> Result<Answer, Failure> {
    let values = command.csv.numbers()?;
    let answer = || {
        let found = estimate(&values, command.lower, command.upper)?;
        let mut json = Document::new()
            .put("n", found.n)
            .put("mean", found.mean)
            .put("standard_deviation", found.standard_deviation);
        let mut pairs = vec![
            ("n", found.n.to_string()),
            ("mean", short(found.mean)),
            ("standard deviation", short(found.standard_deviation)),
        ];
        for (field, label, q) in [
            ("q_lower", "quality index, lower limit", &found.q_lower),
            ("q_upper", "quality index, upper limit", &found.q_upper),
        ] {
            json = match q {
                Some(q) => {
                    pairs.push((label, figure(q)));
                    json.figure(field, q)
                }
                None => json.missing(field, "there is no such limit"),
            };
        }
        for (field, percent) in
            [("percent_lower", found.percent_lower), ("percent_upper", found.percent_upper)]
        {
            json = match percent {
                Some(percent) => json.put(field, percent),
                None => json.missing(field, "there is no such limit"),
            };
        }
        let within = found.percent_within_limits;
        pairs.push(("per cent within limits", short(within)));
        let json = json.put("percent_within_limits", within).value();
        let is_no = command.at_least.is_some_and(|least| within < least);
        Ok(Answer { text: lines(&pairs), json, is_no })
    };
    defined(answer(), &FIELDS)
}
