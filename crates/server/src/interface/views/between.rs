//! Studies, experiments, rounds between laboratories, proficiency.

use super::parts::{Document, Figure, Recorded, code, codes, document, figure, recorded, word};
use super::{Reading, View, listed, one};
use schemars::JsonSchema;
use serde::Serialize;
use stonewear_lab::experiment::Analysis;

pub(super) fn views() -> Vec<View> {
    let mut views = Vec::new();
    views.extend(listed(
        ("/studies", "/studies/{code}"),
        ("studies", "study"),
        "Designed studies: plan, runs, analysis, conclusion. Figures of the analysis are decimal text, \
         in the unit of the study.",
        |reading| codes(reading.lab.studies.keys()),
        study_given,
    ));
    views.extend(listed(
        ("/experiments", "/experiments/{code}"),
        ("experiments", "experiment"),
        "Experiments on how the loss follows a condition: runs, losses, the fit.",
        |reading| codes(reading.lab.experiments.keys()),
        experiment_given,
    ));
    views.extend(listed(
        ("/rounds", "/rounds/{code}"),
        ("rounds", "round"),
        "Rounds between laboratories organised from here, with the whole analysis, for the organiser: \
         the document that docs/rounds.md describes.",
        |reading| codes(reading.lab.rounds.keys()),
        |reading, code| {
            let round = reading.lab.rounds.get(code)?;
            Some(document(stonewear_lab::round::document(reading.lab, round)))
        },
    ));
    views.push(one(
        "/proficiency",
        "proficiency",
        "Scores of this laboratory in the rounds of others, series by series, with what was done about \
         each: the document that docs/rounds.md describes.",
        |reading| Some(document(stonewear_lab::proficiency::scores_document(reading.lab))),
    ));
    views
}

/// A run of a plan.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(rename = "StudyRun")]
struct StudyRunGiven {
    /// Its place in the order of the runs, from 1.
    run: u32,
    /// The level of each factor.
    levels: Vec<String>,
    /// Its specimen.
    specimen: Option<String>,
    /// Its value, in the unit of the study.
    value: Option<Figure>,
    /// Where it departs from the plan.
    departures: Vec<String>,
}

/// A designed study.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(rename = "Study")]
struct StudyGiven {
    /// Its code.
    code: String,
    /// What it is called.
    title: String,
    /// What it asks: `same`, `equivalent` or `reference`.
    question: String,
    /// How it is laid out: `latin-square`, `randomized-blocks`, …
    design: String,
    /// Where it stands: `open`, `concluded` or `withdrawn`.
    state: String,
    /// The unit of its values.
    unit: String,
    /// Its plan, as the journal keeps it.
    plan: Document,
    /// What has come of its runs.
    runs: Vec<StudyRunGiven>,
    /// What it shows as its runs stand; absent while nothing can be said.
    analysis: Option<Document>,
    /// Why nothing can be said, if so.
    why_not: Option<String>,
    /// What was concluded.
    concluded: Option<Document>,
    planned: Recorded,
}

fn study_given(reading: &Reading<'_>, typed: &str) -> Option<StudyGiven> {
    let lab = reading.lab;
    let study = lab.studies.get(typed)?;
    let plan = &study.plan.value;
    let runs = lab.study_runs(study).into_iter().map(|run| StudyRunGiven {
        run: run.planned.run,
        levels: run.planned.levels.clone(),
        specimen: code(&run.specimen),
        value: run.value.map(figure),
        departures: run.departures.clone(),
    });
    let (analysis, why_not) = match lab.study_analysis(study) {
        Ok(analysis) => (Some(document(analysis)), None),
        Err(why) => (None, Some(why)),
    };
    Some(StudyGiven {
        code: plan.study.to_string(),
        title: plan.title.clone(),
        question: word(plan.question),
        design: word(plan.design),
        state: study.in_words().to_owned(),
        unit: plan.unit.clone(),
        plan: document(plan),
        runs: runs.collect(),
        analysis,
        why_not,
        concluded: study.concluded.as_ref().map(|end| document(&end.value)),
        planned: recorded(&study.plan),
    })
}

/// A run of an experiment.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(rename = "ExperimentRun")]
struct ExperimentRunGiven {
    /// Its number, from 1.
    run: u32,
    /// The level that was planned, in the unit of the condition.
    planned: Figure,
    /// Its specimen.
    specimen: Option<String>,
    /// The level as it was counted, weighed or read.
    level: Option<Figure>,
    /// Its loss, %.
    loss_percent: Option<Figure>,
    /// Why it is left out of the fit, if it is.
    left_out: Option<String>,
}

/// What an experiment says. Statistics are JSON numbers.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(rename = "ExperimentFit")]
struct FitGiven {
    /// The model that was chosen.
    model: String,
    /// Why.
    why: String,
    /// The loss at the method's value, %.
    loss_at_nominal: Option<f64>,
    /// Percent of the loss per 1 % more of the condition, or per 1 °C.
    percent_of_loss: Option<f64>,
    /// Its standard uncertainty, in the same unit.
    standard_uncertainty: Option<f64>,
    /// The sensitivity in a sentence, or why there is none.
    sensitivity_in_words: String,
    /// Whether a straight line fits, in words.
    lack_of_fit_in_words: String,
}

fn fit_given(found: &Analysis) -> FitGiven {
    let sensitivity = found.sensitivity.as_ref().ok();
    FitGiven {
        model: found.model.in_words().to_owned(),
        why: found.why.clone(),
        loss_at_nominal: found.at_nominal.as_ref().map(|there| there.value),
        percent_of_loss: sensitivity.map(|one| one.percent_of_loss),
        standard_uncertainty: sensitivity.map(|one| one.standard_uncertainty),
        sensitivity_in_words: found.sensitivity_in_words(),
        lack_of_fit_in_words: found.line_fits.in_words(),
    }
}

/// An experiment.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(rename = "Experiment")]
struct ExperimentGiven {
    /// Its code.
    code: String,
    /// What it is to tell.
    title: String,
    /// The condition that is varied: `revolutions`, `charge`, `water-temperature`, `water-volume`.
    condition: String,
    /// The unit of its levels.
    unit: String,
    /// The method.
    method: String,
    /// Its grading.
    grading: String,
    /// Its runs, in the order of the plan or the table.
    runs: Vec<ExperimentRunGiven>,
    /// What it says; absent while nothing can be fitted.
    fit: Option<FitGiven>,
    /// Why nothing can be fitted, if so.
    why_not: Option<String>,
    begun: Recorded,
}

fn experiment_given(reading: &Reading<'_>, typed: &str) -> Option<ExperimentGiven> {
    let lab = reading.lab;
    let experiment = lab.experiments.get(typed)?;
    let losses = lab.experiment_losses(experiment);
    let runs = experiment.runs.iter().map(|run| {
        let loss = losses.iter().find(|loss| loss.run == run.number);
        ExperimentRunGiven {
            run: run.number,
            planned: figure(run.level),
            specimen: run.specimen().map(ToString::to_string),
            level: loss.map(|loss| figure(loss.level)),
            loss_percent: loss.map(|loss| figure(loss.loss_percent)),
            left_out: run.left_out.as_ref().map(|why| why.value.clone()),
        }
    });
    let (fit, why_not) = match lab.experiment_analysis(experiment) {
        Ok(found) => (Some(fit_given(&found)), None),
        Err(why) => (None, Some(why)),
    };
    Some(ExperimentGiven {
        code: experiment.code.to_string(),
        title: experiment.title.clone(),
        condition: word(experiment.condition),
        unit: experiment.condition.unit().to_owned(),
        method: experiment.method.to_string(),
        grading: experiment.grading.clone(),
        runs: runs.collect(),
        fit,
        why_not,
        begun: recorded(&experiment.begun),
    })
}
