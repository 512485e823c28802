//! `stonewear chart`: is the process still what it was?

mod memory;
mod shewhart;

use super::document::defined;
use super::file::{self, Csv};
use super::picture;
use crate::answer::{Answer, Failure};
use clap::Subcommand;
use std::path::PathBuf;
use stonewear_picture::SeriesChart;
use stonewear_stats::StatsError;
use stonewear_stats::chart::{Baseline, Established, Exclusion, Rule, baseline};

/// Draw a control chart of a column.
///
/// Exit status 1 means that a point signals. Without --target and --sigma the limits come from the
/// points themselves (phase 1); with both, points are judged against a process that is known (phase 2).
#[derive(Debug, clap::Args)]
pub(crate) struct Chart {
    #[command(subcommand)]
    kind: Kind,
    /// Draw the chart into this file.
    #[arg(long, global = true, value_name = "FILE")]
    svg: Option<PathBuf>,
}

/// A chart in words, for programs, and as a picture.
struct Charted {
    answer: Answer,
    picture: SeriesChart,
}

#[derive(Debug, Subcommand)]
enum Kind {
    /// Single values and moving ranges.
    #[command(
        after_help = "Example:\n  stonewear chart individuals reference.csv --rules 1,2,3,4 --svg reference.svg"
    )]
    Individuals(Individuals),
    /// Means of subgroups, spread by their ranges.
    #[command(after_help = "Example:\n  stonewear chart mean-range groups.csv --subgroup day")]
    MeanRange(Subgroups),
    /// Means of subgroups, spread by their standard deviations.
    #[command(after_help = "Example:\n  stonewear chart mean-sd groups.csv --subgroup day")]
    MeanSd(Subgroups),
    /// Exponentially weighted moving average.
    #[command(
        after_help = "Example:\n  stonewear chart ewma reference.csv --target 12 --sigma 0.3"
    )]
    Ewma(Ewma),
    /// Cumulative sums.
    #[command(
        after_help = "Example:\n  stonewear chart cusum reference.csv --target 12 --k 0.15 --h 1.5"
    )]
    Cusum(Cusum),
}

#[derive(Debug, clap::Args)]
struct Process {
    /// Mean of the process as it is known.
    #[arg(long, allow_negative_numbers = true)]
    target: Option<f64>,
    /// Standard deviation of single values as it is known.
    #[arg(long)]
    sigma: Option<f64>,
    /// Leave a baseline point out, with its reason: `5:cover was loose`; repeatable.
    #[arg(long, value_name = "POINT:REASON")]
    exclude: Vec<String>,
}

#[derive(Debug, clap::Args)]
struct Individuals {
    #[command(flatten)]
    csv: Csv,
    #[command(flatten)]
    process: Process,
    #[command(flatten)]
    rules: Rules,
}

#[derive(Debug, clap::Args)]
struct Subgroups {
    #[command(flatten)]
    csv: Csv,
    /// Column that names the subgroup; the first one unless named.
    #[arg(long, value_name = "NAME")]
    subgroup: Option<String>,
    #[command(flatten)]
    rules: Rules,
}

#[derive(Debug, clap::Args)]
struct Ewma {
    #[command(flatten)]
    csv: Csv,
    #[command(flatten)]
    process: Process,
    /// Weight of the newest point.
    #[arg(long, default_value_t = 0.2)]
    lambda: f64,
    /// Half-width of the limits in standard deviations of the average.
    #[arg(long, default_value_t = 3.0)]
    width: f64,
    /// Final limits from the first point on, instead of exact ones for each.
    #[arg(long)]
    asymptotic: bool,
}

#[derive(Debug, clap::Args)]
struct Cusum {
    #[command(flatten)]
    csv: Csv,
    #[command(flatten)]
    process: Process,
    /// Allowance, in the unit of the values; half a standard deviation unless given.
    #[arg(long)]
    k: Option<f64>,
    /// Decision interval, in the unit of the values; five standard deviations unless given.
    #[arg(long)]
    h: Option<f64>,
}

/// Which run rules.
#[derive(Debug, clap::Args)]
pub(super) struct Rules {
    /// Run rules by number: 1 one beyond 3 sigma, 2 two of three beyond 2 sigma, 3 four of five beyond
    /// 1 sigma, 4 eight in a row on one side.
    #[arg(long, value_delimiter = ',', default_values_t = [1])]
    rules: Vec<usize>,
}

impl Rules {
    pub(super) fn chosen(&self) -> Result<Vec<Rule>, StatsError> {
        self.rules.iter().map(|number| Rule::classical(*number)).collect()
    }
}

const FIELDS: [&str; 5] = ["centre", "lower", "upper", "points", "moving_range_mean"];

pub(crate) fn chart(command: &Chart) -> Result<Answer, Failure> {
    let charted = charted(&command.kind)?;
    if let Ok(Charted { picture, .. }) = &charted {
        picture::write(|| picture.svg(), command.svg.as_deref())?;
    }
    defined(charted.map(|charted| charted.answer), &FIELDS)
}

/// The chart, where the file can be read; whether it is defined is in the inner result.
fn charted(kind: &Kind) -> Result<Result<Charted, StatsError>, Failure> {
    Ok(match kind {
        Kind::Individuals(c) => {
            let (values, excluded) = (c.csv.numbers()?, c.process.exclusions()?);
            let answer = || {
                let rules = c.rules.chosen()?;
                let (process, phase_1) = c.process.established(&values, &excluded, &rules)?;
                shewhart::individuals(&values, process, phase_1.as_ref(), &rules)
            };
            answer()
        }
        Kind::MeanRange(c) => {
            let groups = c.groups()?;
            c.rules.chosen().and_then(|r| shewhart::mean_range(&groups, &r))
        }
        Kind::MeanSd(c) => {
            let groups = c.groups()?;
            c.rules.chosen().and_then(|r| shewhart::mean_sd(&groups, &r))
        }
        Kind::Ewma(c) => {
            let (values, excluded) = (c.csv.numbers()?, c.process.exclusions()?);
            let answer = || {
                let (process, _) = c.process.established(&values, &excluded, &[Rule::ONE])?;
                memory::ewma(&values, process, c.lambda, c.width, c.asymptotic)
            };
            answer()
        }
        Kind::Cusum(c) => {
            let (values, excluded) = (c.csv.numbers()?, c.process.exclusions()?);
            let answer = || {
                // With target, k and h given nothing has to be estimated.
                let design = match (c.process.target, c.k, c.h) {
                    (Some(target), Some(k), Some(h)) => (target, k, h),
                    (_, k, h) => {
                        let (process, _) =
                            c.process.established(&values, &excluded, &[Rule::ONE])?;
                        let (k, h) =
                            (k.unwrap_or(0.5 * process.sigma), h.unwrap_or(5.0 * process.sigma));
                        (process.centre, k, h)
                    }
                };
                memory::cusum(&values, design)
            };
            answer()
        }
    })
}

impl Process {
    fn exclusions(&self) -> Result<Vec<Exclusion>, Failure> {
        self.exclude
            .iter()
            .map(|text| {
                let parts =
                    text.split_once(':').and_then(|(i, r)| Some((i.trim().parse().ok()?, r)));
                let (index, reason) = parts.ok_or_else(|| {
                    let right = "it has to be a point and a reason, such as 5:cover was loose";
                    Failure::WrongInput(format!("--exclude {text}: {right}"))
                })?;
                Ok(Exclusion { index, reason: reason.trim().to_owned() })
            })
            .collect()
    }

    /// The process: as given, or as the values show it, whatever is not given.
    fn established(
        &self,
        values: &[f64],
        excluded: &[Exclusion],
        rules: &[Rule],
    ) -> Result<(Established, Option<Baseline>), StatsError> {
        if let (Some(target), Some(sigma)) = (self.target, self.sigma) {
            return Ok((Established::new(target, sigma)?, None));
        }
        let phase_1 = baseline(values, excluded, rules)?;
        let centre = self.target.unwrap_or(phase_1.process.centre);
        let sigma = self.sigma.unwrap_or(phase_1.process.sigma);
        Ok((Established::new(centre, sigma)?, Some(phase_1)))
    }
}

impl Subgroups {
    /// Values by subgroup, in the order the subgroups first appear.
    fn groups(&self) -> Result<Vec<Vec<f64>>, Failure> {
        let path = &self.csv.file;
        let fault = |error| file::fault(path, &error);
        let table = file::table(path)?;
        let by = self.subgroup.clone().unwrap_or_else(|| table.names()[0].clone());
        let names = table.texts(&by).map_err(fault)?;
        let rest: Vec<&String> = table.names().iter().filter(|name| **name != by).collect();
        let values = match (&self.csv.column, rest.as_slice()) {
            (Some(name), _) => table.numbers(name),
            (None, [one]) => table.numbers(one),
            (None, _) => {
                let columns = table.names().join(", ");
                return Err(Failure::WrongInput(format!(
                    "{}: which column holds the values? The columns are {columns}; name one with \
                     --column",
                    path.display()
                )));
            }
        };
        let mut places = std::collections::HashMap::new();
        let mut groups: Vec<Vec<f64>> = Vec::new();
        for (name, value) in names.iter().zip(values.map_err(fault)?) {
            let place = *places.entry(name).or_insert_with(|| {
                groups.push(Vec::new());
                groups.len() - 1
            });
            groups[place].push(value);
        }
        Ok(groups)
    }
}
