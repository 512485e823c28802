//! The tables of the laboratory as files, and a result as a sheet of living formulas.

use super::{Asked, Handed, Paper, Withheld};
use stonewear_exchange::out::{self, Subject, What};

pub(super) const ALL: &[Handed] = &[
    Handed {
        path: "/export/{file}",
        name: "table-file",
        says: "A table as results.xlsx, results.csv or results.json; all of them as everything.xlsx or everything.json; columns.csv and tables.schema.json.",
        make: table,
    },
    Handed {
        path: "/results/{code}/loss.xlsx",
        name: "loss-workbook",
        says: "The loss of a result, worked out by living formulas.",
        make: |asked| {
            let result = asked.lab().results.get(asked.code(0))?;
            let made = out::loss_sheets(asked.lab(), asked.laboratory.last_at(), &[result]);
            Some(workbook(made.map_err(|error| error.to_string())))
        },
    },
];

fn table(asked: &Asked<'_>) -> Option<Paper> {
    let file = asked.code(0);
    match file {
        "columns.csv" => return Some(Paper::Csv(out::dictionary())),
        "tables.schema.json" => return Some(Paper::Json(format!("{:#}\n", out::schema()))),
        _ => {}
    }
    let (table, kind) = file.split_once('.')?;
    let (lab, laboratory) = (asked.lab(), asked.laboratory);
    let subjects: Vec<Subject> = match table {
        "everything" => What::ALL.iter().map(|what| out::subject(lab, *what)).collect(),
        one => vec![out::subject(lab, one.parse().ok()?)],
    };
    let anchor = laboratory.anchor();
    match (kind, subjects.as_slice()) {
        ("xlsx", _) => {
            let made = out::workbook(lab, Some(&anchor), laboratory.last_at(), &subjects);
            Some(workbook(made.map_err(|error| error.to_string())))
        }
        ("json", _) => {
            let document = out::document(lab, Some(&anchor), &subjects);
            Some(Paper::Json(format!("{document:#}\n")))
        }
        ("csv", [one]) => Some(Paper::Csv(out::csv(one))),
        _ => None,
    }
}

fn workbook(made: Result<Vec<u8>, String>) -> Paper {
    made.map_or_else(|words| Paper::Withheld(Withheld::failed(words)), Paper::Xlsx)
}
