//! The wear of a ball charge as files.

use super::{Paper, handed_out};
use crate::app::App;
use axum::extract::{Path, State};
use axum::http::Uri;
use axum::response::Response;
use stonewear_report::{csv, wear_sheet, wear_table};

/// `/equipment/CODE/FILE`: `wear.pdf` and `wear.csv`.
pub(crate) async fn of_charge(
    State(app): State<App>,
    Path(code): Path<String>,
    uri: Uri,
) -> Response {
    // The page of the wear has a path of its own beside these, so no file name stands in the route.
    let file = uri.path().rsplit('/').next().unwrap_or_default().to_owned();
    let name = format!("{code}-{file}");
    handed_out(app, name, move |laboratory| {
        let (lab, now) = (laboratory.lab(), laboratory.now());
        let wear = lab.wear(&code.as_str().into(), now)?;
        match file.as_str() {
            "wear.pdf" => {
                Some(Paper::print(wear_sheet(lab, &wear, Some(laboratory.anchor()), now)))
            }
            "wear.csv" => Some(Paper::Csv(csv(&wear_table(lab, &wear)))),
            _ => None,
        }
    })
    .await
}
