//! The interface for programs, under `/api/v1`: every request, every view, the facts as they come.
//!
//! A program asks with a token, in the name of a person. A request is the very form that the page
//! sends, as JSON, and meets the very same decision; a view is read from the laboratory into a
//! structure of its own, so that the state behind it may change. What can be asked is kept in
//! lists, [`lab::Request`](stonewear_lab::Request), [`views::all`] and [`papers::all`]: routes and description both
//! come from them, so neither can say what the other does not know.

mod body;
pub(crate) mod description;
mod entry;
mod facts;
mod forms;
mod record;
mod requests;
mod trouble;
mod views;

use crate::app::App;
use crate::papers;
use axum::Router;
use axum::extract::{RawPathParams, State};
use axum::http::header::CONTENT_TYPE;
use axum::http::{HeaderValue, Uri};
use axum::middleware::from_fn_with_state;
use axum::response::{IntoResponse, Response};
use axum::routing::{get, post};
use serde::Serialize;

#[cfg(fuzzing)]
pub(crate) use body::read as read_body;
pub(crate) use record::FactGiven;
pub(crate) use trouble::{Kind, Trouble};

/// Where the interface begins.
pub(crate) const ROOT: &str = "/api/v1";

/// An answer as JSON.
pub(crate) struct Json<T>(T);

impl<T: Serialize> IntoResponse for Json<T> {
    fn into_response(self) -> Response {
        let kind = HeaderValue::from_static("application/json");
        match serde_json::to_vec(&self.0) {
            Ok(body) => ([(CONTENT_TYPE, kind)], body).into_response(),
            Err(error) => Trouble::new(Kind::Failed, error.to_string()).into_response(),
        }
    }
}

/// All routes below [`ROOT`], behind the door that asks for a token.
pub(crate) fn router(app: &App) -> Router<App> {
    let mut router = Router::new()
        .route("/requests/{name}", get(requests::one_form).post(requests::ask))
        .route("/attachments", post(requests::attach))
        .route("/files/{sha256}", get(facts::file))
        .route("/facts", get(facts::list))
        .route("/facts/{position}", get(facts::one))
        .route("/facts/events", get(facts::events))
        .route("/openapi.json", get(description::serve));
    for view in views::all() {
        let path = view.path;
        router = router.route(path, get(views::handler(view)));
    }
    for handed in papers::all() {
        let answer = move |State(app): State<App>, params: RawPathParams, uri: Uri| async move {
            let codes = params.iter().map(|(_, code)| code.to_owned()).collect();
            papers::hand_out(app, handed, codes, uri).await.map_err(Trouble::withheld)
        };
        router = router.route(handed.path, get(answer));
    }
    router
        .fallback(entry::not_found)
        .method_not_allowed_fallback(entry::wrong_method)
        .layer(from_fn_with_state(app.clone(), entry::admit))
}

/// Whatever is asked for under `/api` and is not in this version of the interface.
pub(crate) fn elsewhere(app: &App) -> Router<App> {
    Router::new()
        .route("/api", axum::routing::any(entry::not_found))
        .route("/api/", axum::routing::any(entry::not_found))
        .route("/api/{*rest}", axum::routing::any(entry::not_found))
        .layer(from_fn_with_state(app.clone(), entry::admit))
}
