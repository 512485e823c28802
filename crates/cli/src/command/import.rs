//! `stonewear import` and `stonewear imports`: spreadsheets of the laboratory's past.

use super::asking::{answered, open};
use super::sheet::write;
use crate::answer::{Answer, Failure};
use crate::arguments::{Asking, Folder};
use serde_json::{Value, json};
use std::path::PathBuf;
use stonewear_exchange::taken::{
    self, DayOrder, Layout, Plan, Source, SourceFile, bad_rows, fields, row_of,
};
use stonewear_journal::Hash;
use stonewear_lab::fact::ImportKind;
use stonewear_lab::request::ImportFile;
use stonewear_lab::state::FileImport;
use stonewear_lab::{Fact, ImportCode, Problem};
use stonewear_runtime::{LaboratoryView, OpenLaboratory};

/// So many bad rows are said one by one; a file gets all of them.
const MOST_SAID: usize = 20;

/// Take over what the laboratory has in spreadsheets: equipment, past reference results, past tests,
/// past sieve analyses. CSV or a workbook (.xlsx). One bad row refuses all, unless told otherwise;
/// rows that are here already are not taken over again.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Example:\n\
\x20 stonewear import book.xlsx --as references --all lot=RA-2 --all apparatus=MILL-1 --preview --by AB\n\
\x20 stonewear import old-tests.csv --as tests --map on=Datum --leave-out-bad --bad-rows mend.csv --by AB")]
pub(crate) struct Import {
    #[command(flatten)]
    asking: Asking,
    /// The file.
    file: PathBuf,
    /// What its rows are: equipment, references, tests or sieve-analyses; left out, as its headings
    /// suggest.
    #[arg(long = "as", value_name = "WHAT")]
    what: Option<ImportKind>,
    /// The sheet of a workbook; left out, the first that holds something.
    #[arg(long, default_value = "")]
    sheet: String,
    /// Which column is what, where the suggestion is wrong: on=Datum; on= leaves it out.
    #[arg(long, value_name = "FIELD=HEADING")]
    map: Vec<String>,
    /// The same for every row: lot=RA-2.
    #[arg(long, value_name = "FIELD=VALUE")]
    all: Vec<String>,
    /// Which comes first in days like 03/04/2025: day-first or month-first.
    #[arg(long, value_name = "ORDER")]
    order: Option<DayOrder>,
    /// Say what would become of it, and record nothing.
    #[arg(long)]
    preview: bool,
    /// Take over the good rows, and leave the bad ones out.
    #[arg(long)]
    leave_out_bad: bool,
    /// Write the bad rows here as CSV, each with what is wrong: to be mended and imported again.
    #[arg(long, value_name = "FILE")]
    bad_rows: Option<PathBuf>,
}

pub(crate) fn run(import: &Import) -> Result<Answer, Failure> {
    let bytes = std::fs::read(&import.file).map_err(|error| {
        Failure::Surroundings(format!("{} cannot be read: {error}", import.file.display()))
    })?;
    let book = taken::read(&bytes).map_err(Failure::wrong_input)?;
    let sheet = book.sheet(&import.sheet);
    let what = import.what.or_else(|| sheet.map(taken::guess_what)).unwrap_or(ImportKind::Tests);
    let layout = sheet.map(|sheet| taken::suggest(sheet, what));
    let mut plan = Plan::new(what);
    plan.sheet.clone_from(&import.sheet);
    plan.order = import.order;
    plan.leave_out_bad = import.leave_out_bad;
    for typed in &import.map {
        let (field, heading) = pair(what, typed)?;
        let source = match (heading, &layout) {
            ("", _) | (_, None) => Source::Nowhere,
            (heading, Some(layout)) => Source::Column(column(layout, heading)?),
        };
        plan.chosen.insert(field.to_owned(), source);
    }
    for typed in &import.all {
        let (field, value) = pair(what, typed)?;
        plan.chosen.insert(field.to_owned(), Source::Same(value.to_owned()));
    }
    let name = import.file.file_name().unwrap_or_default().to_string_lossy().into_owned();
    let sha256 = Hash::of(&bytes).to_string();
    let file = SourceFile { name: &name, sha256: &sha256, bytes: bytes.len() };
    let request = taken::request(&file, &book, &plan).map_err(Failure::wrong_input)?;
    let (mut laboratory, by) = open(&import.asking)?;
    let judged = judged(&laboratory, &by, &request)?;
    if let Some(path) = &import.bad_rows {
        write(path, bad_rows(&book, &plan, &judged.bad).as_bytes())?;
    }
    if import.preview {
        return Ok(preview(&request, &judged));
    }
    if !judged.bad.is_empty() && !import.leave_out_bad {
        return Err(Failure::WrongInput(format!(
            "{}\nnothing was imported; mend the rows, or import the good ones with --leave-out-bad",
            bad_in_words(&judged.bad)
        )));
    }
    drop(book);
    let receipt = laboratory.import_file(&by, None, request, &bytes);
    answered(laboratory.lab(), "import-file", receipt)
}

/// `FIELD=VALUE`, where the field is one of this kind of file.
fn pair(what: ImportKind, typed: &str) -> Result<(&str, &str), Failure> {
    let (field, value) = typed.split_once('=').ok_or_else(|| {
        Failure::WrongInput(format!("“{typed}” names no field: write it like on=Datum"))
    })?;
    if fields(what).iter().any(|known| known.field == field) {
        return Ok((field, value.trim()));
    }
    let known: Vec<&str> = fields(what).iter().map(|known| known.field.as_str()).collect();
    let message = format!("“{field}” is no field of {what}; known: {}", known.join(", "));
    Err(Failure::WrongInput(message))
}

fn column(layout: &Layout, heading: &str) -> Result<usize, Failure> {
    layout.headings.iter().position(|known| known == heading).ok_or_else(|| {
        let known = layout.headings.join(", ");
        Failure::WrongInput(format!("no column is called “{heading}”; the columns are {known}"))
    })
}

/// What would become of a request.
struct Judged {
    facts: Vec<Fact>,
    /// What is wrong with rows.
    bad: Vec<Problem>,
}

/// The laboratory's judgement, with the bad rows apart from what hinders all of it.
fn judged(laboratory: &OpenLaboratory, by: &str, request: &ImportFile) -> Result<Judged, Failure> {
    let strict = ImportFile { leave_out_bad: String::new(), ..request.clone() };
    let refusal = match laboratory.consider(by, &strict.into()) {
        Ok(facts) => return Ok(Judged { facts, bad: Vec::new() }),
        Err(refusal) => refusal,
    };
    if refusal.problems.iter().any(|problem| row_of(problem).is_none()) {
        return Err(refusal.into());
    }
    let lenient = ImportFile { leave_out_bad: "yes".to_owned(), ..request.clone() };
    // Where nothing good is left, that is said by the bad rows.
    let facts = laboratory.consider(by, &lenient.into()).unwrap_or_default();
    Ok(Judged { facts, bad: refusal.problems })
}

fn bad_in_words(bad: &[Problem]) -> String {
    let mut lines: Vec<String> =
        bad.iter().take(MOST_SAID).map(|one| format!("{} ({})", one.message, one.hint)).collect();
    if bad.len() > MOST_SAID {
        lines.push(format!("and {} more", bad.len() - MOST_SAID));
    }
    lines.join("\n")
}

fn preview(request: &ImportFile, judged: &Judged) -> Answer {
    let mut text = format!("{} of {}\n", request.what, request.name);
    for (place, column) in request.columns.iter().enumerate() {
        let example = request.rows.first().and_then(|row| row.cells.get(place));
        let example = example.map(String::as_str).unwrap_or_default();
        text += &match column.heading.as_str() {
            "" => format!("  {}: {example}, the same for every row\n", column.field),
            heading => format!("  {} is “{heading}”, like {example}\n", column.field),
        };
    }
    text += &format!("{} rows\n", request.rows.len());
    for fact in &judged.facts {
        text += &format!("would be: {}\n", in_words(fact));
    }
    if !judged.bad.is_empty() {
        text += &format!("wrong:\n{}\n", bad_in_words(&judged.bad));
    }
    let json = json!({
        "what": request.what,
        "columns": request.columns,
        "rows": request.rows.len(),
        "facts": judged.facts,
        "bad": judged.bad,
    });
    Answer { text, json, is_no: !judged.bad.is_empty() }
}

/// A fact of an import in a short sentence.
pub(super) fn in_words(fact: &Fact) -> String {
    match fact {
        Fact::FileImported(file) => {
            let known = match file.known {
                0 => String::new(),
                known => format!("; {known} were here already"),
            };
            let left_out = match file.left_out.len() {
                0 => String::new(),
                left => format!("; {left} left out"),
            };
            let what = file.what.in_words();
            format!("{}: {what} of {}, {} rows{known}{left_out}", file.import, file.name, file.rows)
        }
        Fact::PastTestsImported(past) => {
            format!("{}: {} past tests", past.import, past.tests.len())
        }
        Fact::PastSievingsImported(past) => {
            format!("{}: {} past sieve analyses", past.import, past.analyses.len())
        }
        Fact::ItemRegistered { item, item_kind, .. } => {
            format!("the {} {item}, still to be proved", item_kind.in_words())
        }
        Fact::ReferenceImported(past) => format!(
            "{}: {} past results of {} on {}",
            past.import,
            past.results.len(),
            past.lot,
            past.apparatus
        ),
        _ => String::new(),
    }
}

/// List the files that were imported, or show one with what its rows became.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Example:\n\
\x20 stonewear imports --dir demo-laboratory\n\
\x20 stonewear imports H26-001")]
pub(crate) struct Imports {
    #[command(flatten)]
    folder: Folder,
    /// The import; left out, all are listed.
    import: Option<String>,
}

pub(crate) fn list(imports: &Imports) -> Result<Answer, Failure> {
    let view = LaboratoryView::open(&imports.folder.place()?)?;
    let all = &view.lab().file_imports;
    let Some(typed) = &imports.import else {
        let lines: Vec<String> = all.values().map(line).collect();
        let text =
            if lines.is_empty() { "nothing was imported".to_owned() } else { lines.join("\n") };
        return Ok(Answer::new(
            text,
            json!({ "imports": all.values().map(document).collect::<Vec<_>>() }),
        ));
    };
    let code = typed.trim().to_uppercase();
    let import = all.get(code.as_str()).ok_or_else(|| {
        super::unknown("there is no import", typed.trim(), all.keys().map(ImportCode::as_str))
    })?;
    let mut text = line(import) + "\n";
    for row in &import.file.value.left_out {
        text += &format!("left out: row {}: {}\n", row.row, row.why);
    }
    for test in &import.tests {
        text += &format!(
            "{}-{} {} {}: {} %\n",
            import.code(),
            test.row,
            test.on,
            test.sample,
            test.loss_percent
        );
    }
    let mut json = document(import);
    json["tests"] = json!(import.tests);
    json["sieve_analyses"] = json!(import.sievings);
    Ok(Answer::new(text, json))
}

fn line(import: &FileImport) -> String {
    let said = in_words(&Fact::FileImported(Box::new(import.file.value.clone())));
    format!("{said}; by {}, {}", import.file.by, import.file.at)
}

fn document(import: &FileImport) -> Value {
    json!({ "file": import.file, "made": import.made(), "references": import.references })
}
