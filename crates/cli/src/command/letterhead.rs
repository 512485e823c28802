//! `stonewear letterhead`: what stands at the head and the foot of every paper.

use super::asking::ask;
use crate::answer::{Answer, Failure};
use crate::arguments::{Asking, Folder};
use serde_json::json;
use std::path::PathBuf;
use stonewear_lab::request::SetLetterhead;
use stonewear_report::Typesetter;
use stonewear_runtime::LaboratoryView;

#[derive(Debug, clap::Subcommand)]
pub(crate) enum Letterhead {
    /// Show the letterhead in force.
    #[command(after_help = "\
Example:\n\
\x20 stonewear letterhead show --dir demo-laboratory")]
    Show(Show),
    /// Set the letterhead. What is not named stays as it is; an empty text takes it away.
    #[command(after_help = "\
Example:\n\
\x20 stonewear letterhead set --by AB --contact 'Telephone 0100 555 010' --logo mark.svg\n\
\x20 stonewear letterhead set --by AB --sheet letter --page http://bench:7007")]
    Set(Box<Set>),
    /// Print an invented report under the letterhead in force, to see how papers look.
    #[command(after_help = "\
Example:\n\
\x20 stonewear letterhead preview --out preview.pdf")]
    Preview(Preview),
}

#[derive(Debug, clap::Args)]
pub(crate) struct Show {
    #[command(flatten)]
    folder: Folder,
}

#[derive(Debug, clap::Args)]
pub(crate) struct Set {
    #[command(flatten)]
    asking: Asking,
    /// A line of the address; give it again for the next line.
    #[arg(long, value_name = "LINE")]
    address: Option<Vec<String>>,
    /// How the laboratory is reached; give it again for the next line.
    #[arg(long, value_name = "LINE")]
    contact: Option<Vec<String>>,
    /// Where the work is done, when that is not the address.
    #[arg(long, value_name = "TEXT")]
    place_of_work: Option<String>,
    /// What the laboratory says of its accreditation, as it is allowed to.
    #[arg(long, value_name = "TEXT")]
    accreditation: Option<String>,
    /// The limits of what a paper claims.
    #[arg(long, value_name = "TEXT")]
    limits: Option<String>,
    /// What papers are printed on: a4 or letter.
    #[arg(long, value_name = "SIZE")]
    sheet: Option<String>,
    /// The language of the papers: en, fr, es or de.
    #[arg(long, value_name = "TAG")]
    language: Option<String>,
    /// Address of the laboratory's page, for the square codes.
    #[arg(long, value_name = "URL")]
    page: Option<String>,
    /// File of a new logo: PNG, JPEG, or SVG of plain shapes; `none` for none.
    #[arg(long, value_name = "FILE")]
    logo: Option<String>,
}

#[derive(Debug, clap::Args)]
pub(crate) struct Preview {
    #[command(flatten)]
    folder: Folder,
    /// File to write.
    #[arg(long, short, value_name = "FILE")]
    out: PathBuf,
}

pub(crate) fn run(letterhead: Letterhead) -> Result<Answer, Failure> {
    match letterhead {
        Letterhead::Show(show) => shown(&show),
        Letterhead::Set(set) => set_it(*set),
        Letterhead::Preview(preview) => print(&preview),
    }
}

fn shown(show: &Show) -> Result<Answer, Failure> {
    let view = LaboratoryView::open(&show.folder.place()?)?;
    let Some(set) = view.lab().letterhead() else {
        let words = "no letterhead is set: papers carry the name and address of the founding";
        return Ok(Answer::new(words, json!({ "letterhead": null })));
    };
    let logo = set.logo.as_ref().map(|logo| format!("{} ({})", logo.name, logo.media_type));
    let lines = [
        ("address", set.address.join(", ")),
        ("contact", set.contact.join(", ")),
        ("place of work", set.place_of_work.clone()),
        ("accreditation", set.accreditation.clone()),
        ("limits", set.limits.clone()),
        ("sheet", set.sheet.name().to_owned()),
        ("language", set.language.in_words().to_owned()),
        ("page", set.page.clone()),
        ("logo", logo.unwrap_or_default()),
    ];
    let said = lines.iter().filter(|(_, value)| !value.is_empty());
    let text: Vec<String> = said.map(|(name, value)| format!("{name:14} {value}")).collect();
    Ok(Answer::new(text.join("\n"), json!({ "letterhead": set })))
}

fn set_it(set: Set) -> Result<Answer, Failure> {
    let in_force = LaboratoryView::open(&set.asking.folder.place()?)?.lab().letterhead().cloned();
    let mut request = SetLetterhead::keeping(&in_force.unwrap_or_default());
    let lines = |lines: Vec<String>| lines.join("\n");
    for (field, given) in [
        (&mut request.address, set.address.map(lines)),
        (&mut request.contact, set.contact.map(lines)),
        (&mut request.place_of_work, set.place_of_work),
        (&mut request.accreditation, set.accreditation),
        (&mut request.limits, set.limits),
        (&mut request.sheet, set.sheet),
        (&mut request.language, set.language),
        (&mut request.page, set.page),
    ] {
        if let Some(given) = given {
            *field = given;
        }
    }
    match set.logo.as_deref() {
        None => {}
        Some("none") => request.logo = "none".to_owned(),
        Some(file) => {
            let bytes = std::fs::read(file).map_err(|error| {
                Failure::Surroundings(format!("{file} cannot be read: {error}"))
            })?;
            let name = std::path::Path::new(file).file_name();
            request.logo_name = name.unwrap_or_default().to_string_lossy().into_owned();
            request = request.with_logo(&bytes);
        }
    }
    ask(&set.asking, request)
}

fn print(preview: &Preview) -> Result<Answer, Failure> {
    let view = LaboratoryView::open(&preview.folder.place()?)?;
    let report = stonewear_report::letterhead_preview(view.lab());
    let press = stonewear_paper::Press::new().map_err(Failure::surroundings)?;
    let bytes = press.test_report(&report).map_err(Failure::surroundings)?;
    super::sheet::write(&preview.out, &bytes)?;
    let text = format!("{}: an invented report under the letterhead", preview.out.display());
    Ok(Answer::new(text, json!({ "file": preview.out, "bytes": bytes.len() })))
}
