//! Papers and tables of rounds between laboratories, of proficiency, of studies and experiments.

use super::{Asked, Handed, Paper};
use stonewear_lab::proficiency::{scores_csv, scores_document};
use stonewear_lab::round::{csv, document, participant_document, result_form};
use stonewear_lab::state::Round;
use stonewear_report::{
    csv as table_csv, experiment_sheet, experiment_table, participant_report, proficiency_sheet,
    round_instructions, round_report, study_means_table, study_plan_sheet, study_report_sheet,
    study_runs_table,
};
use stonewear_runtime::OpenLaboratory;

pub(super) const ALL: &[Handed] = &[
    Handed {
        path: "/rounds/{code}/{file}",
        name: "round-file",
        says: "Of a round: report.pdf, instructions.pdf, results.csv, results.json; of a participant report-KT-47.pdf, instructions-KT-47.pdf, form-KT-47.csv, results-KT-47.csv and results-KT-47.json.",
        make: of_round,
    },
    Handed {
        path: "/proficiency/scores.pdf",
        name: "proficiency-sheet",
        says: "The scores of the laboratory in rounds of others.",
        make: |asked| Some(Paper::sheet(proficiency_sheet(asked.lab(), asked.laboratory.now()))),
    },
    Handed {
        path: "/proficiency/scores.csv",
        name: "proficiency-table",
        says: "The scores as a table.",
        make: |asked| Some(Paper::Csv(scores_csv(asked.lab()))),
    },
    Handed {
        path: "/proficiency/scores.json",
        name: "proficiency-scores",
        says: "The scores for programs.",
        make: |asked| Some(Paper::Json(scores_document(asked.lab()).to_string())),
    },
    Handed {
        path: "/experiments/{code}/sheet.pdf",
        name: "experiment-sheet",
        says: "An experiment with its runs.",
        make: |asked| {
            let experiment = asked.lab().experiments.get(asked.code(0))?;
            let (anchor, now) = (Some(asked.laboratory.anchor()), asked.laboratory.now());
            Some(Paper::sheet(experiment_sheet(asked.lab(), experiment, anchor, now)))
        },
    },
    Handed {
        path: "/experiments/{code}/runs.csv",
        name: "experiment-runs",
        says: "The runs of an experiment.",
        make: |asked| {
            let experiment = asked.lab().experiments.get(asked.code(0))?;
            Some(Paper::Csv(table_csv(&experiment_table(asked.lab(), experiment))))
        },
    },
    Handed {
        path: "/studies/{code}/plan.pdf",
        name: "study-plan",
        says: "The plan of a study, with the order of its runs.",
        make: |asked| {
            let study = asked.lab().studies.get(asked.code(0))?;
            let (anchor, now) = (Some(asked.laboratory.anchor()), asked.laboratory.now());
            Some(Paper::sheet(study_plan_sheet(asked.lab(), study, anchor, now)))
        },
    },
    Handed {
        path: "/studies/{code}/report.pdf",
        name: "study-report",
        says: "What a study found.",
        make: |asked| {
            let study = asked.lab().studies.get(asked.code(0))?;
            let (anchor, now) = (Some(asked.laboratory.anchor()), asked.laboratory.now());
            Some(Paper::sheet(study_report_sheet(asked.lab(), study, anchor, now)))
        },
    },
    Handed {
        path: "/studies/{code}/runs.csv",
        name: "study-runs",
        says: "The runs of a study.",
        make: |asked| {
            let study = asked.lab().studies.get(asked.code(0))?;
            Some(Paper::Csv(table_csv(&study_runs_table(asked.lab(), study))))
        },
    },
    Handed {
        path: "/studies/{code}/means.csv",
        name: "study-means",
        says: "The means of a study, where there is an analysis.",
        make: |asked| {
            let study = asked.lab().studies.get(asked.code(0))?;
            let analysis = asked.lab().study_analysis(study).ok()?;
            Some(Paper::Csv(table_csv(&study_means_table(study, &analysis))))
        },
    },
];

fn of_round(asked: &Asked<'_>) -> Option<Paper> {
    let round = asked.lab().round(asked.code(0))?;
    let (stem, kind) = asked.code(1).rsplit_once('.')?;
    match stem.split_once('-') {
        None => of_all(asked.laboratory, round, stem, kind),
        Some((stem, participant)) => of_one(asked.laboratory, round, (stem, kind), participant),
    }
}

fn of_all(laboratory: &OpenLaboratory, round: &Round, stem: &str, kind: &str) -> Option<Paper> {
    let (lab, now) = (laboratory.lab(), laboratory.now());
    match (stem, kind) {
        ("report", "pdf") => Some(Paper::sheet(round_report(lab, round, now))),
        ("instructions", "pdf") => Some(Paper::sheet(round_instructions(lab, round, None, now))),
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
        ("report", "pdf") => participant_report(lab, round, participant, now).map(Paper::sheet),
        ("instructions", "pdf") => {
            Some(Paper::sheet(round_instructions(lab, round, Some(joined), now)))
        }
        ("form", "csv") => Some(Paper::Csv(result_form(round, &joined.participant))),
        ("results", "csv") => Some(Paper::Csv(csv(round, Some(participant)))),
        ("results", "json") => {
            Some(Paper::Json(participant_document(round, participant)?.to_string()))
        }
        _ => None,
    }
}
