//! `stonewear uncertainty`: how far a result can be trusted.

pub(in crate::statistics) mod model;
pub(in crate::statistics) mod own_data;

use super::document::{Document, defined};
use super::file;
use super::table::{columns, figure, lines, short};
use crate::answer::{Answer, Failure};
use model::ModelFile;
use serde_json::{Value, json};
use std::path::PathBuf;
use stonewear_stats::StatsError;
use stonewear_stats::uncertainty::model::Expression;
use stonewear_stats::uncertainty::monte_carlo::{MonteCarlo, Setup, Wanted, adaptive, run};
use stonewear_stats::uncertainty::{FirstOrder, first_order};

/// Uncertainty of a measurand by first order (the GUM) and by Monte Carlo (its supplement 1).
///
/// MODEL.toml names the measurand, its model as an expression, and the inputs with what is known
/// about each.
#[derive(Debug, clap::Args)]
#[command(after_help = model::EXAMPLE)]
pub(crate) struct Uncertainty {
    /// The model; `-` reads standard input.
    model: PathBuf,
    /// Number of Monte Carlo trials.
    #[arg(long, default_value_t = 1_000_000)]
    trials: usize,
    /// Make as many trials as this number of significant digits of the uncertainty needs.
    #[arg(long, conflicts_with = "trials")]
    digits: Option<usize>,
    /// Seed of the random numbers: the same seed gives the same figures everywhere.
    #[arg(long, default_value_t = 1)]
    seed: u64,
    #[command(flatten)]
    own: own_data::OwnData,
}

pub(crate) fn uncertainty(command: &Uncertainty) -> Result<Answer, Failure> {
    let bytes = file::bytes(&command.model)?;
    let fault = |what: String| Failure::WrongInput(format!("{}: {what}", command.model.display()));
    let text = String::from_utf8(bytes)
        .map_err(|_| fault("these bytes are not UTF-8; save the file as UTF-8".to_owned()))?;
    let file = ModelFile::read(&text).map_err(fault)?;
    let own = command.own.read()?;
    let answer = || -> Result<Answer, StatsError> {
        let inputs = file.inputs()?;
        let correlations = file.correlations()?;
        let names: Vec<&str> = inputs.iter().map(|i| i.name.as_str()).collect();
        let model = Expression::new(&file.model, &names)?;
        let first = first_order(&model, &inputs, &correlations, file.level)?;
        let setup = Setup {
            inputs: &inputs,
            correlations: &correlations,
            level: file.level,
            seed: command.seed,
        };
        let (trials, settled) = match command.digits {
            None => (run(&model, setup, command.trials)?, None),
            Some(digits) => {
                let wanted = Wanted { digits, shortest: false, most: 100_000_000 };
                let found = adaptive(&model, setup, wanted)?;
                (found.result, Some(found.settled))
            }
        };
        let mut text = words(&file, &first, &trials);
        let mut json = document(&file, &first, &trials, settled, command.seed);
        if let Some(own) = &own {
            json = own.beside(json, &mut text)?;
        }
        Ok(Answer::new(text, json.value()))
    };
    defined(answer(), &["first_order", "monte_carlo", "contributions"])
}

fn document(
    file: &ModelFile,
    first: &FirstOrder,
    trials: &MonteCarlo,
    settled: Option<bool>,
    seed: u64,
) -> Document {
    let contributions: Vec<Value> = first
        .contributions
        .iter()
        .map(|c| {
            Document::new()
                .put("name", c.name.as_str())
                .put("estimate", c.estimate)
                .put("standard_uncertainty", c.standard_uncertainty)
                .put("sensitivity", c.sensitivity)
                .put("uncertainty", c.uncertainty)
                .figure("share", &c.share)
                .value()
        })
        .collect();
    Document::new()
        .put("measurand", file.measurand.as_str())
        .put("level", file.level)
        .put("first_order", of_first(first).value())
        .put("monte_carlo", of_trials(trials, settled, seed).value())
        .put("contributions", contributions)
}

/// A first-order result for programs.
pub(in crate::statistics) fn of_first(first: &FirstOrder) -> Document {
    let of_first = Document::new()
        .put("value", first.value)
        .put("standard_uncertainty", first.standard_uncertainty);
    match &first.expanded {
        Ok(expanded) => {
            let with = match expanded.freedom {
                Some(freedom) => of_first.put("degrees_of_freedom", freedom),
                None => of_first.missing("degrees_of_freedom", "infinitely many"),
            };
            with.put("coverage_factor", expanded.factor).put("expanded", expanded.uncertainty)
        }
        Err(why) => of_first
            .missing("degrees_of_freedom", why)
            .missing("coverage_factor", why)
            .missing("expanded", why),
    }
}

/// A Monte Carlo result for programs.
pub(in crate::statistics) fn of_trials(
    trials: &MonteCarlo,
    settled: Option<bool>,
    seed: u64,
) -> Document {
    let ends =
        |i: &stonewear_stats::regression::Interval| json!({ "lower": i.lower, "upper": i.upper });
    let mut of_trials = Document::new()
        .figure("mean", &trials.mean)
        .figure("standard_deviation", &trials.standard_deviation)
        .put("interval", ends(&trials.interval))
        .put("shortest", ends(&trials.shortest))
        .put("trials", trials.trials)
        .put("seed", seed);
    if let Some(settled) = settled {
        of_trials = of_trials.put("settled", settled);
    }
    of_trials
}

fn words(file: &ModelFile, first: &FirstOrder, trials: &MonteCarlo) -> String {
    let mut rows: Vec<&stonewear_stats::uncertainty::Contribution> =
        first.contributions.iter().collect();
    rows.sort_by(|a, b| b.uncertainty.total_cmp(&a.uncertainty));
    let rows: Vec<Vec<String>> = rows
        .iter()
        .map(|c| {
            let share = c.share.clone().map(|s| 100.0 * s);
            vec![
                c.name.clone(),
                short(c.estimate),
                short(c.standard_uncertainty),
                short(c.sensitivity),
                short(c.uncertainty),
                figure(&share),
            ]
        })
        .collect();
    let header =
        ["input", "estimate", "standard uncertainty", "sensitivity", "contribution", "share, %"];
    let expanded = first.expanded.as_ref().map_or_else(
        |why| format!("not defined ({why})"),
        |e| {
            let freedom = e.freedom.map_or_else(|| "infinitely many".to_owned(), short);
            format!(
                "{} (k = {}, degrees of freedom {freedom})",
                short(e.uncertainty),
                short(e.factor)
            )
        },
    );
    let ends = |i: &stonewear_stats::regression::Interval| {
        format!("{} to {}", short(i.lower), short(i.upper))
    };
    let mut text = lines(&[
        ("measurand", file.measurand.clone()),
        ("level", short(file.level)),
        ("first order: value", short(first.value)),
        ("first order: standard uncertainty", short(first.standard_uncertainty)),
        ("first order: expanded uncertainty", expanded),
        ("Monte Carlo: mean", figure(&trials.mean)),
        ("Monte Carlo: standard uncertainty", figure(&trials.standard_deviation)),
        ("Monte Carlo: interval", ends(&trials.interval)),
        ("Monte Carlo: shortest interval", ends(&trials.shortest)),
        ("trials", trials.trials.to_string()),
    ]);
    text.push('\n');
    text.push_str(&columns(&header, &rows));
    text
}
