//! `stonewear paper record`, `dossier`, `bench-sheet`, `make-up` and `audit`: papers for use in the
//! house and for assessors.

use crate::answer::{Answer, Failure};
use crate::arguments::Folder;
use crate::command::sheet;
use serde_json::json;
use std::path::PathBuf;
use stonewear_lab::fact::PaperLanguage;
use stonewear_lab::state::Specimen;
use stonewear_lab::{CheckCode, ItemCode, Lab, SpecimenCode};
use stonewear_report::{
    Sheet, audit_csv, audit_sheet, bench_sheet, check_record, dossier_sheet, makeup_sheet,
};
use stonewear_runtime::LaboratoryView;

#[derive(Debug, clap::Args)]
pub(super) struct Of {
    #[command(flatten)]
    folder: Folder,
    /// The code of what it is about.
    code: String,
    /// Its language: en, fr, es or de; otherwise that of the letterhead.
    #[arg(long, value_name = "TAG")]
    language: Option<PaperLanguage>,
    /// File to write.
    #[arg(long, short, value_name = "FILE")]
    out: PathBuf,
}

impl Of {
    fn code(&self) -> String {
        self.code.trim().to_uppercase()
    }

    /// Marks a sheet with what it says, and prints it.
    fn print(&self, view: &LaboratoryView, paper: &str, said: Sheet) -> Result<Answer, Failure> {
        let origin = view.origin().map_err(Failure::surroundings)?;
        sheet::print(&said.in_language(self.language).marked(paper, "", &origin), &self.out)
    }
}

pub(super) fn record(of: &Of) -> Result<Answer, Failure> {
    let view = LaboratoryView::open(&of.folder.place()?)?;
    let lab = view.lab();
    let Some(check) = lab.checks.get(of.code().as_str()) else {
        let known = lab.checks.keys().map(CheckCode::as_str);
        return Err(super::super::unknown("there is no check", of.code.trim(), known));
    };
    let anchor = view.anchor().map_err(Failure::surroundings)?;
    of.print(&view, "check-record", check_record(lab, check, anchor, view.now()))
}

pub(super) fn dossier(of: &Of) -> Result<Answer, Failure> {
    let view = LaboratoryView::open(&of.folder.place()?)?;
    let lab = view.lab();
    let Some(item) = lab.items.get(of.code().as_str()) else {
        let known = lab.items.keys().map(ItemCode::as_str);
        return Err(super::super::unknown("there is no item", of.code.trim(), known));
    };
    let anchor = view.anchor().map_err(Failure::surroundings)?;
    of.print(&view, "dossier", dossier_sheet(lab, item, anchor, view.now()))
}

fn specimen<'l>(lab: &'l Lab, of: &Of) -> Result<&'l Specimen, Failure> {
    lab.specimens.get(of.code().as_str()).ok_or_else(|| {
        let known = lab.specimens.keys().map(SpecimenCode::as_str);
        super::super::unknown("there is no specimen", of.code.trim(), known)
    })
}

pub(super) fn bench(of: &Of) -> Result<Answer, Failure> {
    let view = LaboratoryView::open(&of.folder.place()?)?;
    let anchor = view.anchor().map_err(Failure::surroundings)?;
    let specimen = specimen(view.lab(), of)?;
    let said = bench_sheet(view.lab(), specimen, anchor, view.now());
    of.print(&view, "bench-sheet", said.ok_or_else(|| no_rules(of))?)
}

pub(super) fn make_up(of: &Of) -> Result<Answer, Failure> {
    let view = LaboratoryView::open(&of.folder.place()?)?;
    let anchor = view.anchor().map_err(Failure::surroundings)?;
    let specimen = specimen(view.lab(), of)?;
    let said = makeup_sheet(view.lab(), specimen, anchor, view.now());
    of.print(&view, "make-up-sheet", said.ok_or_else(|| no_rules(of))?)
}

fn no_rules(of: &Of) -> Failure {
    Failure::WrongInput(format!("the method of {} has no such grading", of.code.trim()))
}

pub(super) fn audit(of: &Of) -> Result<Answer, Failure> {
    let view = LaboratoryView::open(&of.folder.place()?)?;
    let lab = view.lab();
    let result = super::result_of(lab, &of.code)?;
    let facts = view.chain_of(result).map_err(Failure::surroundings)?;
    if of.out.extension().is_some_and(|ending| ending == "csv") {
        sheet::write(&of.out, audit_csv(&facts).as_bytes())?;
        let text = format!("{}: {} facts", of.out.display(), facts.len());
        return Ok(Answer::new(text, json!({ "file": of.out, "facts": facts.len() })));
    }
    let anchor = view.anchor().map_err(Failure::surroundings)?;
    of.print(&view, "audit-extract", audit_sheet(lab, result, &facts, anchor, view.now()))
}
