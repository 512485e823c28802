//! Control charts as files: on paper, and as a table for other programs.

use crate::app::App;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::http::header::{CONTENT_DISPOSITION, CONTENT_TYPE};
use axum::response::{IntoResponse, Response};
use stonewear_lab::ItemCode;
use stonewear_lab::code::LotCode;
use stonewear_lab::control::ControlChart;
use stonewear_report::JournalAnchor;
use stonewear_runtime::OpenLaboratory;

const NO_CHART: (StatusCode, &str) = (StatusCode::NOT_FOUND, "there is no such chart");

/// The chart of a lot and an item that are both known.
fn chart_of(laboratory: &OpenLaboratory, lot: &str, apparatus: &str) -> Option<ControlChart> {
    let lab = laboratory.lab();
    lab.items.get(apparatus)?;
    lab.control_chart(&LotCode::from(lot), &ItemCode::from(apparatus))
}

/// Prints a chart.
pub(crate) async fn pdf(
    State(app): State<App>,
    Path((lot, apparatus)): Path<(String, String)>,
) -> Response {
    let name = format!("{lot}-{apparatus}.pdf");
    let made = tokio::task::spawn_blocking(move || {
        let sheet = {
            let laboratory = app.read();
            let chart = chart_of(&laboratory, &lot, &apparatus)?;
            let head = laboratory.head();
            let anchor = JournalAnchor { position: head.position, head: head.hash.to_string() };
            let now = laboratory.now();
            stonewear_report::control_sheet(laboratory.lab(), &chart, Some(anchor), now)
        };
        Some(app.typesetter.sheet(&sheet))
    })
    .await;
    match made {
        Ok(Some(Ok(bytes))) => file(&name, "application/pdf", "inline", bytes),
        Ok(Some(Err(error))) => {
            (StatusCode::INTERNAL_SERVER_ERROR, error.to_string()).into_response()
        }
        _ => NO_CHART.into_response(),
    }
}

/// The points of a chart as a table.
pub(crate) async fn csv(
    State(app): State<App>,
    Path((lot, apparatus)): Path<(String, String)>,
) -> Response {
    let laboratory = app.read();
    let Some(chart) = chart_of(&laboratory, &lot, &apparatus) else {
        return NO_CHART.into_response();
    };
    let table = stonewear_report::control_csv(laboratory.lab(), &chart);
    file(&format!("{lot}-{apparatus}.csv"), "text/csv; charset=utf-8", "attachment", table.into())
}

/// A file; its name is made of codes, which hold nothing that a header could not.
fn file(name: &str, media_type: &str, how: &str, bytes: Vec<u8>) -> Response {
    let shown = format!("{how}; filename=\"{name}\"");
    ([(CONTENT_TYPE, media_type.to_owned()), (CONTENT_DISPOSITION, shown)], bytes).into_response()
}
