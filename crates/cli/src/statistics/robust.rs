//! `stonewear robust`: estimates that a few bad results cannot move.

use super::document::{Document, defined};
use super::file::Csv;
use super::table::{lines, short};
use crate::answer::{Answer, Failure};
use serde_json::json;
use stonewear_stats::{StatsError, describe, proficiency as stats};

/// Robust location and scale of one column (ISO 13528).
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Example (invented figures):\n\
\x20 printf 'loss\\n12.0\\n12.2\\n11.9\\n12.1\\n19.4\\n12.0\\n' > round.csv\n\
\x20 stonewear robust round.csv")]
pub(crate) struct RobustOf {
    #[command(flatten)]
    csv: Csv,
}

const FIELDS: [&str; 7] =
    ["median", "mad_e", "n_iqr", "algorithm_a", "huber_proposal_2", "q_method", "hampel"];

pub(crate) fn robust(command: &RobustOf) -> Result<Answer, Failure> {
    let values = command.csv.numbers()?;
    let answer = || -> Result<Answer, StatsError> {
        let (median, mad_e) = (describe::median(&values)?, stats::mad_e(&values)?);
        let n_iqr = stats::n_iqr(&values)?;
        let mut json = Document::new()
            .put("n", values.len())
            .put("median", median)
            .put("mad_e", mad_e)
            .put("n_iqr", n_iqr);
        let mut pairs = vec![
            ("n", values.len().to_string()),
            ("median", short(median)),
            ("MADe", short(mad_e)),
            ("nIQR", short(n_iqr)),
        ];
        for (field, label, found) in [
            ("algorithm_a", "Algorithm A", stats::algorithm_a(&values)),
            ("huber_proposal_2", "Huber's proposal 2", stats::huber_proposal_2(&values)),
        ] {
            json = match found {
                Ok(r) => {
                    let (mean, s) = (r.mean, r.standard_deviation);
                    pairs.push((
                        label,
                        format!("mean {}, standard deviation {}", short(mean), short(s)),
                    ));
                    json.put(field, json!({ "mean": mean, "standard_deviation": s }))
                }
                Err(why) => {
                    pairs.push((label, format!("not defined ({why})")));
                    json.missing(field, why)
                }
            };
        }
        let q = stats::q_method(&values);
        let hampel = q.clone().and_then(|q| stats::hampel(&values, q));
        for (field, label, found) in
            [("q_method", "Q method", q), ("hampel", "Hampel's mean", hampel)]
        {
            json = match found {
                Ok(value) => {
                    pairs.push((label, short(value)));
                    json.put(field, value)
                }
                Err(why) => {
                    pairs.push((label, format!("not defined ({why})")));
                    json.missing(field, why)
                }
            };
        }
        Ok(Answer::new(lines(&pairs), json.value()))
    };
    defined(answer(), &FIELDS)
}
