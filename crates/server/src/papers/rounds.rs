//! Papers and tables of rounds between laboratories and of proficiency.

use super::{Paper, handed_out};
use crate::app::App;
use axum::extract::{Path, State};
use axum::response::Response;
use stonewear_lab::proficiency::{scores_csv, scores_document};
use stonewear_lab::round::{csv, document, participant_document, result_form};
use stonewear_lab::state::Round;
use stonewear_report::{participant_report, proficiency_sheet, round_instructions, round_report};
use stonewear_runtime::OpenLaboratory;

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
        ("report", "pdf") => Some(Paper::print(round_report(lab, round, now))),
        ("instructions", "pdf") => Some(Paper::print(round_instructions(lab, round, None, now))),
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
        ("report", "pdf") => participant_report(lab, round, participant, now).map(Paper::print),
        ("instructions", "pdf") => {
            Some(Paper::print(round_instructions(lab, round, Some(joined), now)))
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
            "scores.pdf" => Some(Paper::print(proficiency_sheet(lab, laboratory.now()))),
            "scores.csv" => Some(Paper::Csv(scores_csv(lab))),
            "scores.json" => Some(Paper::Json(scores_document(lab).to_string())),
            _ => None,
        }
    })
    .await
}
