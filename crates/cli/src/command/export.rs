//! `stonewear export` and `stonewear loss-sheet`: what is recorded as tables for other programs.

use super::sheet::write;
use crate::answer::{Answer, Failure};
use crate::arguments::Folder;
use serde_json::json;
use std::path::{Path, PathBuf};
use stonewear_exchange::out::{self, Subject, What};
use stonewear_lab::ResultCode;
use stonewear_runtime::LaboratoryView;

/// Write what is recorded as tables: a workbook with real numbers and days, tidy CSV with its data
/// dictionary, or JSON by the schema of docs/tables.schema.json.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Example:\n\
\x20 stonewear export --out laboratory.xlsx\n\
\x20 stonewear export results runs --format csv --out tables\n\
\x20 stonewear export results --format json --out results.json")]
pub(crate) struct Export {
    #[command(flatten)]
    folder: Folder,
    /// Tables: results, samples, runs, checks, equipment, references, sieve-analyses, past-tests,
    /// past-sieve-analyses; left out, all of them.
    #[arg(value_name = "TABLE")]
    tables: Vec<What>,
    /// As what.
    #[arg(long, value_enum, default_value = "xlsx")]
    format: Format,
    /// File to write; for CSV the folder, which gets a file for each table and columns.csv, the
    /// data dictionary.
    #[arg(long, short, value_name = "PATH")]
    out: PathBuf,
}

#[derive(Debug, Clone, Copy, clap::ValueEnum)]
enum Format {
    /// A workbook, one sheet a table.
    Xlsx,
    /// A folder of CSV files.
    Csv,
    /// One JSON document.
    Json,
}

pub(crate) fn run(export: &Export) -> Result<Answer, Failure> {
    let view = LaboratoryView::open(&export.folder.place()?)?;
    let lab = view.lab();
    let mut tables = export.tables.clone();
    if tables.is_empty() {
        tables = What::ALL.into();
    }
    tables.sort_unstable();
    tables.dedup();
    let subjects: Vec<Subject> = tables.iter().map(|what| out::subject(lab, *what)).collect();
    let anchor = view.anchor().map_err(Failure::surroundings)?;
    match export.format {
        Format::Xlsx => {
            let book = out::workbook(lab, anchor.as_ref(), view.last_at(), &subjects);
            write(&export.out, &book.map_err(Failure::surroundings)?)?;
        }
        Format::Json => {
            let document = out::document(lab, anchor.as_ref(), &subjects);
            write(&export.out, format!("{document:#}\n").as_bytes())?;
        }
        Format::Csv => folder_of_csv(&export.out, &subjects)?,
    }
    let rows: Vec<(&str, usize)> =
        subjects.iter().map(|one| (one.what.name(), one.rows.len())).collect();
    let said: Vec<String> =
        rows.iter().map(|(name, rows)| format!("{name}: {rows} rows")).collect();
    Ok(Answer::new(
        format!("{}: {}", export.out.display(), said.join(", ")),
        json!({
            "out": export.out,
            "tables": rows.iter().map(|(name, rows)| json!({ "table": name, "rows": rows })).collect::<Vec<_>>(),
        }),
    ))
}

fn folder_of_csv(into: &Path, subjects: &[Subject]) -> Result<(), Failure> {
    std::fs::create_dir_all(into).map_err(|error| {
        Failure::Surroundings(format!("{} cannot be made: {error}", into.display()))
    })?;
    for subject in subjects {
        let path = into.join(format!("{}.csv", subject.what));
        write(&path, out::csv(subject).as_bytes())?;
    }
    write(&into.join("columns.csv"), out::dictionary().as_bytes())
}

/// Write losses as a workbook of living formulas: other masses give other losses, rounded as the
/// method says.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Example:\n\
\x20 stonewear loss-sheet L26-001 --out loss.xlsx --dir demo-laboratory")]
pub(crate) struct LossSheet {
    #[command(flatten)]
    folder: Folder,
    /// The results, a sheet each.
    #[arg(required = true, value_name = "RESULT")]
    results: Vec<String>,
    /// File to write.
    #[arg(long, short, value_name = "FILE")]
    out: PathBuf,
}

pub(crate) fn loss_sheet(asked: &LossSheet) -> Result<Answer, Failure> {
    let view = LaboratoryView::open(&asked.folder.place()?)?;
    let lab = view.lab();
    let mut results = Vec::new();
    for typed in &asked.results {
        let code = typed.trim().to_uppercase();
        let Some(result) = lab.results.get(code.as_str()) else {
            let known = lab.results.keys().map(ResultCode::as_str);
            return Err(super::unknown("there is no result", typed.trim(), known));
        };
        if !results.contains(&result) {
            results.push(result);
        }
    }
    let book = out::loss_sheets(lab, view.last_at(), &results).map_err(Failure::wrong_input)?;
    write(&asked.out, &book)?;
    let codes: Vec<&str> = results.iter().map(|result| result.code.as_str()).collect();
    Ok(Answer::new(
        format!("{}: {}", asked.out.display(), codes.join(", ")),
        json!({ "file": asked.out, "results": codes, "bytes": book.len() }),
    ))
}
