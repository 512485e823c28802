//! `stonewear budget`: what the uncertainty of a loss is made of.

mod file;
mod history;
mod shown;

use super::document::defined;
use super::picture;
use crate::answer::{Answer, Failure};
use crate::command::find_method;
use file::{Known, SOURCES};
use std::path::{Path, PathBuf};
use stonewear_measure::read as decimal;
use stonewear_method::loss::loss;
use stonewear_method::model::Formula;
use stonewear_method::{Method, Weighed};
use stonewear_stats::StatsError;
use stonewear_stats::budget::{Budget, Contributor, How, Masses, Whole, budget as compute};

/// The file that a laboratory fills in, with invented figures.
#[cfg(test)]
const EXAMPLE: &str = include_str!("example.toml");

/// Budget the uncertainty of a loss: from the steps of the test, and from the laboratory's own results
/// on its reference aggregate.
///
/// From the steps: what the method publishes about balance, drying and revolutions, and what --inputs
/// says about these and all other sources. A source about which nothing is known is listed as not
/// known; nothing is put in its place.
#[derive(Debug, clap::Args)]
#[command(after_help = concat!("\
Example (invented figures):\n\
\x20 stonewear budget astm-d6928 --before 1500 --after 1278 --inputs inputs.toml\n\
\n\
where inputs.toml is:\n\n", include_str!("example.toml"), "\n\
--history is a CSV file: a line for every result on the reference aggregate and for every pair of\n\
duplicates on ordinary samples:\n\
\n\
\x20 kind,first,second\n\
\x20 reference,12.1,\n\
\x20 duplicate,14.8,15.1"))]
pub(crate) struct BudgetOf {
    /// The method: astm-d6928, with its edition astm-d6928@2010, or a file of your own, mine.toml.
    method: String,
    /// Oven-dry mass before, g; once a specimen.
    #[arg(long = "before", value_name = "G", required = true, allow_negative_numbers = true)]
    before: Vec<String>,
    /// Oven-dry mass kept on the method's sieve after, g; once a specimen.
    #[arg(long = "after", value_name = "G", required = true, allow_negative_numbers = true)]
    after: Vec<String>,
    /// The grading, for the revolutions; without it the widest tolerance of all gradings.
    #[arg(long, value_name = "NAME")]
    grading: Option<String>,
    /// What the laboratory knows about its errors: a TOML file, see below.
    #[arg(long, value_name = "FILE")]
    inputs: Option<PathBuf>,
    /// The laboratory's own results: a CSV file, see below.
    #[arg(long, value_name = "FILE")]
    history: Option<PathBuf>,
    /// Assigned value of the reference aggregate, % loss.
    #[arg(long, value_name = "LOSS", requires = "history")]
    assigned: Option<f64>,
    /// Standard uncertainty of the assigned value, % loss.
    #[arg(long, value_name = "U", default_value_t = 0.0, requires = "assigned")]
    assigned_u: f64,
    /// Level of the intervals.
    #[arg(long, default_value_t = 0.95)]
    level: f64,
    /// Number of Monte Carlo trials.
    #[arg(long, default_value_t = 1_000_000)]
    trials: usize,
    /// Seed of the random numbers: the same seed gives the same figures everywhere.
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// Draw the contributors into this file, the largest first.
    #[arg(long, value_name = "FILE")]
    svg: Option<PathBuf>,
}

/// Everything that is found about one loss.
struct Found {
    method: Method,
    loss_percent: String,
    known: Vec<Known>,
    not_known: Vec<&'static str>,
    budget: Result<Budget, StatsError>,
    own: Option<history::Own>,
    how: How,
}

pub(crate) fn budget(command: &BudgetOf) -> Result<Answer, Failure> {
    let method = find_method(&command.method)?;
    if let Some(name) = &command.grading
        && method.grading(name).is_none()
    {
        let names: Vec<&str> = method.gradings.iter().map(|g| g.name.as_str()).collect();
        return Err(Failure::WrongInput(format!(
            "--grading {name}: {} has the gradings {}",
            method.key(),
            names.join(", ")
        )));
    }
    let (loss_percent, masses) = weighed(command, &method)?;
    let given = match &command.inputs {
        Some(path) => inputs(path)?,
        None => Vec::new(),
    };
    let is_given = |name: &str| given.iter().any(|k| k.contributor.source == name);
    let mut known = file::of_method(&method, command.grading.as_deref());
    known.retain(|k| !is_given(&k.contributor.source));
    known.extend(given);
    let not_known: Vec<&str> = SOURCES
        .into_iter()
        .filter(|name| known.iter().all(|k| k.contributor.source != *name))
        .collect();
    let own = command.history.as_deref().map(|path| history::read(path, command)).transpose()?;
    let prescribed = method.specimen.mass_g.as_ref().map(|mass| float(mass.nominal.value));
    let whole = match (method.loss.as_ref().map(|rule| rule.formula.value), prescribed) {
        (Some(Formula::OfNominalMass), Some(prescribed)) => Whole::Nominal(prescribed),
        // Any other that comes here takes the loss of the mass before: the loss itself says so.
        _ => Whole::MassBefore,
    };
    let contributors: Vec<Contributor> = known.iter().map(|k| k.contributor.clone()).collect();
    let how = How { level: command.level, trials: command.trials, seed: command.seed };
    let budget = compute(&masses, whole, &contributors, how);
    let found = Found { method, loss_percent, known, not_known, budget, own, how };
    if let Ok(budget) = &found.budget {
        picture::write(|| shown::picture(budget, &found.not_known).svg(), command.svg.as_deref())?;
    }
    defined(shown::answer(&found), &["bottom_up", "top_down"])
}

fn float(value: stonewear_measure::Decimal) -> f64 {
    // A mass in grams has few digits, so its text is a float.
    value.to_string().parse().unwrap_or(0.0)
}

/// The loss as the method reports it, and the masses for the statistics.
fn weighed(command: &BudgetOf, method: &Method) -> Result<(String, Vec<Masses>), Failure> {
    if command.before.len() != command.after.len() {
        return Err(Failure::WrongInput(format!(
            "{} masses before and {} after are given; give one --before and one --after a specimen",
            command.before.len(),
            command.after.len()
        )));
    }
    let mass = |option: &str, typed: &str| {
        decimal(typed).map_err(|error| Failure::WrongInput(format!("{option} {typed}: {error}")))
    };
    let specimens = command
        .before
        .iter()
        .zip(&command.after)
        .map(|(before, after)| {
            Ok(Weighed { before_g: mass("--before", before)?, after_g: mass("--after", after)? })
        })
        .collect::<Result<Vec<Weighed>, Failure>>()?;
    let loss = loss(method, &specimens).map_err(Failure::wrong_input)?;
    let masses = specimens
        .iter()
        .map(|s| Masses { before_g: float(s.before_g), after_g: float(s.after_g) })
        .collect();
    Ok((loss.percent.to_string(), masses))
}

fn inputs(path: &Path) -> Result<Vec<Known>, Failure> {
    let fault = |what: String| Failure::WrongInput(format!("{}: {what}", path.display()));
    let text = String::from_utf8(super::file::bytes(path)?)
        .map_err(|_| fault("these bytes are not UTF-8; save the file as UTF-8".to_owned()))?;
    file::read(&text).map_err(fault)
}
