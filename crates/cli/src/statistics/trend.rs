//! `stonewear trend`: when does a trend meet its limit?

use super::document::{Document, defined};
use super::file;
use super::table::{figure, lines, short};
use crate::answer::{Answer, Failure};
use std::path::PathBuf;
use stonewear_stats::regression::{Crossing, limit_crossing, straight_line};

/// Fit a line and say when it meets a limit, with Fieller's interval.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Example (invented figures):\n\
\x20 printf 'x,y\\n0,5006.1\\n100,5002.2\\n200,4997.9\\n300,4993.6\\n' > charge.csv\n\
\x20 stonewear trend charge.csv --limit 4975")]
pub(crate) struct Trend {
    /// CSV file with a header row; `-` reads standard input.
    file: PathBuf,
    /// The limit, in the unit of y.
    #[arg(long, allow_negative_numbers = true)]
    limit: f64,
    /// Column of x.
    #[arg(long, value_name = "NAME", default_value = "x")]
    x: String,
    /// Column of y.
    #[arg(long, value_name = "NAME", default_value = "y")]
    y: String,
    /// Two-sided level of the interval; ask for 0.90 and use one end for a one-sided 95 %.
    #[arg(long, default_value_t = 0.95)]
    level: f64,
}

pub(crate) fn trend(command: &Trend) -> Result<Answer, Failure> {
    let table = file::table(&command.file)?;
    let column =
        |name: &str| table.numbers(name).map_err(|error| file::fault(&command.file, &error));
    let (x, y) = (column(&command.x)?, column(&command.y)?);
    let answer = || {
        let line = straight_line(&x, &y)?;
        let json = Document::new()
            .put("n", line.n)
            .put("slope", line.slope)
            .put("intercept", line.intercept)
            .put("level", command.level);
        let mut pairs = vec![("slope", short(line.slope)), ("intercept", short(line.intercept))];
        let found = match limit_crossing(&line, command.limit, command.level) {
            Ok(found) => found,
            Err(stonewear_stats::StatsError::Undefined(why)) => {
                pairs.push(("crossing", format!("not defined ({why})")));
                return Ok(Answer::new(lines(&pairs), json.missing("crossing", why).value()));
            }
            Err(wrong) => return Err(wrong),
        };
        let crossing = Document::new()
            .put("estimate", found.estimate)
            .figure("standard_error", &found.standard_error)
            .figure("g", &found.g);
        pairs.push(("meets the limit at", short(found.estimate)));
        pairs.push(("standard error", figure(&found.standard_error)));
        let unbounded = "the slope is not significant, so no finite interval exists";
        let (crossing, words) = match &found.crossing {
            Ok(Crossing::Between(ends)) => (
                crossing.put("kind", "between").put("lower", ends.lower).put("upper", ends.upper),
                format!("{} to {}", short(ends.lower), short(ends.upper)),
            ),
            Ok(Crossing::Outside(ends)) => (
                crossing
                    .put("kind", "outside")
                    .missing("lower", unbounded)
                    .missing("upper", unbounded)
                    .put("up_to", ends.lower)
                    .put("from", ends.upper),
                format!(
                    "not bounded: up to {} or from {}; {unbounded}",
                    short(ends.lower),
                    short(ends.upper)
                ),
            ),
            Ok(Crossing::Anywhere) => (
                crossing
                    .put("kind", "anywhere")
                    .missing("lower", unbounded)
                    .missing("upper", unbounded),
                format!("not bounded: {unbounded}"),
            ),
            Err(why) => (
                crossing.put("kind", "undefined").missing("lower", why).missing("upper", why),
                format!("not defined ({why})"),
            ),
        };
        pairs.push(("interval", words));
        Ok(Answer::new(lines(&pairs), json.put("crossing", crossing.value()).value()))
    };
    defined(answer(), &["slope", "intercept", "crossing"])
}
