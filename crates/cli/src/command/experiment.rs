//! `stonewear experiment`: how the loss follows the conditions of the run, by runs at other levels
//! than the method's.

use super::asking::ask;
use super::charge::shown;
use super::sheet;
use crate::answer::{Answer, Failure};
use crate::arguments::{Asking, Folder};
use crate::statistics::{file, picture};
use serde_json::{Value, json};
use std::path::PathBuf;
use stonewear_lab::ExperimentCode;
use stonewear_lab::experiment::Analysis;
use stonewear_lab::request::{
    AssignToExperiment, ImportExperiment, LeaveOutOfExperiment, PlanExperiment, RecordSensitivity,
};
use stonewear_lab::state::Experiment as Planned;
use stonewear_report::{csv, experiment_plot, experiment_sheet, experiment_table};
use stonewear_runtime::{LaboratoryView, drawn_seed};

#[derive(Debug, clap::Subcommand)]
pub(crate) enum Experiment {
    /// Plan runs at several levels of a condition, in an order drawn by chance.
    #[command(after_help = "\
Example:\n\
\x20 stonewear experiment plan --by AB revolutions --method astm-d6928 --grading 19.0 --title 'loss over revolutions' --level 9000 --level 12000 --level 15000 --replicates 2")]
    Plan(Plan),
    /// Record an experiment that was done already, from a table of levels and losses.
    #[command(after_help = "\
Example (invented figures):\n\
\x20 printf 'level,loss\\n9000,11.2\\n9000,11.0\\n12000,14.9\\n12000,15.2\\n15000,18.7\\n' > runs.csv\n\
\x20 stonewear experiment import --by AB revolutions --method astm-d6928 --grading 19.0 --title 'loss over revolutions' --file runs.csv --source 'notebook 4, page 12'")]
    Import(Import),
    /// Give a planned run its specimen, before it runs.
    #[command(after_help = "\
Example:\n\
\x20 stonewear experiment assign --by AB X26-001 S26-031-1")]
    Assign(Assign),
    /// Leave a run in which something went wrong out of the fit.
    #[command(after_help = "\
Example:\n\
\x20 stonewear experiment leave-out --by AB X26-001 4 --reason 'the jar leaked'")]
    LeaveOut {
        #[command(flatten)]
        asking: Asking,
        /// The experiment.
        experiment: String,
        /// The run by its number.
        run: String,
        /// What went wrong.
        #[arg(long)]
        reason: String,
    },
    /// List the experiments.
    #[command(after_help = "\
Example:\n\
\x20 stonewear experiment list --dir demo-laboratory")]
    List {
        #[command(flatten)]
        folder: Folder,
    },
    /// Show the runs of an experiment and what its losses say.
    #[command(after_help = "\
Example:\n\
\x20 stonewear experiment show X26-001 --dir demo-laboratory --svg losses.svg")]
    Show(Show),
    /// Record the sensitivity that an experiment found, so that doubts are worked out with it.
    #[command(after_help = "\
Example:\n\
\x20 stonewear experiment adopt --by AB X26-001")]
    Adopt {
        #[command(flatten)]
        asking: Asking,
        /// The experiment.
        experiment: String,
    },
    /// Print an experiment as PDF: the order of its runs with room to write, and what it says.
    #[command(after_help = "\
Example:\n\
\x20 stonewear experiment paper X26-001 --out experiment.pdf")]
    Paper {
        #[command(flatten)]
        folder: Folder,
        /// The experiment.
        experiment: String,
        /// File to write.
        #[arg(long, short, value_name = "FILE")]
        out: PathBuf,
    },
}

/// What an experiment is about.
#[derive(Debug, clap::Args)]
pub(crate) struct About {
    #[command(flatten)]
    asking: Asking,
    /// The condition: revolutions, charge, water-temperature or water-volume.
    condition: String,
    /// The method, like astm-d6928.
    #[arg(long)]
    method: String,
    /// The grading of the method; left out, the only one.
    #[arg(long, default_value = "")]
    grading: String,
    /// What it is to tell, in a few words.
    #[arg(long)]
    title: String,
}

#[derive(Debug, clap::Args)]
pub(crate) struct Plan {
    #[command(flatten)]
    about: About,
    /// A level, in the unit of the condition (revolutions, g, °C, L); repeat it for each.
    #[arg(long, value_name = "LEVEL", required = true, allow_negative_numbers = true)]
    level: Vec<String>,
    /// Runs at each level.
    #[arg(long, value_name = "COUNT", default_value = "2")]
    replicates: String,
    /// The sample that all specimens are of.
    #[arg(long, default_value = "")]
    sample: String,
    /// The seed of the order; left out, one is drawn and recorded.
    #[arg(long, allow_negative_numbers = true)]
    seed: Option<String>,
}

#[derive(Debug, clap::Args)]
pub(crate) struct Import {
    #[command(flatten)]
    about: About,
    /// CSV file with the columns level and loss; `-` reads standard input.
    #[arg(long)]
    file: PathBuf,
    /// Where the figures are on record.
    #[arg(long)]
    source: String,
}

#[derive(Debug, clap::Args)]
pub(crate) struct Assign {
    #[command(flatten)]
    asking: Asking,
    /// The experiment.
    experiment: String,
    /// The specimen.
    specimen: String,
    /// The run by its number; left out, the next without a specimen.
    #[arg(long, default_value = "")]
    run: String,
    /// Why a specimen that is already assigned is replaced.
    #[arg(long, default_value = "")]
    reason: String,
}

#[derive(Debug, clap::Args)]
pub(crate) struct Show {
    #[command(flatten)]
    folder: Folder,
    /// The experiment.
    experiment: String,
    /// Draw the losses with the fit and its bands into this file.
    #[arg(long, value_name = "FILE")]
    svg: Option<PathBuf>,
    /// Write the runs to this file.
    #[arg(long, value_name = "FILE")]
    csv: Option<PathBuf>,
}

pub(crate) fn run(experiment: Experiment) -> Result<Answer, Failure> {
    match experiment {
        Experiment::Plan(plan) => {
            let About { asking, condition, method, grading, title } = plan.about;
            let seed = plan.seed.unwrap_or_else(|| drawn_seed().to_string());
            let Plan { level: levels, replicates, sample, .. } = plan;
            ask(
                &asking,
                PlanExperiment {
                    title,
                    condition,
                    method,
                    grading,
                    sample,
                    levels,
                    replicates,
                    seed,
                },
            )
        }
        Experiment::Import(import) => {
            let About { asking, condition, method, grading, title } = import.about;
            let bytes = file::bytes(&import.file)?;
            let table = String::from_utf8(bytes).map_err(|error| {
                Failure::WrongInput(format!("{}: {error}", import.file.display()))
            })?;
            let source = import.source;
            ask(&asking, ImportExperiment { title, condition, method, grading, table, source })
        }
        Experiment::Assign(assign) => {
            let Assign { asking, experiment, specimen, run, reason } = assign;
            ask(&asking, AssignToExperiment { experiment, run, specimen, reason })
        }
        Experiment::LeaveOut { asking, experiment, run, reason } => {
            ask(&asking, LeaveOutOfExperiment { experiment, run, reason })
        }
        Experiment::List { folder } => list(&folder),
        Experiment::Show(show) => self::show(&show),
        Experiment::Adopt { asking, experiment } => adopt(&asking, &experiment),
        Experiment::Paper { folder, experiment, out } => {
            let view = LaboratoryView::open(&folder.place()?)?;
            let found = found(&view, &experiment)?;
            let anchor = view.anchor().map_err(Failure::surroundings)?;
            sheet::print(&experiment_sheet(view.lab(), found, anchor, view.now()), &out)
        }
    }
}

fn found<'v>(view: &'v LaboratoryView, typed: &str) -> Result<&'v Planned, Failure> {
    let experiments = &view.lab().experiments;
    experiments.get(typed.trim().to_uppercase().as_str()).ok_or_else(|| {
        let known = experiments.keys().map(ExperimentCode::as_str);
        super::unknown("there is no experiment", typed.trim(), known)
    })
}

fn list(folder: &Folder) -> Result<Answer, Failure> {
    let view = LaboratoryView::open(&folder.place()?)?;
    let lab = view.lab();
    let lines: Vec<String> = lab
        .experiments
        .values()
        .rev()
        .map(|one| {
            let losses = lab.experiment_losses(one).len();
            format!("{}: {}, {losses} of {} losses", one.code, one.title, one.runs.len())
        })
        .collect();
    let text = if lines.is_empty() { "no experiment yet".to_owned() } else { lines.join("\n") };
    Ok(Answer::new(text, json!({ "experiments": lab.experiments.values().collect::<Vec<_>>() })))
}

fn show(show: &Show) -> Result<Answer, Failure> {
    let view = LaboratoryView::open(&show.folder.place()?)?;
    let lab = view.lab();
    let experiment = found(&view, &show.experiment)?;
    let analysis = lab.experiment_analysis(experiment);
    let mut text = format!("{}: {}\n", experiment.code, experiment.title);
    match &analysis {
        Ok(found) => {
            text.push_str(&format!("{}\n", found.sensitivity_in_words()));
            text.push_str(&format!("fitted: {}; {}\n", found.model.in_words(), found.why));
            picture::write(|| experiment_plot(experiment, found).svg(), show.svg.as_deref())?;
        }
        Err(why) => text.push_str(&format!("nothing is fitted yet: {why}\n")),
    }
    let table = experiment_table(lab, experiment);
    text.push_str(&shown(&table));
    picture::write(|| csv(&table), show.csv.as_deref())?;
    let losses: Vec<Value> = lab
        .experiment_losses(experiment)
        .iter()
        .map(|one| {
            json!({
                "run": one.run,
                "planned": one.planned.to_string(),
                "level": one.level.to_string(),
                "loss_percent": one.loss_percent.to_string(),
                "in_fit": one.is_in_fit,
            })
        })
        .collect();
    let analysis = match &analysis {
        Ok(found) => as_json(found),
        Err(why) => json!({ "why_not": why }),
    };
    Ok(Answer::new(
        text,
        json!({ "experiment": experiment, "losses": losses, "analysis": analysis }),
    ))
}

fn as_json(found: &Analysis) -> Value {
    let coefficients: Vec<Value> = found
        .chosen
        .coefficients
        .iter()
        .map(|one| {
            json!({
                "name": one.name,
                "estimate": one.estimate.as_ref().ok(),
                "standard_error": one.standard_error.as_ref().ok(),
            })
        })
        .collect();
    let sensitivity = match &found.sensitivity {
        Ok(one) => json!({
            "percent_of_loss": one.percent_of_loss,
            "standard_uncertainty": one.standard_uncertainty,
            "recorded_as": one.recorded.map(|(value, expanded)| json!({
                "percent_of_loss": value.to_string(),
                "uncertainty": expanded.to_string(),
            })),
            "per": found.condition.per(),
        }),
        Err(why) => json!({ "why_not": why }),
    };
    json!({
        "model": found.model.in_words(),
        "why": found.why,
        "coefficients": coefficients,
        "residual_standard_deviation": found.chosen.residual_standard_deviation.as_ref().ok(),
        "degrees_of_freedom": found.chosen.degrees_of_freedom,
        "lack_of_fit_of_the_line": found.line_fits.test.as_ref().ok().map(|test| json!({
            "f": test.f, "numerator": test.numerator, "denominator": test.denominator, "p": test.p,
        })),
        "nominal": found.nominal.map(|nominal| nominal.to_string()),
        "loss_at_nominal": found.at_nominal.as_ref().map(|there| there.value),
        "sensitivity": sensitivity,
    })
}

fn adopt(asking: &Asking, typed: &str) -> Result<Answer, Failure> {
    let request = {
        let view = LaboratoryView::open(&asking.folder.place()?)?;
        let experiment = found(&view, typed)?;
        let refused = |why: String| Failure::Refused(format!("{}: {why}", experiment.code));
        let analysis = view.lab().experiment_analysis(experiment).map_err(refused)?;
        let sensitivity = analysis.sensitivity.map_err(refused)?;
        let (value, expanded) = sensitivity
            .recorded
            .ok_or_else(|| refused("what it found cannot be written as a number".to_owned()))?;
        RecordSensitivity {
            condition: experiment.condition.as_str().to_owned(),
            method: experiment.method.to_string(),
            percent_of_loss: value.to_string(),
            uncertainty: expanded.to_string(),
            experiment: experiment.name(),
        }
    };
    ask(asking, request)
}

/// What a fact about a charge or an experiment says in a short sentence.
pub(super) fn in_words(fact: &stonewear_lab::Fact) -> Option<String> {
    use stonewear_lab::Fact;
    Some(match fact {
        Fact::ChargeChanged(changed) => format!("{}: {}", changed.charge, changed.in_words()),
        Fact::ExperimentPlanned(planned) => {
            let order: Vec<String> = planned.runs.iter().map(ToString::to_string).collect();
            let (code, seed) = (&planned.experiment, planned.seed);
            format!("planned {code}, seed {seed}; in this order: {}", order.join(", "))
        }
        Fact::ExperimentAssigned(assigned) => {
            format!("{} is run {} of {}", assigned.specimen, assigned.run, assigned.experiment)
        }
        Fact::ExperimentRunLeftOut(left_out) => {
            format!("run {} of {} is left out of the fit", left_out.run, left_out.experiment)
        }
        Fact::ExperimentImported(imported) => {
            format!("recorded {}: {} losses", imported.experiment, imported.rows.len())
        }
        _ => return None,
    })
}
