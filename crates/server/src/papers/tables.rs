//! The tables of the laboratory as files, and a result as a sheet of living formulas.

use super::{Paper, handed_out};
use crate::app::App;
use axum::extract::{Path, State};
use axum::response::Response;
use stonewear_exchange::out::{self, Subject, What};
use stonewear_runtime::OpenLaboratory;

/// `/export/FILE`: a table as `results.xlsx`, `results.csv` or `results.json`; all of them as
/// `everything.xlsx` or `everything.json`; `columns.csv` and `tables.schema.json`.
pub(crate) async fn of_table(State(app): State<App>, Path(file): Path<String>) -> Response {
    let name = file.clone();
    handed_out(app, name, move |laboratory| {
        match file.as_str() {
            "columns.csv" => return Some(Paper::Csv(out::dictionary())),
            "tables.schema.json" => return Some(Paper::Json(format!("{:#}\n", out::schema()))),
            _ => {}
        }
        let (table, kind) = file.split_once('.')?;
        let lab = laboratory.lab();
        let subjects: Vec<Subject> = match table {
            "everything" => What::ALL.iter().map(|what| out::subject(lab, *what)).collect(),
            one => vec![out::subject(lab, one.parse().ok()?)],
        };
        made(laboratory, &subjects, kind)
    })
    .await
}

fn made(laboratory: &OpenLaboratory, subjects: &[Subject], kind: &str) -> Option<Paper> {
    let (lab, anchor) = (laboratory.lab(), laboratory.anchor());
    match (kind, subjects) {
        ("xlsx", _) => {
            out::workbook(lab, Some(&anchor), laboratory.last_at(), subjects).ok().map(Paper::Xlsx)
        }
        ("json", _) => {
            let document = out::document(lab, Some(&anchor), subjects);
            Some(Paper::Json(format!("{document:#}\n")))
        }
        ("csv", [one]) => Some(Paper::Csv(out::csv(one))),
        _ => None,
    }
}

/// `/results/CODE/loss.xlsx`: the loss worked out by formulas.
pub(crate) async fn of_loss(State(app): State<App>, Path(code): Path<String>) -> Response {
    let name = format!("{code}.xlsx");
    handed_out(app, name, move |laboratory| {
        let lab = laboratory.lab();
        let result = lab.results.get(code.as_str())?;
        out::loss_sheets(lab, laboratory.last_at(), &[result]).ok().map(Paper::Xlsx)
    })
    .await
}
