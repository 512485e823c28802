//! `stonewear tolerance`: limits that hold most of a lot.

use super::document::{Document, defined};
use super::file::Csv;
use super::table::{lines, short};
use crate::answer::{Answer, Failure};
use stonewear_stats::acceptance::tolerance_interval;

/// Limits that hold at least a share of a normal lot, with a confidence (ISO 16269-6).
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Example (invented figures):\n\
\x20 printf 'loss\\n14.8\\n15.1\\n16.6\\n14.9\\n15.7\\n' > lot.csv\n\
\x20 stonewear tolerance lot.csv --content 0.9 --confidence 0.95")]
pub(crate) struct ToleranceOf {
    #[command(flatten)]
    csv: Csv,
    /// Share of the lot, 0 to 1.
    #[arg(long, default_value_t = 0.95)]
    content: f64,
    /// Confidence, 0 to 1.
    #[arg(long, default_value_t = 0.95)]
    confidence: f64,
}

pub(crate) fn tolerance(command: &ToleranceOf) -> Result<Answer, Failure> {
    let values = command.csv.numbers()?;
    let answer = || {
        let found = tolerance_interval(&values, command.content, command.confidence)?;
        let json = Document::new()
            .put("n", found.n)
            .put("mean", found.mean)
            .put("standard_deviation", found.standard_deviation)
            .put("k", found.k)
            .put("lower", found.interval.lower)
            .put("upper", found.interval.upper)
            .value();
        let ends = format!("{} to {}", short(found.interval.lower), short(found.interval.upper));
        let text = lines(&[
            ("mean", short(found.mean)),
            ("standard deviation", short(found.standard_deviation)),
            ("factor k", short(found.k)),
            ("limits", ends),
        ]);
        Ok(Answer::new(text, json))
    };
    defined(answer(), &["k", "lower", "upper"])
}
