//! A spreadsheet of the past on its way in: sent, looked at, imported. How it is to be read stands
//! in the address, so that going back, sharing it and working without script all do.

use crate::app::{App, fields, problem, seat};
use crate::files::{self, Sent};
use crate::form::Typed;
use crate::page;
use crate::page::imports::Look;
use crate::shelf::Shelved;
use axum::body::Bytes;
use axum::extract::multipart::MultipartRejection;
use axum::extract::{Multipart, Path, RawForm, State};
use axum::http::header::{CONTENT_DISPOSITION, CONTENT_TYPE};
use axum::http::{HeaderMap, StatusCode, Uri};
use axum::response::{Html, IntoResponse, Redirect, Response};
use std::collections::BTreeMap;
use stonewear_exchange::taken::{
    self, Book, Plan, Source, SourceFile, bad_rows, fields as fields_of, row_of,
};
use stonewear_lab::fact::{Fact, ImportKind};
use stonewear_lab::refusal::Problem;
use stonewear_lab::request::ImportFile;
use stonewear_runtime::{OpenLaboratory, SubmitError};

/// Takes a file in, to be looked at.
pub(crate) async fn send(
    State(app): State<App>,
    uri: Uri,
    headers: HeaderMap,
    form: Result<Multipart, MultipartRejection>,
) -> Response {
    let sent = match files::read(form).await {
        Ok(sent) => sent,
        Err((status, words, hint)) => {
            return again(
                &app,
                &uri,
                &headers,
                status,
                Problem { hint, ..problem("input-form", words) },
            );
        }
    };
    let judged = tokio::task::spawn_blocking(move || shelved(sent)).await;
    match judged {
        Ok(Ok(file)) => {
            let path = format!("/imports/new/{}", file.sha256);
            app.shelf.put(file);
            Redirect::to(&path).into_response()
        }
        Ok(Err(problem)) => again(&app, &uri, &headers, StatusCode::UNPROCESSABLE_ENTITY, problem),
        Err(_) => StatusCode::INTERNAL_SERVER_ERROR.into_response(),
    }
}

/// The first file that was sent, if it can be read at all.
fn shelved(sent: Sent) -> Result<Shelved, Problem> {
    let Some((name, bytes)) = sent.files.into_iter().next() else {
        let hint = "choose a CSV file or a workbook (.xlsx) first".to_owned();
        return Err(Problem { hint, ..problem("input-missing", "no file was chosen".to_owned()) });
    };
    taken::read(&bytes).map_err(|error| problem("input-file", format!("“{name}”: {error}")))?;
    let sha256 = stonewear_runtime::sha256(&bytes);
    Ok(Shelved { name, sha256, bytes })
}

/// The page of all imports again, with what is wrong.
fn again(
    app: &App,
    uri: &Uri,
    headers: &HeaderMap,
    status: StatusCode,
    problem: Problem,
) -> Response {
    let mut typed = Typed::default();
    typed.problems.push(problem);
    let page = page::imports::sent_again(&app.read(), uri, &seat(headers), &typed);
    (status, Html(page.into_string())).into_response()
}

/// Shows how a file would be read, and what would become of it.
pub(crate) async fn look(
    State(app): State<App>,
    Path(sha256): Path<String>,
    uri: Uri,
    headers: HeaderMap,
) -> Response {
    let asked = fields(&Bytes::from(uri.query().unwrap_or_default().to_owned()));
    shown(app, sha256, uri, headers, asked, StatusCode::OK, Vec::new()).await
}

async fn shown(
    app: App,
    sha256: String,
    uri: Uri,
    headers: HeaderMap,
    asked: BTreeMap<String, String>,
    status: StatusCode,
    problems: Vec<Problem>,
) -> Response {
    let made = tokio::task::spawn_blocking(move || {
        let by = seat(&headers);
        let Some(file) = app.shelf.get(&sha256) else {
            let page = page::imports::gone(&app.read(), &uri, &by);
            return (StatusCode::NOT_FOUND, page);
        };
        // It was read when it was sent, so it can be read.
        let Ok(book) = taken::read(&file.bytes) else {
            return (StatusCode::NOT_FOUND, page::not_found(&app.read(), &uri, &by));
        };
        let plan = plan(&book, &asked);
        let laboratory = app.read();
        let judged = judged(&laboratory, &by.code, &file, &book, &plan);
        let look = Look { file: &file, book: &book, plan: &plan, judged, problems };
        (status, page::imports::look(&laboratory, &uri, &by, &look))
    })
    .await;
    match made {
        Ok((status, page)) => (status, Html(page.into_string())).into_response(),
        Err(_) => StatusCode::INTERNAL_SERVER_ERROR.into_response(),
    }
}

/// Imports a file as it was looked at.
pub(crate) async fn take(
    State(app): State<App>,
    Path(sha256): Path<String>,
    uri: Uri,
    headers: HeaderMap,
    RawForm(body): RawForm,
) -> Response {
    let asked = fields(&body);
    let by = seat(&headers).code;
    let outcome = {
        let (app, sha256, asked) = (app.clone(), sha256.clone(), asked.clone());
        tokio::task::spawn_blocking(move || imported(&app, &by, &sha256, &asked)).await
    };
    match outcome {
        Ok(Ok(path)) => Redirect::to(&path).into_response(),
        Ok(Err(problems)) => {
            let status = StatusCode::UNPROCESSABLE_ENTITY;
            shown(app, sha256, uri, headers, asked, status, problems).await
        }
        Err(_) => StatusCode::INTERNAL_SERVER_ERROR.into_response(),
    }
}

fn imported(
    app: &App,
    by: &str,
    sha256: &str,
    asked: &BTreeMap<String, String>,
) -> Result<String, Vec<Problem>> {
    let refused = |words: String| vec![problem("not-recorded", words)];
    let file = app.shelf.get(sha256).ok_or_else(|| refused("send the file again".to_owned()))?;
    let book = taken::read(&file.bytes).map_err(|error| refused(error.to_string()))?;
    let plan = plan(&book, asked);
    let request = request(&file, &book, &plan).map_err(|problem| vec![problem])?;
    drop(book);
    let key = asked.get("_key").map(String::as_str).filter(|key| !key.is_empty());
    let mut laboratory = app.write();
    let receipt = laboratory.import_file(by, key, request, &file.bytes);
    app.news.tell(laboratory.head().position);
    match receipt {
        Ok(receipt) => match receipt.facts.first() {
            Some(Fact::FileImported(file)) => Ok(format!("/imports/{}", file.import)),
            _ => Ok("/imports".to_owned()),
        },
        Err(SubmitError::Refused(refusal)) => Err(refusal.problems),
        Err(error) => Err(refused(error.to_string())),
    }
}

/// The bad rows as CSV, to be mended.
pub(crate) async fn mend(
    State(app): State<App>,
    Path(sha256): Path<String>,
    uri: Uri,
    headers: HeaderMap,
) -> Response {
    let made = tokio::task::spawn_blocking(move || {
        let asked = fields(&Bytes::from(uri.query().unwrap_or_default().to_owned()));
        let file = app.shelf.get(&sha256)?;
        let book = taken::read(&file.bytes).ok()?;
        let plan = plan(&book, &asked);
        let judged = judged(&app.read(), &seat(&headers).code, &file, &book, &plan);
        Some(bad_rows(&book, &plan, &judged.bad))
    })
    .await;
    match made {
        Ok(Some(text)) => {
            let kind = (CONTENT_TYPE, "text/csv; charset=utf-8");
            let name = (CONTENT_DISPOSITION, "attachment; filename=\"rows-to-mend.csv\"");
            ([kind, name], text).into_response()
        }
        _ => (StatusCode::NOT_FOUND, "send the file again").into_response(),
    }
}

/// How a file is to be read, as the address says; the rest is suggested.
fn plan(book: &Book, asked: &BTreeMap<String, String>) -> Plan {
    let get = |name: &str| asked.get(name).map(String::as_str).unwrap_or_default();
    let sheet = get("sheet");
    let guess = || book.sheet(sheet).map(taken::guess_what).unwrap_or(ImportKind::Tests);
    let mut plan = Plan::new(get("what").parse().unwrap_or_else(|_| guess()));
    plan.sheet = sheet.to_owned();
    plan.order = get("order").parse().ok();
    plan.leave_out_bad = get("leave_out_bad") == "yes";
    // What was chosen for another kind of file says nothing of this one.
    if get("chosen_for") != plan.what.as_str() {
        return plan;
    }
    for field in fields_of(plan.what) {
        let same = get(&format!("same.{}", field.field)).trim();
        let source = match (same, get(&format!("column.{}", field.field)).parse()) {
            ("", Ok(place)) => Source::Column(place),
            ("", Err(_)) => Source::Nowhere,
            (same, _) => Source::Same(same.to_owned()),
        };
        plan.chosen.insert(field.field.clone(), source);
    }
    plan
}

fn request(file: &Shelved, book: &Book, plan: &Plan) -> Result<ImportFile, Problem> {
    let source = SourceFile { name: &file.name, sha256: &file.sha256, bytes: file.bytes.len() };
    taken::request(&source, book, plan).map_err(|error| problem("import-plan", error.to_string()))
}

/// What the laboratory would make of a file.
#[derive(Debug, Default)]
pub(crate) struct Judged {
    /// The rows as they are read.
    pub(crate) request: Option<ImportFile>,
    /// The facts that would follow, with the bad rows left out.
    pub(crate) facts: Vec<Fact>,
    /// What is wrong with rows.
    pub(crate) bad: Vec<Problem>,
    /// What hinders all of it.
    pub(crate) hindered: Vec<Problem>,
}

fn judged(
    laboratory: &OpenLaboratory,
    by: &str,
    file: &Shelved,
    book: &Book,
    plan: &Plan,
) -> Judged {
    let request = match request(file, book, &Plan { leave_out_bad: false, ..plan.clone() }) {
        Ok(request) => request,
        Err(problem) => return Judged { hindered: vec![problem], ..Judged::default() },
    };
    let mut judged = Judged { request: Some(request.clone()), ..Judged::default() };
    match laboratory.consider(by, &request.clone().into()) {
        Ok(facts) => judged.facts = facts,
        Err(refusal) => {
            let of_row = |problem: &Problem| row_of(problem).is_some();
            (judged.bad, judged.hindered) = refusal.problems.into_iter().partition(of_row);
            let lenient = ImportFile { leave_out_bad: "yes".to_owned(), ..request };
            match laboratory.consider(by, &lenient.into()) {
                Ok(facts) => judged.facts = facts,
                // Nothing new is left of it: said once, not with what is said already.
                Err(refusal) if judged.hindered.is_empty() => {
                    judged.hindered = refusal.problems;
                    judged.hindered.retain(|problem| !of_row(problem));
                }
                Err(_) => {}
            }
        }
    }
    judged
}
