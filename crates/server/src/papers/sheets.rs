//! Papers for use in the house and for assessors: records, dossiers, bench sheets, audit extracts.

use super::{Paper, handed_out};
use crate::app::App;
use axum::extract::{Path, State};
use axum::http::Uri;
use axum::response::Response;
use stonewear_report::{
    Sheet, audit_csv, audit_sheet, bench_sheet, check_record, dossier_sheet, makeup_sheet,
};
use stonewear_runtime::OpenLaboratory;

/// With its mark; nothing where the journal cannot be read.
fn marked(laboratory: &OpenLaboratory, paper: &str, sheet: Sheet) -> Option<Paper> {
    Some(Paper::print(sheet.marked(paper, "", &laboratory.origin().ok()?)))
}

/// The file that a path asks for; beside such a path the page of the thing has others.
fn file_of(uri: &Uri) -> String {
    uri.path().rsplit('/').next().unwrap_or_default().to_owned()
}

/// `/checks/CODE/record.pdf`.
pub(crate) async fn of_check(State(app): State<App>, Path(code): Path<String>) -> Response {
    handed_out(app, format!("{code}-record.pdf"), move |laboratory| {
        let lab = laboratory.lab();
        let check = lab.checks.get(code.as_str())?;
        let sheet = check_record(lab, check, Some(laboratory.anchor()), laboratory.now());
        marked(laboratory, "check-record", sheet)
    })
    .await
}

/// `/equipment/CODE/dossier.pdf`.
pub(crate) async fn of_item(State(app): State<App>, Path(code): Path<String>) -> Response {
    handed_out(app, format!("{code}-dossier.pdf"), move |laboratory| {
        let lab = laboratory.lab();
        let item = lab.items.get(code.as_str())?;
        let sheet = dossier_sheet(lab, item, Some(laboratory.anchor()), laboratory.now());
        marked(laboratory, "dossier", sheet)
    })
    .await
}

/// `/specimens/CODE/bench-sheet.pdf` and `/specimens/CODE/make-up.pdf`.
pub(crate) async fn of_specimen(
    State(app): State<App>,
    Path(code): Path<String>,
    uri: Uri,
) -> Response {
    let file = file_of(&uri);
    handed_out(app, format!("{code}-{file}"), move |laboratory| {
        let (lab, at) = (laboratory.lab(), laboratory.now());
        let specimen = lab.specimens.get(code.as_str())?;
        let anchor = Some(laboratory.anchor());
        match file.as_str() {
            "bench-sheet.pdf" => {
                marked(laboratory, "bench-sheet", bench_sheet(lab, specimen, anchor, at)?)
            }
            _ => marked(laboratory, "make-up-sheet", makeup_sheet(lab, specimen, anchor, at)?),
        }
    })
    .await
}

/// `/results/CODE/audit.pdf` and `/results/CODE/audit.csv`.
pub(crate) async fn of_result(
    State(app): State<App>,
    Path(code): Path<String>,
    uri: Uri,
) -> Response {
    let file = file_of(&uri);
    handed_out(app, format!("{code}-{file}"), move |laboratory| {
        let (lab, at) = (laboratory.lab(), laboratory.now());
        let result = lab.results.get(code.as_str())?;
        let facts = laboratory.chain_of(result).ok()?;
        if file == "audit.csv" {
            return Some(Paper::Csv(audit_csv(&facts)));
        }
        let sheet = audit_sheet(lab, result, &facts, Some(laboratory.anchor()), at);
        marked(laboratory, "audit-extract", sheet)
    })
    .await
}
