//! Reports: issued, and checked against the record.

use super::language_asked;
use crate::app::{App, is_our_path, problem, seat};
use crate::door::Guest;
use crate::form::Typed;
use crate::page;
use crate::signing;
use axum::extract::multipart::MultipartRejection;
use axum::extract::{Extension, Multipart, RawForm, State};
use axum::http::{HeaderMap, StatusCode, Uri};
use axum::response::{Html, IntoResponse, Redirect, Response};
use stonewear_lab::fact::PaperKind;
use stonewear_lab::refusal::Problem;
use stonewear_lab::{Fact, Refusal};
use stonewear_report::PaperCheck;
use stonewear_runtime::{SubmitError, Wanted};

/// Takes the form that issues a paper: prepared while others may read, typeset while others may
/// write, and recorded if what it says still holds.
pub(crate) async fn issue(
    State(app): State<App>,
    Extension(guest): Extension<Guest>,
    uri: Uri,
    headers: HeaderMap,
    RawForm(body): RawForm,
) -> Response {
    let mut typed = Typed::sent(crate::app::fields(&body));
    let by = seat(&headers);
    let field = |name: &str| typed.sent_field(name).unwrap_or_default().to_owned();
    let (of, reason, key, back) = (field("of"), field("reason"), field("_key"), field("_back"));
    let kind = field("paper").parse::<PaperKind>();
    let language = language_asked(&field("language"));
    let issued = if let Err(problems) = signing::hold(&app, &guest, &typed).await {
        Ok(Err(problems))
    } else {
        let (app, by) = (app.clone(), by.code.clone());
        tokio::task::spawn_blocking(move || {
            let kind = kind.map_err(|()| {
                let words = "the form names no paper that is issued".to_owned();
                vec![problem("paper-kind", words)]
            })?;
            let language = language.map_err(|words| {
                vec![Problem { field: "language".to_owned(), ..problem("input-value", words) }]
            })?;
            let wanted = Wanted { kind, of: &of, reason: &reason, language };
            issue_it(&app, &by, &key, wanted)
        })
        .await
    };
    let issued = issued.unwrap_or_else(|_| {
        Err(vec![problem("not-recorded", "the program failed; nothing was recorded".to_owned())])
    });
    match issued {
        Ok(fingerprint) => Redirect::to(&format!("/papers/{fingerprint}")).into_response(),
        Err(problems) => {
            typed.problems = problems;
            let back = Some(back).filter(|back| is_our_path(back));
            let uri = back.and_then(|back| back.parse().ok()).unwrap_or(uri);
            crate::app::render(&app.read(), &uri, &by, &typed, StatusCode::UNPROCESSABLE_ENTITY)
        }
    }
}

/// Issues a paper and gives its fingerprint.
fn issue_it(app: &App, by: &str, key: &str, wanted: Wanted<'_>) -> Result<String, Vec<Problem>> {
    let wrong = |error: SubmitError| match error {
        SubmitError::Refused(Refusal { problems }) => problems,
        error => vec![problem("not-recorded", error.to_string())],
    };
    let key = Some(key).filter(|key| !key.is_empty());
    let prepared = app.read().prepare(by, wanted).map_err(wrong)?;
    let bytes = prepared
        .said
        .typeset(&*app.typesetter)
        .map_err(|error| vec![problem("not-typeset", error.to_string())])?;
    let mut laboratory = app.write();
    let receipt = laboratory.issue(by, key, prepared, &bytes).map_err(wrong)?;
    app.news.tell(laboratory.head().position);
    let fingerprint = receipt.facts.iter().find_map(|fact| match fact {
        Fact::Paper(stonewear_lab::fact::PaperFact::Issued(issued)) => {
            Some(issued.fingerprint.clone())
        }
        _ => None,
    });
    Ok(fingerprint.unwrap_or_default())
}

/// Takes a file and says whether it is a paper as it was issued, and whether it still stands.
/// Nothing is recorded and nothing is kept.
pub(crate) async fn check(
    State(app): State<App>,
    uri: Uri,
    headers: HeaderMap,
    form: Result<Multipart, MultipartRejection>,
) -> Response {
    let by = seat(&headers);
    let file = match form {
        Ok(form) => crate::files::read_form(form).await,
        Err(_) => None,
    };
    let app = app.read();
    let found = file.map(|(_, name, bytes)| {
        let origin = app.origin().unwrap_or_default();
        (name, PaperCheck::of_file(app.lab(), &origin.laboratory, &bytes))
    });
    let status = if found.is_some() { StatusCode::OK } else { StatusCode::UNPROCESSABLE_ENTITY };
    (status, Html(page::paper_checked(&app, &uri, &by, found.as_ref()).into_string()))
        .into_response()
}
