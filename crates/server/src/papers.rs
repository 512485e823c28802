//! Papers and files of rounds and of proficiency: PDF to print, CSV and JSON for programs.

use crate::app::App;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::http::header::{CONTENT_DISPOSITION, CONTENT_TYPE};
use axum::response::{IntoResponse, Response};
use stonewear_lab::proficiency::{scores_csv, scores_document};
use stonewear_lab::round::{csv, document, participant_document, result_form};
use stonewear_lab::state::Round;
use stonewear_report::{
    Sheet, participant_report, proficiency_sheet, round_instructions, round_report,
};
use stonewear_runtime::OpenLaboratory;

/// What is handed out.
enum Paper {
    Print(Box<Sheet>),
    Csv(String),
    Json(String),
}

/// `/rounds/CODE/FILE`: `report.pdf`, `instructions.pdf`, `results.csv`, `results.json`; and for a
/// participant `report-KT-47.pdf`, `instructions-KT-47.pdf`, `form-KT-47.csv`, `results-KT-47.csv`
/// and `results-KT-47.json`.
pub(crate) async fn of_round(
    State(app): State<App>,
    Path((code, file)): Path<(String, String)>,
) -> Response {
    let name = format!("{code}-{file}");
    handed_out(app, name, move |laboratory| {
        let round = laboratory.lab().round(&code)?;
        let (stem, kind) = file.rsplit_once('.')?;
        match stem.split_once('-') {
            None => of_all(laboratory, round, stem, kind),
            Some((stem, participant)) => of_one(laboratory, round, (stem, kind), participant),
        }
    })
    .await
}

fn of_all(laboratory: &OpenLaboratory, round: &Round, stem: &str, kind: &str) -> Option<Paper> {
    let (lab, now) = (laboratory.lab(), laboratory.now());
    match (stem, kind) {
        ("report", "pdf") => Some(Paper::Print(Box::new(round_report(lab, round, now)))),
        ("instructions", "pdf") => {
            Some(Paper::Print(Box::new(round_instructions(lab, round, None, now))))
        }
        ("results", "csv") => Some(Paper::Csv(csv(round, None))),
        ("results", "json") => Some(Paper::Json(document(lab, round).to_string())),
        _ => None,
    }
}

fn of_one(
    laboratory: &OpenLaboratory,
    round: &Round,
    (stem, kind): (&str, &str),
    participant: &str,
) -> Option<Paper> {
    let (lab, now) = (laboratory.lab(), laboratory.now());
    let joined = &round.participants.get(participant)?.value;
    match (stem, kind) {
        ("report", "pdf") => {
            let sheet = participant_report(lab, round, participant, now)?;
            Some(Paper::Print(Box::new(sheet)))
        }
        ("instructions", "pdf") => {
            Some(Paper::Print(Box::new(round_instructions(lab, round, Some(joined), now))))
        }
        ("form", "csv") => Some(Paper::Csv(result_form(round, &joined.participant))),
        ("results", "csv") => Some(Paper::Csv(csv(round, Some(participant)))),
        ("results", "json") => {
            Some(Paper::Json(participant_document(round, participant)?.to_string()))
        }
        _ => None,
    }
}

/// `/proficiency/scores.pdf`, `scores.csv` and `scores.json`.
pub(crate) async fn of_proficiency(State(app): State<App>, Path(file): Path<String>) -> Response {
    let name = format!("proficiency-{file}");
    handed_out(app, name, move |laboratory| {
        let lab = laboratory.lab();
        match file.as_str() {
            "scores.pdf" => Some(Paper::Print(Box::new(proficiency_sheet(lab, laboratory.now())))),
            "scores.csv" => Some(Paper::Csv(scores_csv(lab))),
            "scores.json" => Some(Paper::Json(scores_document(lab).to_string())),
            _ => None,
        }
    })
    .await
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
