//! The least that a page could be: a text that is ready in memory, over the same lines with the same settings
//! as the program's own server.

use crate::Trouble;
use axum::Router;
use axum::body::Body;
use axum::http::header::CONTENT_TYPE;
use axum::routing::get;
use hyper::body::Incoming;
use hyper::server::conn::http1;
use hyper::service::service_fn;
use hyper_util::rt::{TokioIo, TokioTimer};
use serde_json::Value;
use std::sync::Arc;
use std::time::Duration;
use tokio::net::TcpListener;
use tower::ServiceExt;

/// Serves a text of so many bytes at `/`, and prints where.
pub(crate) fn serve(bytes: usize) -> Result<Value, Trouble> {
    let text: Arc<str> = "x".repeat(bytes).into();
    let page = move || {
        let text = text.clone();
        async move { ([(CONTENT_TYPE, "text/html; charset=utf-8")], text.to_string()) }
    };
    let router = Router::new().route("/", get(page));
    let runtime = tokio::runtime::Builder::new_multi_thread().enable_all().build()?;
    runtime.block_on(async move {
        let listener = TcpListener::bind("127.0.0.1:0").await?;
        println!("at http://{}/", listener.local_addr()?);
        loop {
            let (line, _) = listener.accept().await?;
            let router = router.clone();
            tokio::spawn(async move {
                let answer = service_fn(move |request: hyper::Request<Incoming>| {
                    router.clone().oneshot(request.map(Body::new))
                });
                let mut rules = http1::Builder::new();
                rules.timer(TokioTimer::new()).header_read_timeout(Duration::from_secs(65));
                let _ = rules.serve_connection(TokioIo::new(line), answer).await;
            });
        }
    })
}
