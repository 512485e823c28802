//! Photos and files: taken in from a form, handed out by their hash.

use crate::app::{App, is_our_path, problem, seat};
use crate::page;
use axum::extract::multipart::{MultipartError, MultipartRejection};
use axum::extract::{Multipart, Path, State};
use axum::http::header::{
    CACHE_CONTROL, CONTENT_DISPOSITION, CONTENT_SECURITY_POLICY, CONTENT_TYPE,
};
use axum::http::{HeaderMap, HeaderValue, StatusCode, Uri};
use axum::response::{Html, IntoResponse, Redirect, Response};
use std::collections::BTreeMap;
use stonewear_lab::Refusal;
use stonewear_lab::refusal::Problem;
use stonewear_lab::state::Attachment;
use stonewear_runtime::{NewFile, SubmitError};

/// All files of one form together: the largest single one, and room for the form around it.
pub(crate) const LARGEST_UPLOAD: usize = 21_000_000;

/// What a file may do when it is opened by itself: nothing.
const FILE_POLICY: HeaderValue =
    HeaderValue::from_static("sandbox; default-src 'none'; frame-ancestors 'none'");

/// A form with files, as it was sent.
#[derive(Default)]
pub(crate) struct Sent {
    fields: BTreeMap<String, String>,
    pub(crate) files: Vec<(String, Vec<u8>)>,
}

impl Sent {
    fn field(&self, name: &str) -> &str {
        self.fields.get(name).map(String::as_str).unwrap_or_default()
    }
}

/// Takes the files of a form, each for itself: what is right is kept, and what is wrong is said.
pub(crate) async fn attach(
    State(app): State<App>,
    uri: Uri,
    headers: HeaderMap,
    form: Result<Multipart, MultipartRejection>,
) -> Response {
    let by = seat(&headers);
    let sent = match read(form).await {
        Ok(sent) => sent,
        Err((status, words, hint)) => {
            let problems = [Problem { hint, ..problem("input-form", words) }];
            let page = page::not_attached(&app.read(), &uri, &by, "/", &problems);
            return (status, Html(page.into_string())).into_response();
        }
    };
    let back = Some(sent.field("back")).filter(|back| is_our_path(back)).unwrap_or("/").to_owned();
    let kept = {
        let (app, by) = (app.clone(), by.code.clone());
        // The append waits for the disk.
        tokio::task::spawn_blocking(move || keep(&app, &by, &sent)).await
    };
    let problems = kept.unwrap_or_else(|_| {
        vec![problem("not-recorded", "the program failed; look which files are there".to_owned())]
    });
    if problems.is_empty() {
        return Redirect::to(&back).into_response();
    }
    let page = page::not_attached(&app.read(), &uri, &by, &back, &problems);
    (StatusCode::UNPROCESSABLE_ENTITY, Html(page.into_string())).into_response()
}

/// Reads the whole form. A field for files that was left empty sends a file without a name.
pub(crate) async fn read(
    form: Result<Multipart, MultipartRejection>,
) -> Result<Sent, (StatusCode, String, String)> {
    let unreadable = |error: MultipartError| {
        let (words, hint) = if error.status() == StatusCode::PAYLOAD_TOO_LARGE {
            ("the files are too large together", "send at most 20 MB at once; make photos smaller")
        } else {
            ("the form did not arrive whole", "go back and send it again")
        };
        (error.status(), words.to_owned(), hint.to_owned())
    };
    let mut form = form.map_err(|rejection| {
        (
            rejection.status(),
            "the form cannot be read".to_owned(),
            "send it from its page".to_owned(),
        )
    })?;
    let mut sent = Sent::default();
    while let Some(field) = form.next_field().await.map_err(unreadable)? {
        let name = field.name().unwrap_or_default().to_owned();
        match field.file_name().map(str::to_owned) {
            Some(file) => {
                let bytes = field.bytes().await.map_err(unreadable)?;
                if !(file.is_empty() && bytes.is_empty()) {
                    sent.files.push((file, bytes.to_vec()));
                }
            }
            None => {
                let text = field.text().await.map_err(unreadable)?;
                sent.fields.insert(name, text);
            }
        }
    }
    Ok(sent)
}

/// The key and the first file of a form with one file; `None` where no file arrived.
pub(crate) async fn read_form(form: Multipart) -> Option<(String, String, Vec<u8>)> {
    let sent = read(Ok(form)).await.ok()?;
    let key = sent.field("_key").to_owned();
    sent.files.into_iter().next().map(|(name, bytes)| (key, name, bytes))
}

/// Attaches each file; what is wrong is named with its file.
fn keep(app: &App, by: &str, sent: &Sent) -> Vec<Problem> {
    if sent.files.is_empty() {
        let hint = "take a photo or choose a file first".to_owned();
        return vec![Problem { hint, ..problem("input-missing", "no file was chosen".to_owned()) }];
    }
    let mut problems = Vec::new();
    for (number, (name, bytes)) in sent.files.iter().enumerate() {
        let file = NewFile { to: sent.field("to"), step: sent.field("step"), name, bytes };
        let key = Some(sent.field("_key")).filter(|key| !key.is_empty());
        // Each file is a request of its own, so each needs a key of its own.
        let key = key.map(|key| format!("{key}/{number}"));
        // The lock is let go of between files: nobody waits for all of them.
        let outcome = {
            let mut laboratory = app.write();
            let outcome = laboratory.attach(by, key.as_deref(), &file);
            app.news.tell(laboratory.head().position);
            outcome
        };
        let wrong = match outcome {
            Ok(_) => Vec::new(),
            Err(SubmitError::Refused(Refusal { problems })) => problems,
            Err(error) => vec![problem("not-recorded", error.to_string())],
        };
        let of_file = wrong.into_iter().map(|one| {
            if one.field == "by" {
                one
            } else {
                Problem { message: format!("“{name}”: {}", one.message), ..one }
            }
        });
        for one in of_file {
            if !problems.contains(&one) {
                problems.push(one);
            }
        }
    }
    problems
}

/// Hands out a file that a fact names, as the kind that the fact says.
pub(crate) async fn serve(
    State(app): State<App>,
    Path(hash): Path<String>,
    uri: Uri,
    headers: HeaderMap,
) -> Response {
    match read_attached(&app, &hash).await {
        Ok(Some(response)) => response,
        Ok(None) => {
            let page = page::not_found(&app.read(), &uri, &seat(&headers));
            (StatusCode::NOT_FOUND, Html(page.into_string())).into_response()
        }
        Err(words) => (StatusCode::INTERNAL_SERVER_ERROR, words).into_response(),
    }
}

/// A file that a fact names, with its headers; nothing where no fact names it.
///
/// # Errors
/// In words, when it is missing or was changed.
pub(crate) async fn read_attached(app: &App, hash: &str) -> Result<Option<Response>, String> {
    let (app, hash) = (app.clone(), hash.to_owned());
    let read = tokio::task::spawn_blocking(move || {
        let laboratory = app.read();
        let attached = laboratory.lab().attached(&hash).map(|one| one.value.clone());
        (attached, laboratory.file(&hash))
    })
    .await;
    match read {
        Ok((Some(attached), Ok(Some(bytes)))) => {
            Ok(Some((file_headers(&attached), bytes).into_response()))
        }
        Ok((_, Err(error))) => Err(error.to_string()),
        Err(_) => Err("the program failed".to_owned()),
        Ok(_) => Ok(None),
    }
}

fn file_headers(file: &Attachment) -> HeaderMap {
    let mut headers = HeaderMap::new();
    let is_pdf = file.media_type == "application/pdf";
    let kind = if file.media_type.starts_with("text/") {
        format!("{}; charset=utf-8", file.media_type)
    } else {
        file.media_type.clone()
    };
    let place = if is_pdf || file.is_picture() { "inline" } else { "attachment" };
    for (name, value) in [
        (CONTENT_TYPE, kind),
        (CONTENT_DISPOSITION, format!("{place}; filename*=UTF-8''{}", percent_encoded(&file.name))),
    ] {
        if let Ok(value) = HeaderValue::from_str(&value) {
            headers.insert(name, value);
        }
    }
    // Bytes with this hash can never be others.
    headers.insert(CACHE_CONTROL, HeaderValue::from_static("private, max-age=31536000, immutable"));
    // A browser's own viewer for PDF does not start in a sandbox; it keeps scripts of the document
    // away from our pages by itself, and the policy of every page holds for it.
    if !is_pdf {
        headers.insert(CONTENT_SECURITY_POLICY, FILE_POLICY);
    }
    headers
}

/// A name as RFC 8187 writes it into a header.
fn percent_encoded(name: &str) -> String {
    // The encoding of forms differs from it by the space and the star.
    let encoded: String = form_urlencoded::byte_serialize(name.as_bytes()).collect();
    encoded.replace('+', "%20").replace('*', "%2A")
}
