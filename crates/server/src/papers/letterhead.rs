//! The letterhead: a preview, and a new logo.

use super::{Handed, Paper};
use crate::app::{App, problem, seat};
use crate::form::Typed;
use axum::extract::multipart::MultipartRejection;
use axum::extract::{Multipart, State};
use axum::http::{HeaderMap, StatusCode, Uri};
use axum::response::{IntoResponse, Redirect, Response};
use std::collections::BTreeMap;
use stonewear_lab::Refusal;
use stonewear_lab::request::SetLetterhead;
use stonewear_report::letterhead_preview;
use stonewear_runtime::SubmitError;

pub(super) const ALL: &[Handed] = &[Handed {
    path: "/letterhead/preview.pdf",
    name: "letterhead-preview",
    says: "An invented report under the letterhead in force, to see how papers look.",
    make: |asked| Some(Paper::Preview(Box::new(letterhead_preview(asked.lab())))),
}];

/// Takes a new logo; everything else of the letterhead stays.
pub(crate) async fn logo(
    State(app): State<App>,
    headers: HeaderMap,
    form: Result<Multipart, MultipartRejection>,
) -> Response {
    let by = seat(&headers);
    let sent = match form {
        Ok(form) => crate::files::read_form(form).await,
        Err(_) => None,
    };
    let Some((key, name, bytes)) = sent else {
        return refused(
            &app,
            &headers,
            vec![problem("input-missing", "no file arrived".to_owned())],
        );
    };
    let done = {
        let app = app.clone();
        let by = by.code.clone();
        tokio::task::spawn_blocking(move || {
            let mut laboratory = app.write();
            let set = laboratory.lab().letterhead().cloned().unwrap_or_default();
            let request =
                SetLetterhead { logo_name: name, ..SetLetterhead::keeping(&set).with_logo(&bytes) };
            let key = Some(key.as_str()).filter(|key| !key.is_empty());
            let receipt = laboratory.submit(&by, key, &request.into());
            app.news.tell(laboratory.head().position);
            receipt
        })
        .await
    };
    match done {
        Ok(Ok(_)) => Redirect::to("/letterhead").into_response(),
        Ok(Err(SubmitError::Refused(Refusal { problems }))) => refused(&app, &headers, problems),
        Ok(Err(error)) => refused(&app, &headers, vec![problem("not-recorded", error.to_string())]),
        Err(_) => StatusCode::INTERNAL_SERVER_ERROR.into_response(),
    }
}

fn refused(app: &App, headers: &HeaderMap, problems: Vec<stonewear_lab::Problem>) -> Response {
    let fields = BTreeMap::from([("request".to_owned(), "set-letterhead".to_owned())]);
    let mut typed = Typed::sent(fields);
    typed.problems = problems;
    let uri = Uri::from_static("/letterhead");
    let seat = seat(headers);
    crate::app::render(&app.read(), &uri, &seat, &typed, StatusCode::UNPROCESSABLE_ENTITY)
}
