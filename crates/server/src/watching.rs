//! What whoever operates the program watches: whether it lives, whether it takes entries, figures for a
//! monitor (Prometheus' text format), a line of the log for each answer. No person, no code of a thing and
//! no text that anybody typed is in any of them.

use crate::app::App;
use axum::Router;
use axum::body::Body;
use axum::extract::{MatchedPath, Request, State};
use axum::http::header::CONTENT_TYPE;
use axum::http::{Method, StatusCode};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use axum::routing::get;
use prometheus::{
    Encoder, Gauge, Histogram, HistogramOpts, HistogramVec, IntCounterVec, IntGauge, Opts,
    Registry, TextEncoder,
};
use std::time::{Duration, Instant};
use stonewear_runtime::{Clock, LastBackup, last_backup};

/// Seconds, from what memory answers to what somebody notices.
const ANSWERS: [f64; 11] = [0.001, 0.002, 0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1.0, 5.0];
/// Seconds, from what a fast disk takes to what a failing one takes.
const APPENDS: [f64; 9] = [0.0005, 0.001, 0.0025, 0.005, 0.01, 0.025, 0.1, 0.5, 2.0];

/// The figures.
#[derive(Debug)]
pub(crate) struct Figures {
    registry: Registry,
    requests: IntCounterVec,
    seconds: HistogramVec,
    pub(crate) appends: Histogram,
    facts: IntGauge,
    signed: IntGauge,
    journal_bytes: IntGauge,
    can_record: IntGauge,
    backup_age: Gauge,
    webhooks_behind: IntGauge,
}

impl Figures {
    /// # Errors
    /// When two figures have one name, which a test would find.
    fn new() -> Result<Self, prometheus::Error> {
        let registry = Registry::new();
        let requests = IntCounterVec::new(
            Opts::new(
                "stonewear_http_requests_total",
                "Answers given, by part of the site and status.",
            ),
            &["part", "method", "status"],
        )?;
        let options = HistogramOpts::new(
            "stonewear_http_request_seconds",
            "How long answers took, by part of the site.",
        );
        let seconds = HistogramVec::new(options.buckets(ANSWERS.to_vec()), &["part"])?;
        let options = HistogramOpts::new(
            "stonewear_append_seconds",
            "How long the disk took for the facts of one request.",
        );
        let appends = Histogram::with_opts(options.buckets(APPENDS.to_vec()))?;
        let whole = |name: &str, help: &str| -> Result<IntGauge, prometheus::Error> {
            let gauge = IntGauge::new(name, help)?;
            registry.register(Box::new(gauge.clone()))?;
            Ok(gauge)
        };
        let facts = whole("stonewear_facts", "The last place in the journal.")?;
        let signed = whole("stonewear_signed_facts", "The last place that is signed.")?;
        let journal_bytes =
            whole("stonewear_journal_bytes", "Size of the journal's files on the disk.")?;
        let can_record = whole("stonewear_can_record", "1 while entries are taken, else 0.")?;
        let webhooks_behind =
            whole("stonewear_webhooks_behind", "Webhooks that were not told everything yet.")?;
        let backup_age = Gauge::new(
            "stonewear_backup_age_seconds",
            "Time since the last complete backup; -1 where none was ever made.",
        )?;
        registry.register(Box::new(backup_age.clone()))?;
        registry.register(Box::new(requests.clone()))?;
        registry.register(Box::new(seconds.clone()))?;
        registry.register(Box::new(appends.clone()))?;
        Ok(Self {
            registry,
            requests,
            seconds,
            appends,
            facts,
            signed,
            journal_bytes,
            can_record,
            backup_age,
            webhooks_behind,
        })
    }

    /// The figures of a program that starts; none where they cannot be kept.
    pub(crate) fn begin() -> Option<Self> {
        Self::new().ok()
    }

    fn count(&self, part: &str, method: &Method, status: StatusCode, took: Duration) {
        // A method that nobody knows would be a line of its own for each that is made up.
        let method = match *method {
            Method::GET | Method::POST | Method::HEAD => method.as_str(),
            _ => "other",
        };
        self.requests.with_label_values(&[part, method, status.as_str()]).inc();
        self.seconds.with_label_values(&[part]).observe(took.as_secs_f64());
    }

    fn read(&self, app: &App) -> Result<Vec<u8>, prometheus::Error> {
        let (path, position) = {
            let laboratory = app.read();
            let position = laboratory.head().position;
            self.facts.set(position.cast_signed());
            self.signed.set(laboratory.signatures().until.cast_signed());
            self.can_record.set(i64::from(laboratory.hindrance().is_none()));
            (laboratory.path().to_owned(), position)
        };
        let size = |ending: &str| {
            let file = std::fs::metadata(path.join(format!("journal.sqlite{ending}")));
            file.map_or(0, |file| file.len())
        };
        self.journal_bytes.set((size("") + size("-wal")).cast_signed());
        let age = last_backup(&path).and_then(|last| last.at);
        self.backup_age
            .set(age.map_or(-1.0, |at| Clock::Machine.now().duration_since(at).as_secs_f64()));
        let hooks = app.access.as_ref().ok().and_then(|access| access.hooks().ok());
        let behind =
            hooks.unwrap_or_default().iter().filter(|hook| hook.position < position).count();
        self.webhooks_behind.set(i64::try_from(behind).unwrap_or(i64::MAX));
        let mut text = Vec::new();
        TextEncoder::new().encode(&self.registry.gather(), &mut text)?;
        Ok(text)
    }
}

/// Which part of the site an address is of. Never the address itself: it names things.
fn part(request: &Request<Body>) -> &'static str {
    let path = request.uri().path();
    let matched = request.extensions().get::<MatchedPath>().is_some();
    let begins = |beginning: &str| path.starts_with(beginning);
    match () {
        () if begins("/api") && path.ends_with("/events") => "stream",
        () if begins("/api") => "interface",
        () if path == "/events" => "stream",
        () if begins("/health") || path == "/metrics" => "watching",
        () if begins("/assets") || begins("/guide/pictures") => "assets",
        () if path.ends_with(".pdf") || begins("/labels") => "papers",
        () if begins("/files") || begins("/export") => "files",
        () if path == "/judge" => "judging",
        () if matched || *request.method() == Method::GET => "page",
        () => "form",
    }
}

/// Counts and logs every answer.
pub(crate) async fn watch(State(app): State<App>, request: Request<Body>, next: Next) -> Response {
    let (part, method, begun) = (part(&request), request.method().clone(), Instant::now());
    let response = next.run(request).await;
    let (status, took) = (response.status(), begun.elapsed());
    if let Some(figures) = app.figures.as_ref() {
        figures.count(part, &method, status, took);
    }
    let milliseconds = took.as_secs_f64() * 1000.0;
    if status.is_server_error() {
        tracing::error!(part, method = %method, status = status.as_u16(), milliseconds, "answered");
    } else {
        tracing::info!(part, method = %method, status = status.as_u16(), milliseconds, "answered");
    }
    response
}

/// The routes for whoever watches.
pub(crate) fn router() -> Router<App> {
    Router::new()
        .route("/health/live", get(|| async { "alive\n" }))
        .route("/health/ready", get(ready))
        .route("/metrics", get(figures))
}

/// What is told of the last backup: when, how far, and whether the attempt after it went well. Where
/// it lies is nobody's business who only watches.
fn told(last: Option<&LastBackup>) -> serde_json::Value {
    last.map_or(serde_json::Value::Null, |last| {
        serde_json::json!({
            "at": last.at,
            "position": last.position,
            "trouble": !last.trouble.is_empty(),
        })
    })
}

/// Whether entries are taken: 200, or 503 and why not.
async fn ready(State(app): State<App>) -> Response {
    let asked = tokio::task::spawn_blocking(move || {
        let laboratory = app.read();
        let hindrance = laboratory.hindrance();
        let last = last_backup(laboratory.path());
        let document = serde_json::json!({
            "ready": hindrance.is_none(),
            "why": hindrance.as_ref().map(|one| format!("{one} {}", one.remedy())),
            "position": laboratory.head().position,
            "signed": laboratory.signatures().until,
            "backup": told(last.as_ref()),
        });
        (hindrance.is_none(), document)
    });
    match asked.await {
        Ok((is_ready, document)) => {
            let status = if is_ready { StatusCode::OK } else { StatusCode::SERVICE_UNAVAILABLE };
            (status, [(CONTENT_TYPE, "application/json")], format!("{document}\n")).into_response()
        }
        Err(_) => StatusCode::INTERNAL_SERVER_ERROR.into_response(),
    }
}

async fn figures(State(app): State<App>) -> Response {
    let read = tokio::task::spawn_blocking(move || {
        let figures = app.figures.clone()?;
        figures.read(&app).ok()
    });
    match read.await {
        Ok(Some(text)) => {
            ([(CONTENT_TYPE, "text/plain; version=0.0.4; charset=utf-8")], text).into_response()
        }
        _ => StatusCode::INTERNAL_SERVER_ERROR.into_response(),
    }
}
