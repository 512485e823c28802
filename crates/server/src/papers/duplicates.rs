//! Duplicates as files.

use super::{Paper, handed_out};
use crate::app::App;
use axum::extract::{Path, State};
use axum::response::Response;
use stonewear_report::{duplicates_csv, duplicates_sheet};

/// `/duplicates/FILE`: `report.pdf` and `pairs.csv`.
pub(crate) async fn of_duplicates(State(app): State<App>, Path(file): Path<String>) -> Response {
    let name = format!("duplicates-{file}");
    handed_out(app, name, move |laboratory| {
        let (lab, now) = (laboratory.lab(), laboratory.now());
        let all = lab.duplicates();
        match file.as_str() {
            "report.pdf" => Some(Paper::print(duplicates_sheet(lab, &all, now))),
            "pairs.csv" => Some(Paper::Csv(duplicates_csv(&all))),
            _ => None,
        }
    })
    .await
}
