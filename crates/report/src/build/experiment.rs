//! An experiment as a picture, as a table, and as a paper: the order of its runs with room to write,
//! and what its losses say.

use super::wear::band;
use super::{day, sheet_of};
use crate::{Cell, Column, JournalAnchor, Sheet, Table};
use jiff::Timestamp;
use stonewear_lab::Lab;
use stonewear_lab::estimate::{double, rounded};
use stonewear_lab::experiment::Analysis;
use stonewear_lab::state::Experiment;
use stonewear_picture::{Curve, Cut, Plot};
use stonewear_stats::regression::Prediction;

/// Places at which a curve is worked out.
const STEPS: u32 = 60;
/// Decimals of a loss on page and paper.
const LOSS_DECIMALS: u32 = 2;

/// The losses over their levels, with the fitted line or curve and its bands.
pub fn experiment_plot(experiment: &Experiment, analysis: &Analysis) -> Plot {
    let span = analysis
        .points
        .iter()
        .fold((f64::MAX, f64::MIN), |(low, high), (x, _)| (x.min(low), x.max(high)));
    let step = (span.1 - span.0) / f64::from(STEPS);
    let places = (0..=STEPS).map(|n| span.0 + step * f64::from(n));
    let line: Vec<(f64, Prediction)> =
        places.filter_map(|x| Some((x, analysis.loss_at(x)?))).collect();
    let curve = Curve {
        name: analysis.model.in_words().to_owned(),
        points: line.iter().map(|(x, there)| (*x, there.value)).collect(),
    };
    let bands = [
        band("one loss (95 %)", &line, |there| there.prediction.as_ref().ok()),
        band("the mean (95 %)", &line, |there| there.confidence.as_ref().ok()),
    ];
    let nominal = analysis.nominal.filter(|_| analysis.sensitivity.is_ok());
    let cuts = nominal.map(|nominal| Cut { name: "the method".to_owned(), x: double(nominal) });
    Plot {
        title: format!("{}: loss over {}", experiment.code, experiment.condition.level()),
        description: format!(
            "{}; {}; {}",
            format_args!("{} losses", analysis.points.len()),
            analysis.why,
            analysis.sensitivity_in_words()
        ),
        x_label: experiment.condition.level().to_owned(),
        y_label: "loss, %".to_owned(),
        points: analysis.points.clone(),
        curves: vec![curve],
        bands: bands.into_iter().filter(|band| !band.edges.is_empty()).collect(),
        cuts: cuts.into_iter().collect(),
        ..Plot::default()
    }
}

/// Every run in its order, with its specimen and its loss as far as they are known.
pub fn experiment_table(lab: &Lab, experiment: &Experiment) -> Table {
    let losses = lab.experiment_losses(experiment);
    let columns = [
        Column::number("Run"),
        Column::number(format!("Planned {}", experiment.condition.level())),
        Column::text("Specimen"),
        Column::number(format!("Found {}", experiment.condition.level())),
        Column::number("Loss, %"),
        Column::sentence("Remark"),
    ];
    let caption = format!("Runs of {}, in their order", experiment.code);
    experiment.runs.iter().fold(Table::new(caption, columns), |table, run| {
        let measured = losses.iter().find(|one| one.run == run.number);
        let open = |text: Option<String>| match text {
            Some(text) => Cell::from(text),
            None if experiment.is_imported() || run.left_out.is_some() => Cell::Blank,
            None => Cell::to_fill(),
        };
        let loss = measured.and_then(|one| match run.imported_percent {
            Some(loss) => Some(loss),
            None => rounded(double(one.loss_percent), LOSS_DECIMALS),
        });
        let replaced = run.specimens.iter().filter(|one| !one.value.reason.is_empty());
        let remarks: Vec<String> = replaced
            .map(|one| format!("specimen replaced: {}", one.value.reason))
            .chain(run.left_out.iter().map(|why| format!("left out: {} ({})", why.value, why.by)))
            .collect();
        table.row([
            Cell::from(run.number.to_string()),
            Cell::from(run.level.to_string()),
            open(run.specimen().map(ToString::to_string)),
            open(measured.map(|one| one.level.to_string())),
            open(loss.map(|loss| loss.to_string())),
            Cell::from(remarks.join("; ")),
        ])
    })
}

/// The experiment as a paper.
pub fn experiment_sheet(
    lab: &Lab,
    experiment: &Experiment,
    anchor: Option<JournalAnchor>,
    at: Timestamp,
) -> Sheet {
    let method = lab.methods.get(&experiment.method).map(|in_use| &in_use.method);
    let levels: Vec<String> = experiment.levels.iter().map(ToString::to_string).collect();
    let order = match (experiment.replicates, experiment.seed) {
        (Some(replicates), Some(seed)) => {
            format!("{replicates} at each level, in an order drawn from the seed {seed}")
        }
        _ => format!("from a table: {}", experiment.source),
    };
    let pairs = [
        ("Condition", experiment.condition.level().to_owned()),
        (
            "Method",
            method
                .map(|it| {
                    format!("{} ({}), grading {}", it.designation, it.edition, experiment.grading)
                })
                .unwrap_or_default(),
        ),
        ("Sample", experiment.sample.as_ref().map(ToString::to_string).unwrap_or_default()),
        ("Levels", stonewear_lab::words::listed(levels)),
        ("Runs", order),
        ("Begun", format!("{}, {}", day(lab, Some(experiment.begun.at)), experiment.begun.by)),
    ];
    let mut sheet = sheet_of(
        lab,
        format!("Experiment {}", experiment.code),
        experiment.title.clone(),
        anchor,
        at,
    )
    .pairs(pairs);
    if !experiment.is_imported() {
        sheet = sheet.remark(
            "Specimens",
            "A specimen of an experiment runs at its planned level and gives no result of its sample.",
        );
    }
    match lab.experiment_analysis(experiment) {
        Ok(analysis) => {
            let plot = experiment_plot(experiment, &analysis);
            sheet = sheet
                .heading("What the losses say")
                .text(format!("Fitted: {}; {}.", analysis.model.in_words(), analysis.why))
                .remark("Sensitivity", format!("{}.", analysis.sensitivity_in_words()))
                .picture(plot.svg(), plot.description.clone(), plot.title);
        }
        Err(why) => sheet = sheet.text(format!("Nothing is fitted yet: {why}.")),
    }
    sheet.heading("Runs").table(experiment_table(lab, experiment))
}
