//! What was taken over from the time before the laboratory was kept here. It stands in tables of its
//! own, so that nobody takes it for what was observed here.

use super::{Column, Kind, Value, column};
use stonewear_lab::Lab;
use stonewear_lab::state::FileImport;

const IMPORT: Column = column("import", "Import", "", Kind::Text, "The import that it came by.");
const FILE: Column = column("file", "File", "", Kind::Text, "The file that it stood in.");
const ROW: Column = column("row", "Row", "", Kind::Whole, "The number of its row in that file.");

pub(super) const TESTS: [Column; 14] = [
    IMPORT,
    FILE,
    ROW,
    column("tested_on", "Tested on", "", Kind::Day, "The day that the file names."),
    column("sample", "Sample", "", Kind::Text, "What the file calls the sample."),
    column("source", "Source", "", Kind::Text, "Where the material comes from."),
    column("material", "Material", "", Kind::Text, "What it is."),
    column("method", "Method", "", Kind::Text, "What the file calls the method."),
    column("grading", "Grading", "", Kind::Text, "What the file calls the grading."),
    column("before_g", "Before", "g", Kind::Number, "The mass before the run."),
    column("after_g", "After", "g", Kind::Number, "The mass after the run."),
    column(
        "loss_percent",
        "Loss",
        "%",
        Kind::Number,
        "The loss as it is written, not worked out here.",
    ),
    column("operator", "Operator", "", Kind::Text, "Who tested."),
    column("note", "Note", "", Kind::Text, "Anything else that the row says."),
];

pub(super) const SIEVINGS: [Column; 8] = [
    IMPORT,
    FILE,
    column(
        "row",
        "Row",
        "",
        Kind::Whole,
        "The number of the first row of the analysis in that file.",
    ),
    column("sieved_on", "Sieved on", "", Kind::Day, "The day that the file names."),
    column("sample", "Sample", "", Kind::Text, "What the file calls the sample."),
    column(
        "opening_mm",
        "Sieve",
        "mm",
        Kind::Number,
        "The opening of the sieve; empty for the pan.",
    ),
    column("retained_g", "Kept", "g", Kind::Number, "The mass that it kept."),
    column("passing_percent", "Passing", "%", Kind::Number, "What passed it, as it is written."),
];

fn origin(import: &FileImport, row: u64) -> [Value; 3] {
    [import.code().as_str().into(), import.file.value.name.as_str().into(), row.into()]
}

pub(super) fn tests(lab: &Lab) -> Vec<Vec<Value>> {
    let of = |import: &FileImport| {
        let rows = import.tests.iter().map(|test| {
            let cells = [
                test.on.into(),
                test.sample.as_str().into(),
                test.source.as_str().into(),
                test.material.as_str().into(),
                test.method.as_str().into(),
                test.grading.as_str().into(),
                test.before_g.into(),
                test.after_g.into(),
                test.loss_percent.into(),
                test.operator.as_str().into(),
                test.note.as_str().into(),
            ];
            origin(import, test.row).into_iter().chain(cells).collect()
        });
        rows.collect::<Vec<_>>()
    };
    lab.file_imports.values().flat_map(of).collect()
}

pub(super) fn sievings(lab: &Lab) -> Vec<Vec<Value>> {
    let mut rows = Vec::new();
    for import in lab.file_imports.values() {
        for analysis in &import.sievings {
            for sieve in &analysis.sieves {
                let cells = [
                    analysis.on.into(),
                    analysis.sample.as_str().into(),
                    sieve.opening_mm.into(),
                    sieve.retained_g.into(),
                    sieve.passing_percent.into(),
                ];
                rows.push(origin(import, analysis.row).into_iter().chain(cells).collect());
            }
        }
    }
    rows
}
