//! Papers and tables as files: PDF to print, CSV and JSON for programs.

mod control;
mod duplicates;
mod issued;
mod letterhead;
mod rounds;
mod sheets;
mod studies;
mod tables;
mod wear;

pub(crate) use control::of_chart;
pub(crate) use duplicates::of_duplicates;
pub(crate) use issued::{check, issue, issued, report};
pub(crate) use letterhead::{logo, preview};
pub(crate) use rounds::{of_proficiency, of_round};
pub(crate) use sheets::{of_check, of_item, of_result, of_specimen};
pub(crate) use studies::{of_experiment, of_study};
pub(crate) use tables::{of_loss, of_table};
pub(crate) use wear::of_charge;

use crate::app::App;
use axum::http::StatusCode;
use axum::http::header::{CONTENT_DISPOSITION, CONTENT_TYPE};
use axum::response::{IntoResponse, Response};
use stonewear_report::Sheet;
use stonewear_runtime::OpenLaboratory;

/// The media type of a workbook (IANA registry).
const XLSX: &str = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet";

/// What is handed out.
enum Paper {
    Print(Box<Sheet>),
    Csv(String),
    Json(String),
    Xlsx(Vec<u8>),
}

impl Paper {
    fn print(sheet: Sheet) -> Self {
        Self::Print(Box::new(sheet))
    }
}

/// Makes a paper away from the threads that answer, and hands it out under a name.
async fn handed_out(
    app: App,
    name: String,
    make: impl FnOnce(&OpenLaboratory) -> Option<Paper> + Send + 'static,
) -> Response {
    let made = tokio::task::spawn_blocking(move || {
        // The lock is let go of before the typesetter begins.
        let paper = make(&app.read());
        Some(match paper? {
            Paper::Csv(text) => Ok(("text/csv; charset=utf-8", "attachment", text.into_bytes())),
            Paper::Xlsx(bytes) => Ok((XLSX, "attachment", bytes)),
            Paper::Json(text) => Ok(("application/json", "inline", text.into_bytes())),
            Paper::Print(sheet) => {
                app.typesetter.sheet(&sheet).map(|bytes| ("application/pdf", "inline", bytes))
            }
        })
    })
    .await;
    match made {
        Ok(Some(Ok((kind, place, bytes)))) => {
            let shown = format!("{place}; filename=\"{}\"", safe(&name));
            ([(CONTENT_TYPE, kind.to_owned()), (CONTENT_DISPOSITION, shown)], bytes).into_response()
        }
        Ok(Some(Err(error))) => {
            (StatusCode::INTERNAL_SERVER_ERROR, error.to_string()).into_response()
        }
        Ok(None) => (StatusCode::NOT_FOUND, "there is no such paper").into_response(),
        Err(_) => (StatusCode::INTERNAL_SERVER_ERROR, "the program failed").into_response(),
    }
}

/// A name that a header can carry: what was found has only such signs.
fn safe(name: &str) -> String {
    name.chars().filter(|c| c.is_ascii_alphanumeric() || "-.".contains(*c)).collect()
}
