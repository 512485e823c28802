//! Papers and tables of parts of the laboratory, to print or to take into another program.

use crate::app::App;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::http::header::{CONTENT_DISPOSITION, CONTENT_TYPE};
use axum::response::{IntoResponse, Response};
use jiff::Timestamp;
use stonewear_lab::Lab;
use stonewear_lab::state::Study;
use stonewear_report::{
    JournalAnchor, Sheet, Table, csv, experiment_sheet, experiment_table, study_means_table,
    study_plan_sheet, study_report_sheet, study_runs_table, wear_sheet, wear_table,
};
use stonewear_runtime::OpenLaboratory;

/// The readings of a charge as CSV.
pub(crate) async fn wear_csv(State(app): State<App>, Path(code): Path<String>) -> Response {
    let laboratory = app.read();
    let (lab, now) = (laboratory.lab(), laboratory.now());
    let text = lab.wear(&code.as_str().into(), now).map(|wear| csv(&wear_table(lab, &wear)));
    as_csv(&format!("{code}-wear"), text)
}

/// The wear of a charge as a paper.
pub(crate) async fn wear_pdf(State(app): State<App>, Path(code): Path<String>) -> Response {
    let name = format!("{code}-wear");
    let made = move |laboratory: &OpenLaboratory| {
        let (lab, now) = (laboratory.lab(), laboratory.now());
        let wear = lab.wear(&code.as_str().into(), now)?;
        Some(wear_sheet(lab, &wear, anchor(laboratory), now))
    };
    as_pdf(app, name, made).await
}

/// The runs of an experiment as CSV.
pub(crate) async fn experiment_csv(State(app): State<App>, Path(code): Path<String>) -> Response {
    let laboratory = app.read();
    let lab = laboratory.lab();
    let experiment = lab.experiments.get(code.as_str());
    as_csv(&code, experiment.map(|experiment| csv(&experiment_table(lab, experiment))))
}

/// An experiment as a paper.
pub(crate) async fn experiment_pdf(State(app): State<App>, Path(code): Path<String>) -> Response {
    let name = code.clone();
    let made = move |laboratory: &OpenLaboratory| {
        let lab = laboratory.lab();
        let experiment = lab.experiments.get(code.as_str())?;
        Some(experiment_sheet(lab, experiment, anchor(laboratory), laboratory.now()))
    };
    as_pdf(app, name, made).await
}

/// The plan or the report of a study as a paper, its runs or its means as CSV.
pub(crate) async fn of_study(
    State(app): State<App>,
    Path((code, file)): Path<(String, String)>,
) -> Response {
    let table = |made: fn(&Lab, &Study) -> Option<Table>| {
        let laboratory = app.read();
        let lab = laboratory.lab();
        lab.studies.get(code.as_str()).and_then(|study| made(lab, study)).map(|it| csv(&it))
    };
    let paper: fn(&Lab, &Study, Option<JournalAnchor>, Timestamp) -> Sheet = match file.as_str() {
        "runs.csv" => {
            let text = table(|lab, study| Some(study_runs_table(lab, study)));
            return as_csv(&format!("{code}-runs"), text);
        }
        "means.csv" => {
            let text = table(|lab, study| {
                let analysis = lab.study_analysis(study).ok()?;
                Some(study_means_table(study, &analysis))
            });
            return as_csv(&format!("{code}-means"), text);
        }
        "plan.pdf" => study_plan_sheet,
        "report.pdf" => study_report_sheet,
        _ => return as_csv(&code, None),
    };
    let name = format!("{code}-{}", file.trim_end_matches(".pdf"));
    let made = move |laboratory: &OpenLaboratory| {
        let lab = laboratory.lab();
        let study = lab.studies.get(code.as_str())?;
        Some(paper(lab, study, anchor(laboratory), laboratory.now()))
    };
    as_pdf(app, name, made).await
}

/// Where the journal stands.
fn anchor(laboratory: &OpenLaboratory) -> Option<JournalAnchor> {
    let head = laboratory.head();
    Some(JournalAnchor { position: head.position, head: head.hash.to_string() })
}

fn as_csv(name: &str, text: Option<String>) -> Response {
    match text {
        Some(text) => {
            let shown = format!("attachment; filename=\"{name}.csv\"");
            let kind = "text/csv; charset=utf-8".to_owned();
            ([(CONTENT_TYPE, kind), (CONTENT_DISPOSITION, shown)], text).into_response()
        }
        None => (StatusCode::NOT_FOUND, "nothing here has this code").into_response(),
    }
}

/// A sheet as PDF. The laboratory is not held while the page is set.
async fn as_pdf(
    app: App,
    name: String,
    made: impl FnOnce(&OpenLaboratory) -> Option<Sheet> + Send + 'static,
) -> Response {
    let printed = tokio::task::spawn_blocking(move || {
        let sheet = made(&app.read());
        sheet.map(|sheet| app.typesetter().sheet(&sheet))
    })
    .await;
    match printed {
        Ok(Some(Ok(bytes))) => {
            let shown = format!("inline; filename=\"{name}.pdf\"");
            let kind = "application/pdf".to_owned();
            ([(CONTENT_TYPE, kind), (CONTENT_DISPOSITION, shown)], bytes).into_response()
        }
        Ok(Some(Err(error))) => {
            (StatusCode::INTERNAL_SERVER_ERROR, error.to_string()).into_response()
        }
        Ok(None) => (StatusCode::NOT_FOUND, "nothing here has this code").into_response(),
        Err(_) => (StatusCode::INTERNAL_SERVER_ERROR, "the program failed").into_response(),
    }
}
