//! Papers and tables of parts of the laboratory, to print or to take into another program.

use crate::app::App;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::http::header::{CONTENT_DISPOSITION, CONTENT_TYPE};
use axum::response::{IntoResponse, Response};
use stonewear_report::{
    JournalAnchor, Sheet, csv, experiment_sheet, experiment_table, wear_sheet, wear_table,
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
