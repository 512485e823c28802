//! `stonewear relations`: how precision depends on the level.

use super::document::{Document, defined};
use super::file;
use super::table::{columns, figure, lines, short};
use crate::answer::{Answer, Failure};
use serde_json::{Value, json};
use std::path::PathBuf;
use stonewear_stats::interlab::{LIMIT_FACTOR, relations as fit, sensitivity_ratio};
use stonewear_stats::{StatsError, Undefined};

/// Functional relations between standard deviation and level (ISO 5725-2), and how well levels are told
/// apart.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Example (invented figures):\n\
\x20 printf 'mean,s\\n6.0,0.30\\n12.0,0.45\\n24.0,0.80\\n' > precision.csv\n\
\x20 stonewear relations precision.csv")]
pub(crate) struct Relations {
    /// CSV file with a header row; `-` reads standard input.
    file: PathBuf,
    /// Column of the levels.
    #[arg(long, value_name = "NAME", default_value = "mean")]
    level: String,
    /// Column of the standard deviations.
    #[arg(long, value_name = "NAME", default_value = "s")]
    sd: String,
}

pub(crate) fn relations(command: &Relations) -> Result<Answer, Failure> {
    let table = file::table(&command.file)?;
    let column =
        |name: &str| table.numbers(name).map_err(|error| file::fault(&command.file, &error));
    let (levels, deviations) = (column(&command.level)?, column(&command.sd)?);
    let answer = || -> Result<Answer, StatsError> {
        let found = fit(&levels, &deviations)?;
        let mut json = Document::new().figure("proportional", &found.proportional);
        json = line(json, "linear", &found.linear, ["intercept", "slope"]);
        json = line(json, "power", &found.power, ["constant", "exponent"]);
        // The limit is a multiple of the standard deviation, so its relation is the same multiple.
        let limit = found.linear.clone().map(|(a, b)| (LIMIT_FACTOR * a, LIMIT_FACTOR * b));
        json = line(json, "limit_linear", &limit, ["intercept", "slope"]);
        let limit = found.proportional.clone().map(|b| LIMIT_FACTOR * b);
        json = json.figure("limit_proportional", &limit);
        let mut ratios: Vec<Value> = Vec::new();
        let mut rows: Vec<Vec<String>> = Vec::new();
        for i in 0..levels.len() {
            for j in i + 1..levels.len() {
                let ratio =
                    sensitivity_ratio((levels[i], deviations[i]), (levels[j], deviations[j]));
                rows.push(vec![format!("{} and {}", i + 1, j + 1), figure(&ratio)]);
                let pair = Document::new().put("first", i + 1).put("second", j + 1);
                ratios.push(pair.figure("ratio", &ratio).value());
            }
        }
        let json = json.put("sensitivity_ratios", ratios).value();
        let words = |l: &Result<(f64, f64), Undefined>, form: &dyn Fn(&str, &str) -> String| match l
        {
            Ok((a, b)) => form(&short(*a), &short(*b)),
            Err(why) => format!("not defined ({why})"),
        };
        let mut text = lines(&[
            (
                "s proportional to the level",
                found.proportional.as_ref().map_or_else(
                    |why| format!("not defined ({why})"),
                    |b| format!("s = {} m", short(*b)),
                ),
            ),
            ("weighted line", words(&found.linear, &|a, b| format!("s = {a} + {b} m"))),
            ("power", words(&found.power, &|a, b| format!("lg s = {a} + {b} lg m"))),
        ]);
        text.push('\n');
        text.push_str(&columns(&["levels", "sensitivity ratio"], &rows));
        Ok(Answer::new(text, json))
    };
    defined(answer(), &["proportional", "linear", "power", "sensitivity_ratios"])
}

fn line(
    json: Document,
    name: &str,
    line: &Result<(f64, f64), Undefined>,
    parts: [&str; 2],
) -> Document {
    match line {
        Ok((a, b)) => json.put(name, json!({ parts[0]: a, parts[1]: b })),
        Err(why) => json.missing(name, why),
    }
}
