//! Rows of a spreadsheet of the laboratory's past: judged one by one, taken over in one go.
//!
//! Whatever is wrong is named with the row's number, its column, and what would be right. Unless
//! somebody says to leave the bad rows out, one of them refuses all. Rows that an earlier import
//! brought already are known by what they say and not taken over again, so that a file can be
//! mended and imported as a whole.

mod equipment;
mod past;
mod reader;
mod references;

use super::Desk;
use super::attachments::{is_hash, read_name, read_size};
use super::form::{Form, yes_or_no};
use crate::code::{ImportCode, numbered};
use crate::fact::{Fact, FileImported, ImportKind, ImportedItem, LeftOutRow, Right, TakenColumn};
use crate::refusal::Refusal;
use crate::request::ImportFile;
use reader::Reader;

/// More rows than this are imported in parts.
const MOST_ROWS: usize = 200_000;
/// With more bad rows than this, not the rows are wrong but what the columns were taken as.
const MOST_BAD_ROWS: usize = 5_000;
/// Rows that one fact carries: an entry of the journal stays far below what it may hold.
const ROWS_A_FACT: usize = 2_000;
/// The kinds of files that rows come from.
const MEDIA_TYPES: [&str; 3] =
    ["text/csv", "text/plain", "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"];

/// What the good rows become.
#[derive(Default)]
struct Made {
    /// The facts, to follow that of the file.
    facts: Vec<Fact>,
    items: Vec<ImportedItem>,
    /// Rows that were here already.
    known: u64,
}

impl Desk<'_> {
    pub(super) fn import_file(&self, request: &ImportFile) -> Result<Vec<Fact>, Refusal> {
        self.person_who_may(Right::Manage)?;
        let mut form = Form::new();
        let name = read_name(&mut form, &request.name);
        let media_type = request.media_type.trim();
        if !MEDIA_TYPES.contains(&media_type) {
            let hint = "import a CSV file or a workbook (.xlsx)";
            form.wrong("media_type", "input-media-type", "it is no table of a known kind", hint);
        }
        let sha256 = request.sha256.trim();
        if !is_hash(sha256) {
            let hint = "it is 64 hexadecimal digits in lower case";
            form.wrong("sha256", "input-hash", "the SHA-256 of the file is missing", hint);
        }
        let bytes = read_size(&mut form, &request.bytes);
        let sheet = form.optional("sheet", &request.sheet);
        if request.rows.is_empty() {
            form.wrong(
                "rows",
                "input-missing",
                "there is no row to import",
                "choose another sheet",
            );
        }
        if request.rows.len() > MOST_ROWS {
            let message = format!("there are {} rows", request.rows.len());
            let hint = format!("import at most {MOST_ROWS} at once");
            form.wrong("rows", "input-too-long", message, hint);
        }
        let what = match request.what.trim().parse::<ImportKind>() {
            Ok(what) => what,
            Err(error) => {
                form.wrong("what", "input-unknown", error.to_string(), "");
                return form.refuse();
            }
        };
        if form.is_hopeless() {
            return form.refuse();
        }
        let (year, number) = self.lab.next_number('H', self.context.at);
        let import = ImportCode::from(numbered('H', year, number));
        let mut reader = Reader::new(request, self.lab.local(self.context.at).date());
        let made = match what {
            ImportKind::Equipment => self.equipment(&mut reader),
            ImportKind::References => self.references(&mut reader, &import),
            ImportKind::Tests => self.past_tests(&mut reader, &import),
            ImportKind::SieveAnalyses => self.past_sievings(&mut reader, &import),
        };
        let left_out = left_out(reader, yes_or_no(&request.leave_out_bad) == Some(true))?;
        if made.facts.is_empty() {
            return Err(self.nothing_new(sha256, made.known, left_out.len()));
        }
        let file = FileImported {
            import,
            what,
            name,
            media_type: media_type.to_owned(),
            sha256: sha256.to_owned(),
            bytes,
            sheet,
            columns: request.columns.iter().map(taken).collect(),
            rows: request.rows.len() as u64,
            known: made.known,
            left_out,
            items: made.items,
        };
        let facts = std::iter::once(Fact::FileImported(Box::new(file)));
        Ok(facts.chain(made.facts).collect())
    }

    fn nothing_new(&self, sha256: &str, known: u64, bad: usize) -> Refusal {
        let earlier: Vec<String> = self
            .lab
            .imports_of_file(sha256)
            .map(|import| {
                let day = self.lab.local(import.file.at).date();
                format!("{} on {day} by {}", import.code(), import.file.by)
            })
            .collect();
        let (message, hint) = match (known, earlier.is_empty()) {
            (0, _) => (
                format!("none of the {bad} rows can be taken over"),
                "look at what the columns were taken as",
            ),
            (_, true) => (
                format!("all {known} good rows are here already, from another file"),
                "nothing needs to be done",
            ),
            (_, false) => (
                format!(
                    "this very file was imported already, as {}: all {known} good rows are here",
                    crate::words::listed(earlier)
                ),
                "nothing needs to be done; mend the rows that were left out and import them",
            ),
        };
        Refusal::of("rows", "import-known", message, hint)
    }
}

fn taken(column: &crate::request::ImportColumn) -> TakenColumn {
    TakenColumn { field: column.field.clone(), heading: column.heading.clone() }
}

/// The bad rows, where they may be left out; else the refusal.
fn left_out(reader: Reader<'_>, may: bool) -> Result<Vec<LeftOutRow>, Refusal> {
    let bad = reader.bad_rows();
    if bad > MOST_BAD_ROWS {
        let message = format!("{bad} rows are wrong");
        let hint = "look at what the columns were taken as, and at the order of day and month";
        return Err(Refusal::of("columns", "import-bad-rows", message, hint));
    }
    if bad > 0 && !may || reader.is_hopeless() {
        return Err(Refusal { problems: reader.problems });
    }
    Ok(reader.why())
}
