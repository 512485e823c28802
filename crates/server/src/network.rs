//! All laboratories of a database, for the page and for programs: asked of the database, and kept between two looks.

use crate::app::{App, seat};
use crate::form::Typed;
use crate::page;
use axum::extract::State;
use axum::http::{HeaderMap, Uri};
use axum::response::{Html, IntoResponse, Response};
use std::sync::{Arc, Mutex, PoisonError};
use stonewear_runtime::{Network, NetworkReport, SharedDatabase};

/// The laboratories around this one, once somebody has looked.
#[derive(Clone, Default)]
pub(crate) struct Around(Arc<Mutex<Option<Network>>>);

impl Around {
    /// How all stand now, or why that cannot be said.
    fn look(&self, database: &SharedDatabase) -> Result<NetworkReport, String> {
        // A panic while it was held leaves laboratories that are read anew.
        let mut known = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        let mut network = match known.take() {
            Some(network) => network,
            None => Network::around(database).map_err(|error| error.to_string())?,
        };
        // What failed is begun anew the next time.
        let report = network.look().map_err(|error| error.to_string())?;
        *known = Some(network);
        Ok(report)
    }
}

/// How the laboratories of the database stand, or why that cannot be said; nothing where the laboratory is in no
/// database.
pub(crate) async fn report(app: &App) -> Option<Result<NetworkReport, String>> {
    let database = app.read().place().database().cloned()?;
    let around = app.around.clone();
    // The database may take its time.
    let asked = tokio::task::spawn_blocking(move || around.look(&database));
    Some(asked.await.unwrap_or_else(|_| Err("the program failed".to_owned())))
}

/// Shows how the laboratories of the database stand.
pub(crate) async fn show(State(app): State<App>, uri: Uri, headers: HeaderMap) -> Response {
    let report = report(&app).await;
    let laboratory = app.read();
    let (seat, typed) = (seat(&headers), Typed::default());
    let shown = page::inside(&laboratory, &uri, &seat, &typed, |view| {
        page::network(view, report.as_ref().map(Result::as_ref))
    });
    Html(shown.into_string()).into_response()
}
