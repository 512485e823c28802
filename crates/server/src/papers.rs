//! Papers and tables as files: PDF to print, CSV and JSON for programs, workbooks.
//!
//! What can be handed out stands in one list, [`all`]: the page's routes, the routes of the interface
//! for programs and its description are made from it.

mod bench;
mod between;
mod issuing;
mod kept;
mod letterhead;
mod tables;

pub(crate) use issuing::{check, issue};
pub(crate) use letterhead::logo;

use crate::app::{App, asked};
use axum::Router;
use axum::extract::{RawPathParams, State};
use axum::http::header::{CONTENT_DISPOSITION, CONTENT_TYPE};
use axum::http::{StatusCode, Uri};
use axum::response::{IntoResponse, Response};
use axum::routing::get;
use stonewear_lab::Lab;
use stonewear_lab::fact::PaperLanguage;
use stonewear_report::{Labels, Sheet, TestReport, TypesetError};
use stonewear_runtime::OpenLaboratory;

/// The media type of a workbook (IANA registry).
const XLSX: &str = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet";
const PDF: &str = "application/pdf";

/// The media type of a file with this ending, if it is one that is handed out.
pub(crate) fn media_type(ending: &str) -> Option<&'static str> {
    match ending {
        "pdf" => Some(PDF),
        "csv" => Some("text/csv"),
        "xlsx" => Some(XLSX),
        "json" => Some("application/json"),
        _ => None,
    }
}

/// Something that is handed out as a file.
#[derive(Clone, Copy)]
pub(crate) struct Handed {
    /// Its address, with `{code}` for what is filled in.
    pub(crate) path: &'static str,
    /// Its name in the description of the interface.
    pub(crate) name: &'static str,
    /// What it is, in a sentence.
    pub(crate) says: &'static str,
    make: fn(&Asked<'_>) -> Option<Paper>,
}

/// Everything that is handed out.
pub(crate) fn all() -> Vec<Handed> {
    [kept::ALL, bench::ALL, between::ALL, tables::ALL, letterhead::ALL].concat()
}

/// What is asked for: codes and the name of the file from the address, and the query.
struct Asked<'a> {
    laboratory: &'a OpenLaboratory,
    codes: &'a [String],
    uri: &'a Uri,
}

impl Asked<'_> {
    fn lab(&self) -> &Lab {
        self.laboratory.lab()
    }

    /// What is filled in for the hole of this number in the address.
    fn code(&self, number: usize) -> &str {
        self.codes.get(number).map_or("", String::as_str)
    }

    /// The name of the file at the end of the address.
    fn file(&self) -> &str {
        self.uri.path().rsplit('/').next().unwrap_or_default()
    }
}

/// What is handed out.
enum Paper {
    /// A sheet with the mark of this kind of paper.
    Marked(&'static str, Box<Sheet>),
    Sheet(Box<Sheet>),
    Report(Box<TestReport>),
    /// An invented report, which carries no mark.
    Preview(Box<TestReport>),
    Labels(Box<Labels>),
    /// An issued file, to the byte, and its number.
    Issued(Vec<u8>, String),
    Csv(String),
    Json(String),
    Xlsx(Vec<u8>),
    /// Why there is none that could be made, and the status that says so.
    Withheld(Withheld),
}

impl Paper {
    fn sheet(sheet: Sheet) -> Self {
        Self::Sheet(Box::new(sheet))
    }

    fn marked(paper: &'static str, sheet: Sheet) -> Self {
        Self::Marked(paper, Box::new(sheet))
    }

    fn media_type(&self) -> &'static str {
        match self {
            Self::Csv(_) => "text/csv; charset=utf-8",
            Self::Json(_) => "application/json",
            Self::Xlsx(_) => XLSX,
            _ => PDF,
        }
    }

    /// What its file is called, where it goes by a number of its own: `L26-001-1.pdf`.
    fn own_name(&self) -> Option<String> {
        let number = match self {
            Self::Issued(_, number) => number,
            Self::Report(report) => &report.number,
            _ => return None,
        };
        Some(format!("{}.pdf", number.replace('/', "-")))
    }

    /// Whether a browser had better keep it than show it.
    fn is_for_programs(&self) -> bool {
        matches!(self, Self::Csv(_) | Self::Xlsx(_))
    }

    /// In the language that is asked for, and with its mark where it has one.
    fn finished(
        self,
        laboratory: &OpenLaboratory,
        language: Option<PaperLanguage>,
    ) -> Result<Self, Withheld> {
        let origin = || laboratory.origin().map_err(|error| Withheld::failed(error.to_string()));
        Ok(match self {
            Self::Marked(paper, sheet) => {
                Self::sheet(sheet.in_language(language).marked(paper, "", &origin()?))
            }
            Self::Sheet(sheet) => Self::sheet(sheet.in_language(language)),
            Self::Report(report) => {
                Self::Report(Box::new(report.in_language(language).marked(&origin()?)))
            }
            Self::Preview(report) => Self::Preview(Box::new(report.in_language(language))),
            other => other,
        })
    }

    fn bytes(self, app: &App) -> Result<Vec<u8>, Withheld> {
        let press = &app.typesetter;
        let failed = |error: TypesetError| Withheld::failed(error.to_string());
        match self {
            Self::Marked(_, sheet) | Self::Sheet(sheet) => press.sheet(&sheet).map_err(failed),
            Self::Report(report) | Self::Preview(report) => {
                press.test_report(&report).map_err(failed)
            }
            Self::Labels(labels) => press.labels(&labels).map_err(failed),
            Self::Csv(text) | Self::Json(text) => Ok(text.into_bytes()),
            Self::Issued(bytes, _) | Self::Xlsx(bytes) => Ok(bytes),
            Self::Withheld(why) => Err(why),
        }
    }
}

/// Why a paper is not handed out.
#[derive(Debug)]
pub(crate) struct Withheld {
    pub(crate) status: StatusCode,
    pub(crate) words: String,
}

impl Withheld {
    fn failed(words: String) -> Self {
        Self { status: StatusCode::INTERNAL_SERVER_ERROR, words }
    }

    fn malformed(words: String) -> Self {
        Self { status: StatusCode::UNPROCESSABLE_ENTITY, words }
    }

    fn unknown() -> Self {
        Self { status: StatusCode::NOT_FOUND, words: "there is no such paper".to_owned() }
    }
}

impl IntoResponse for Withheld {
    fn into_response(self) -> Response {
        (self.status, self.words).into_response()
    }
}

/// The language that is asked for, if one is.
fn language_asked(typed: &str) -> Result<Option<PaperLanguage>, String> {
    if typed.trim().is_empty() { Ok(None) } else { typed.parse().map(Some) }
}

/// Makes a paper away from the threads that answer, and hands it out under a name.
pub(crate) async fn hand_out(
    app: App,
    handed: Handed,
    codes: Vec<String>,
    uri: Uri,
) -> Result<Response, Withheld> {
    let language = language_asked(&asked(&uri, "language")).map_err(Withheld::malformed)?;
    let made = tokio::task::spawn_blocking(move || {
        let (paper, name) = {
            // The lock is let go of before the typesetter begins.
            let laboratory = app.read();
            let asked = Asked { laboratory: &laboratory, codes: &codes, uri: &uri };
            let paper = (handed.make)(&asked).ok_or_else(Withheld::unknown)?;
            let name = paper.own_name().unwrap_or_else(|| name_of(handed, &asked));
            (paper.finished(&laboratory, language)?, name)
        };
        let place = if paper.is_for_programs() { "attachment" } else { "inline" };
        let kind = paper.media_type();
        let shown = format!("{place}; filename=\"{}\"", safe(&name));
        let bytes = paper.bytes(&app)?;
        Ok(([(CONTENT_TYPE, kind.to_owned()), (CONTENT_DISPOSITION, shown)], bytes).into_response())
    });
    made.await.unwrap_or_else(|_| Err(Withheld::failed("the program failed".to_owned())))
}

/// What the file is called: the codes in its address, and its own name.
fn name_of(handed: Handed, asked: &Asked<'_>) -> String {
    let file = asked.file();
    // Where the address has no code, the part of the laboratory tells it from others.
    let part = handed.path.split('/').nth(1).filter(|part| *part != file && *part != "export");
    let mut words: Vec<&str> =
        asked.codes.iter().map(String::as_str).filter(|code| *code != file).collect();
    words.extend(part.filter(|_| words.is_empty()));
    words.push(file);
    words.join("-")
}

/// A name that a header can carry: what was found has only such signs.
fn safe(name: &str) -> String {
    name.chars().filter(|c| c.is_ascii_alphanumeric() || "-.".contains(*c)).collect()
}

/// The page's addresses of everything that is handed out.
pub(crate) fn router() -> Router<App> {
    let mut router = Router::new();
    for handed in all() {
        let answer = move |State(app): State<App>, params: RawPathParams, uri: Uri| async move {
            let codes = params.iter().map(|(_, code)| code.to_owned()).collect();
            hand_out(app, handed, codes, uri).await
        };
        router = router.route(handed.path, get(answer));
    }
    router
}
