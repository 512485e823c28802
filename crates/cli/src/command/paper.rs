//! `stonewear paper`: reports as PDF, issued and checked.

mod check;
mod issue;
mod many;
mod sheets;

use super::asking::open;
use crate::answer::{Answer, Failure};
use crate::arguments::{Asking, Folder};
use serde_json::json;
use std::path::{Path, PathBuf};
use stonewear_lab::fact::{PaperFact, PaperLanguage};
use stonewear_lab::state::TestResult;
use stonewear_lab::{Lab, ResultCode};
use stonewear_report::{Typesetter, printed};
use stonewear_runtime::{LaboratoryView, Wanted};

/// Print the test report of a result as PDF: the issued file to the byte, or a copy for checking
/// while it is not issued. The words below issue papers and check them.
#[derive(Debug, clap::Args)]
#[command(
    args_conflicts_with_subcommands = true,
    subcommand_negates_reqs = true,
    after_help = "\
Example:\n\
\x20 stonewear paper L26-001 --out report.pdf\n\
\x20 stonewear paper issue L26-001 --by AB --out report.pdf\n\
\x20 stonewear paper check report.pdf"
)]
pub(crate) struct Paper {
    #[command(subcommand)]
    verb: Option<Verb>,
    #[command(flatten)]
    print: Print,
}

#[derive(Debug, clap::Subcommand)]
enum Verb {
    /// Issue the test report of a result: it is typeset, kept to the byte, and recorded with its
    /// fingerprint. Who may release results may issue.
    #[command(after_help = "\
Example:\n\
\x20 stonewear paper issue L26-001 --by AB --out report.pdf\n\
\x20 stonewear paper issue L26-001 --by AB --reason 'The customer was misspelt.'\n\
\x20 stonewear paper issue L26-001 --by AB --language fr")]
    Issue(issue::Issue),
    /// Issue the combined report of a project: all its released results.
    #[command(after_help = "\
Example:\n\
\x20 stonewear paper project 'Harrow Vale bypass' --by AB --out project.pdf")]
    Project(issue::Project),
    /// Print the reports of all released results, of a project or of a time, into a folder: the
    /// issued files, and copies for checking of those that are not issued.
    #[command(after_help = "\
Example:\n\
\x20 stonewear paper all --project 'Harrow Vale bypass' --out reports\n\
\x20 stonewear paper all --from 2026-01-01 --to 2026-03-31 --out first-quarter")]
    All(many::All),
    /// Print the record of a check: every step, what was read, by whom, against its limits.
    #[command(after_help = "\
Example:\n\
\x20 stonewear paper record C26-001 --out check.pdf")]
    Record(sheets::Of),
    /// Print the dossier of an apparatus: every check, the reference runs, studies, who accepted it.
    #[command(after_help = "\
Example:\n\
\x20 stonewear paper dossier MILL-1 --out dossier.pdf")]
    Dossier(sheets::Of),
    /// Print a sheet to write the readings of a specimen on by hand, beside their limits.
    #[command(after_help = "\
Example:\n\
\x20 stonewear paper bench-sheet S26-001-1 --out bench.pdf")]
    BenchSheet(sheets::Of),
    /// Print what a specimen is made up of, with room for the masses.
    #[command(after_help = "\
Example:\n\
\x20 stonewear paper make-up S26-001-1 --out make-up.pdf")]
    MakeUp(sheets::Of),
    /// Print one result with its whole evidence, fact by fact, for an assessor; a file that ends in
    /// .csv gets the facts with their whole hashes.
    #[command(after_help = "\
Example:\n\
\x20 stonewear paper audit L26-001 --out audit.pdf\n\
\x20 stonewear paper audit L26-001 --out audit.csv")]
    Audit(sheets::Of),
    /// List the issued papers and what has happened since.
    #[command(after_help = "\
Example:\n\
\x20 stonewear paper list --dir demo-laboratory")]
    List(check::List),
    /// Say whether a file is a paper as it was issued, and whether it still stands.
    #[command(after_help = "\
Exit status: 0 as issued, and it stands; 10 superseded; 11 a result is in doubt; 12 altered;\n\
13 never issued; 14 of another laboratory; 15 without a mark of this program.\n\n\
Example:\n\
\x20 stonewear paper check report.pdf --dir demo-laboratory")]
    Check(check::Check),
}

#[derive(Debug, clap::Args)]
struct Print {
    #[command(flatten)]
    folder: Folder,
    /// The result.
    #[arg(required = true)]
    result: Option<String>,
    /// Language of a copy for checking: en, fr, es or de; otherwise that of the letterhead. An issued
    /// report stays in its own.
    #[arg(long, value_name = "TAG")]
    language: Option<PaperLanguage>,
    /// File to write.
    #[arg(long, short, value_name = "FILE", required = true)]
    out: Option<PathBuf>,
}

pub(crate) fn run(paper: &Paper) -> Result<Answer, Failure> {
    match &paper.verb {
        Some(Verb::Issue(issue)) => issue::report(issue),
        Some(Verb::Project(project)) => issue::project(project),
        Some(Verb::All(all)) => many::all(all),
        Some(Verb::Record(of)) => sheets::record(of),
        Some(Verb::Dossier(of)) => sheets::dossier(of),
        Some(Verb::BenchSheet(of)) => sheets::bench(of),
        Some(Verb::MakeUp(of)) => sheets::make_up(of),
        Some(Verb::Audit(of)) => sheets::audit(of),
        Some(Verb::List(list)) => check::list(list),
        Some(Verb::Check(check)) => check::check(check),
        None => print_report(&paper.print),
    }
}

/// The result that is typed.
fn result_of<'l>(lab: &'l Lab, typed: &str) -> Result<&'l TestResult, Failure> {
    let typed = typed.trim();
    lab.results.get(typed.to_uppercase().as_str()).ok_or_else(|| {
        let known = lab.results.keys().map(ResultCode::as_str);
        super::unknown("there is no result", typed, known)
    })
}

fn print_report(print: &Print) -> Result<Answer, Failure> {
    let view = LaboratoryView::open(&print.folder.place()?)?;
    // The arguments are required where no word of the list is given.
    let out = print.out.clone().unwrap_or_default();
    let result = result_of(view.lab(), print.result.as_deref().unwrap_or_default())?;
    let made = report_file(&view, result, print.language)?;
    super::sheet::write(&out, &made.bytes)?;
    Ok(Answer::new(
        format!("{}: report {}{}", out.display(), made.number, made.standing()),
        json!({
            "file": out,
            "report": made.number,
            "bytes": made.bytes.len(),
            "released": made.released,
            "issued": made.issued,
        }),
    ))
}

/// The report of a result as a file.
struct ReportFile {
    bytes: Vec<u8>,
    number: String,
    released: bool,
    issued: bool,
}

impl ReportFile {
    fn standing(&self) -> &'static str {
        match (self.issued, self.released) {
            (true, _) => ", as issued",
            (false, true) => ", a copy for checking: the report is not issued yet",
            (false, false) => ", a draft: nobody has released this result",
        }
    }
}

/// The issued file of the version that counts; a copy for checking while there is none.
fn report_file(
    view: &LaboratoryView,
    result: &TestResult,
    language: Option<PaperLanguage>,
) -> Result<ReportFile, Failure> {
    let lab = view.lab();
    if let Some(issued) = lab.issued_report(result) {
        let bytes = view.issued_file(&issued.value).map_err(Failure::surroundings)?;
        let number = issued.value.number.clone();
        return Ok(ReportFile { bytes, number, released: true, issued: true });
    }
    let anchor = view.anchor_of(result).map_err(Failure::surroundings)?;
    let origin = view.origin().map_err(Failure::surroundings)?;
    let report = stonewear_report::test_report(lab, result, anchor);
    let report = report.in_language(language).marked(&origin);
    let press = stonewear_paper::Press::new().map_err(Failure::surroundings)?;
    let bytes = press.test_report(&report).map_err(Failure::surroundings)?;
    let released = report.authorised.is_some();
    Ok(ReportFile { bytes, number: report.number, released, issued: false })
}

/// A fact about papers in a short sentence.
pub(super) fn in_words(fact: &PaperFact) -> String {
    match fact {
        PaperFact::Issued(issued) => format!(
            "issued {} {}, fingerprint {}",
            issued.paper.in_words(),
            issued.number,
            printed(&issued.fingerprint)
        ),
        PaperFact::LetterheadSet(_) => "set the letterhead".to_owned(),
    }
}

/// Prepares, typesets and issues a paper; writes its file where one is named.
fn issue_paper(asking: &Asking, wanted: Wanted<'_>, out: Option<&Path>) -> Result<Answer, Failure> {
    let (mut laboratory, by) = open(asking)?;
    let prepared = match laboratory.prepare(&by, wanted) {
        Ok(prepared) => prepared,
        Err(error) => {
            return super::asking::answered(laboratory.lab(), "issue-paper", Err(error));
        }
    };
    let press = stonewear_paper::Press::new().map_err(Failure::surroundings)?;
    let bytes = prepared.said.typeset(&press).map_err(Failure::surroundings)?;
    let receipt = laboratory.issue(&by, None, prepared, &bytes);
    let mut answer = super::asking::answered(laboratory.lab(), "issue-paper", receipt)?;
    if let Some(out) = out {
        super::sheet::write(out, &bytes)?;
        answer.text.push_str(&format!("\nwrote {}", out.display()));
    }
    Ok(answer)
}
