//! Control charts as files.

use super::{Paper, handed_out};
use crate::app::App;
use axum::extract::{Path, State};
use axum::response::Response;
use stonewear_lab::ItemCode;
use stonewear_lab::code::LotCode;
use stonewear_report::{control_csv, control_sheet};

/// `/control/LOT/APPARATUS/FILE`: `chart.pdf` and `chart.csv`.
pub(crate) async fn of_chart(
    State(app): State<App>,
    Path((lot, apparatus, file)): Path<(String, String, String)>,
) -> Response {
    let name = format!("{lot}-{apparatus}-{file}");
    handed_out(app, name, move |laboratory| {
        let lab = laboratory.lab();
        lab.items.get(apparatus.as_str())?;
        let chart =
            lab.control_chart(&LotCode::from(lot.as_str()), &ItemCode::from(apparatus.as_str()))?;
        match file.as_str() {
            "chart.pdf" => {
                let anchor = Some(laboratory.anchor());
                Some(Paper::print(control_sheet(lab, &chart, anchor, laboratory.now())))
            }
            "chart.csv" => Some(Paper::Csv(control_csv(lab, &chart))),
            _ => None,
        }
    })
    .await
}
