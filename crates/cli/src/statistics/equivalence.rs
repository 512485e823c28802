//! `stonewear equivalence`: is a difference that matters excluded?

use super::document::{Document, defined};
use super::file::column_of;
use super::table::{figure, lines, short};
use crate::answer::{Answer, Failure};
use std::path::PathBuf;
use stonewear_stats::comparison::{Bounds, equivalence_of_paired, equivalence_of_two};

/// Two one-sided tests: show that two sets differ by less than the bounds.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Example (invented figures):\n\
\x20 printf 'loss\\n14.8\\n15.1\\n14.6\\n14.9\\n' > old.csv\n\
\x20 printf 'loss\\n15.0\\n14.7\\n14.9\\n15.2\\n' > new.csv\n\
\x20 stonewear equivalence old.csv new.csv --lower -0.5 --upper 0.5")]
pub(crate) struct Equivalence {
    /// First set, or the differences themselves: CSV file with a header row.
    a: PathBuf,
    /// Second set.
    b: Option<PathBuf>,
    /// Name of the column, where there are several.
    #[arg(long, value_name = "NAME")]
    column: Option<String>,
    /// Row by row the same materials: use the differences.
    #[arg(long)]
    paired: bool,
    /// One common variance instead of separate ones.
    #[arg(long, conflicts_with = "paired")]
    pooled: bool,
    /// Smallest difference that does not matter.
    #[arg(long, allow_negative_numbers = true)]
    lower: f64,
    /// Largest difference that does not matter.
    #[arg(long, allow_negative_numbers = true)]
    upper: f64,
    /// Level of each test.
    #[arg(long, default_value_t = 0.05)]
    alpha: f64,
    /// Exit with status 1 when equivalence is not shown.
    #[arg(long)]
    strict: bool,
}

pub(crate) fn equivalence(command: &Equivalence) -> Result<Answer, Failure> {
    let a = column_of(&command.a, command.column.as_deref())?;
    let b = match &command.b {
        Some(path) => Some(column_of(path, command.column.as_deref())?),
        None => None,
    };
    let answer = || {
        let bounds = Bounds::new(command.lower, command.upper)?;
        let found = match b {
            None => equivalence_of_paired(&a, &vec![0.0; a.len()], bounds, command.alpha)?,
            Some(b) if command.paired => equivalence_of_paired(&a, &b, bounds, command.alpha)?,
            Some(b) => equivalence_of_two(&a, &b, bounds, command.alpha, command.pooled)?,
        };
        let json = Document::new()
            .put("difference", found.difference)
            .put("standard_error", found.standard_error)
            .put("degrees_of_freedom", found.freedom)
            .interval("interval", &Ok(found.interval))
            .put("interval_level", 1.0 - 2.0 * command.alpha)
            .figure("t", &found.t)
            .figure("p_difference", &found.p_difference)
            .figure("t_lower", &found.t_lower)
            .figure("p_lower", &found.p_lower)
            .figure("t_upper", &found.t_upper)
            .figure("p_upper", &found.p_upper)
            .figure("p", &found.p)
            .put("equivalent", found.equivalent)
            .value();
        let verdict = if found.equivalent {
            "equivalent: the interval lies within the bounds"
        } else {
            "equivalence is not shown"
        };
        let text = lines(&[
            ("difference", short(found.difference)),
            (
                "interval",
                format!("{} to {}", short(found.interval.lower), short(found.interval.upper)),
            ),
            ("bounds", format!("{} to {}", short(command.lower), short(command.upper))),
            ("p", figure(&found.p)),
            ("verdict", verdict.to_owned()),
        ]);
        Ok(Answer { text, json, is_no: command.strict && !found.equivalent })
    };
    defined(answer(), &["difference", "interval", "p_lower", "p_upper", "p", "equivalent"])
}
