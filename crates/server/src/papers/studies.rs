//! Studies and experiments as files.

use super::{Paper, handed_out};
use crate::app::App;
use axum::extract::{Path, State};
use axum::response::Response;
use stonewear_report::{
    csv, experiment_sheet, experiment_table, study_means_table, study_plan_sheet,
    study_report_sheet, study_runs_table,
};

/// `/experiments/CODE/FILE`: `sheet.pdf` and `runs.csv`.
pub(crate) async fn of_experiment(
    State(app): State<App>,
    Path((code, file)): Path<(String, String)>,
) -> Response {
    let name = format!("{code}-{file}");
    handed_out(app, name, move |laboratory| {
        let lab = laboratory.lab();
        let experiment = lab.experiments.get(code.as_str())?;
        match file.as_str() {
            "sheet.pdf" => {
                let anchor = Some(laboratory.anchor());
                Some(Paper::print(experiment_sheet(lab, experiment, anchor, laboratory.now())))
            }
            "runs.csv" => Some(Paper::Csv(csv(&experiment_table(lab, experiment)))),
            _ => None,
        }
    })
    .await
}

/// `/studies/CODE/FILE`: `plan.pdf`, `report.pdf`, `runs.csv`, and where there is an analysis
/// `means.csv`.
pub(crate) async fn of_study(
    State(app): State<App>,
    Path((code, file)): Path<(String, String)>,
) -> Response {
    let name = format!("{code}-{file}");
    handed_out(app, name, move |laboratory| {
        let (lab, now) = (laboratory.lab(), laboratory.now());
        let study = lab.studies.get(code.as_str())?;
        let anchor = || Some(laboratory.anchor());
        match file.as_str() {
            "plan.pdf" => Some(Paper::print(study_plan_sheet(lab, study, anchor(), now))),
            "report.pdf" => Some(Paper::print(study_report_sheet(lab, study, anchor(), now))),
            "runs.csv" => Some(Paper::Csv(csv(&study_runs_table(lab, study)))),
            "means.csv" => {
                let analysis = lab.study_analysis(study).ok()?;
                Some(Paper::Csv(csv(&study_means_table(study, &analysis))))
            }
            _ => None,
        }
    })
    .await
}
