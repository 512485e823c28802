//! Stylesheet, script and fonts, built into the program.

use crate::look::ASSETS;
use axum::extract::Path;
use axum::http::header::{CACHE_CONTROL, CONTENT_TYPE};
use axum::http::{StatusCode, Uri};
use axum::response::{Html, IntoResponse, Response};

/// The service worker. It lies at the root, since it may see to what lies below it only.
pub(crate) async fn keeper() -> Response {
    serve(Path("keeper.js".to_owned())).await
}

/// Serves one file. Names carry no version, so they are asked for again after a while.
pub(crate) async fn serve(Path(name): Path<String>) -> Response {
    match ASSETS.iter().find(|asset| asset.name == name) {
        Some(asset) => {
            let headers =
                [(CONTENT_TYPE, asset.media_type), (CACHE_CONTROL, "private, max-age=300")];
            (headers, asset.bytes).into_response()
        }
        None => StatusCode::NOT_FOUND.into_response(),
    }
}

/// Serves one picture of the guide.
pub(crate) async fn guide_picture(Path(name): Path<String>) -> Response {
    match crate::guide::picture(&name) {
        Some(bytes) => {
            let headers = [(CONTENT_TYPE, "image/png"), (CACHE_CONTROL, "private, max-age=300")];
            (headers, bytes).into_response()
        }
        None => StatusCode::NOT_FOUND.into_response(),
    }
}

/// The living page of the look, in the device's theme or in `?theme=light`, `?theme=dark`.
pub(crate) async fn look(uri: Uri) -> Response {
    let theme = match uri.query() {
        Some("theme=light") => Some("light"),
        Some("theme=dark") => Some("dark"),
        _ => None,
    };
    Html(crate::look::gallery(theme).into_string()).into_response()
}
