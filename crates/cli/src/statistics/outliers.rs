//! `stonewear outliers`: does a value belong to the others?

use super::document::{Document, defined};
use super::file::Csv;
use super::table::{columns, short};
use crate::answer::{Answer, Failure};
use clap::ValueEnum;
use serde_json::{Value, json};
use stonewear_stats::StatsError;
use stonewear_stats::outlier::{dixon, generalized_esd, grubbs, grubbs_critical};

/// Look for outliers in one column.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Example (invented figures):\n\
\x20 printf 'loss\\n12.0\\n12.2\\n11.9\\n12.1\\n19.4\\n12.0\\n' > round.csv\n\
\x20 stonewear outliers round.csv --test dixon")]
pub(crate) struct Outliers {
    #[command(flatten)]
    csv: Csv,
    /// Which test.
    #[arg(long, value_enum, default_value_t = Test::Grubbs)]
    test: Test,
    /// The most outliers to look for (generalized ESD).
    #[arg(long, default_value_t = 1)]
    most: usize,
    /// Level of the test, two-sided.
    #[arg(long, default_value_t = 0.05)]
    alpha: f64,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Test {
    /// Distance of the farthest from the mean.
    Grubbs,
    /// Gap over range, 3 to 100 values.
    Dixon,
    /// Generalized extreme studentized deviate, for several.
    Esd,
}

/// One suspect: index from 1, value, statistic, critical value.
type Suspect = (usize, f64, f64, f64);

pub(crate) fn outliers(command: &Outliers) -> Result<Answer, Failure> {
    let values = command.csv.numbers()?;
    let answer = || -> Result<Answer, StatsError> {
        let (suspects, count, name) = match command.test {
            Test::Grubbs => {
                let found = grubbs(&values)?;
                let critical = grubbs_critical(values.len(), command.alpha, true)?;
                let beyond = usize::from(found.statistic > critical);
                (
                    vec![(found.index, found.value, found.statistic, critical)],
                    beyond,
                    "grubbs".to_owned(),
                )
            }
            Test::Dixon => {
                let found = dixon(&values, command.alpha)?;
                let statistic = found.low.max(found.high);
                let suspect = (found.index, found.value, statistic, found.critical);
                (vec![suspect], usize::from(found.outlier), format!("dixon {}", found.ratio.name()))
            }
            Test::Esd => {
                let found = generalized_esd(&values, command.most, command.alpha)?;
                let suspects: Vec<Suspect> = found
                    .steps
                    .iter()
                    .map(|s| (s.index, s.value, s.statistic, s.critical))
                    .collect();
                (suspects, found.outliers, "esd".to_owned())
            }
        };
        Ok(shown(&suspects, count, &name))
    };
    defined(answer(), &["statistics", "critical", "outliers"])
}

fn shown(suspects: &[Suspect], count: usize, name: &str) -> Answer {
    let outliers: Vec<Value> =
        suspects[..count].iter().map(|s| json!({ "index": s.0, "value": s.1 })).collect();
    let tested: Vec<Value> =
        suspects.iter().map(|s| json!({ "index": s.0, "value": s.1 })).collect();
    let json = Document::new()
        .put("test", name)
        .put("statistics", suspects.iter().map(|s| s.2).collect::<Vec<f64>>())
        .put("critical", suspects.iter().map(|s| s.3).collect::<Vec<f64>>())
        .put("suspects", tested)
        .put("outliers", outliers)
        .value();
    let rows: Vec<Vec<String>> = suspects
        .iter()
        .enumerate()
        .map(|(i, s)| {
            let verdict = if i < count { "outlier" } else { "" };
            vec![s.0.to_string(), short(s.1), short(s.2), short(s.3), verdict.to_owned()]
        })
        .collect();
    Answer::new(columns(&["value no.", "value", "statistic", "critical", ""], &rows), json)
}
