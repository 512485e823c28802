//! The web page and the HTTP interface.
//!
//! A page is a function from the laboratory to markup ([`page`]); a form is sent to the page that
//! it stands on, becomes a request, and is either recorded or shown again with what is wrong. No
//! rule of the trade lives here: what a field is judged by is the decision that it would meet.

mod app;
mod assets;
mod door;
mod files;
mod following;
mod form;
#[cfg(fuzzing)]
pub mod fuzzing;
mod guard;
pub mod guide;
pub mod hooks;
mod imports;
mod intake;
mod interface;
mod lines;
mod live;
pub mod look;
mod made;
mod network;
mod openid;
mod page;
mod papers;
mod people;
mod reach;
mod sent;
mod shelf;
mod signing;
mod tls;
mod tongue;
mod watching;

pub use openid::Organisation;
pub use reach::Reach;
pub use tls::Certificate;

use axum::Router;
use axum::serve::ListenerExt;
use std::net::SocketAddr;
use std::sync::Arc;
use std::time::Duration;
use stonewear_access::Code;
use stonewear_report::Typesetter;
use stonewear_runtime::OpenLaboratory;
use tokio::net::TcpListener;

/// How long requests may take that are on their way when the program is asked to stop.
const FINISH: Duration = Duration::from_secs(6);
/// How long webhooks are told what is left then.
const TELL: Duration = Duration::from_secs(3);

/// How a laboratory is served.
#[derive(Debug, Default)]
pub struct Serving {
    /// How the page can be reached.
    pub reach: Reach,
    /// The certificate, where this program encrypts.
    pub certificate: Option<Certificate>,
    /// The code that makes the first account; none where there are accounts.
    pub first_code: Option<Code>,
    /// The organisation that vouches for people, where there is one.
    pub organisation: Option<Organisation>,
}

/// Serves a laboratory until the program is asked to stop (Ctrl-C, or a termination signal). Then
/// requests that are on their way are finished, webhooks are told what is left, and the journal is
/// signed, all within ten seconds. `listening` is told the address as soon as the page can be opened.
///
/// # Errors
/// When the address cannot be listened on, or serving fails.
pub fn serve(
    laboratory: OpenLaboratory,
    typesetter: Arc<dyn Typesetter>,
    address: SocketAddr,
    serving: Serving,
    listening: impl FnOnce(SocketAddr),
) -> std::io::Result<()> {
    let runtime = tokio::runtime::Builder::new_multi_thread().enable_all().build()?;
    let outcome = runtime.block_on(async {
        let listener = TcpListener::bind(address).await.map_err(|error| {
            std::io::Error::new(error.kind(), format!("{address} cannot be listened on: {error}"))
        })?;
        listening(listener.local_addr()?);
        let Serving { reach, certificate, first_code, organisation } = serving;
        let app = app::App::new(laboratory, typesetter, reach, first_code, organisation);
        if let Some(organisation) = app.organisation.clone() {
            tokio::task::spawn_blocking(move || organisation.get_to_know());
        }
        let news = app.news.clone();
        let couriers = hooks::start(app.clone());
        let follower = following::start(&app);
        let (asked, was_asked) = tokio::sync::oneshot::channel();
        let stopped = async move {
            stop().await;
            tracing::info!("asked to stop");
            // Pages listen for as long as they are open: their streams are ended here.
            news.close();
            let _ = asked.send(());
        };
        let router = app::router(app.clone());
        let serving = async move {
            match certificate {
                None => {
                    let listener = listener.tap_io(lines::at_once);
                    lines::serve(listener, router, lines::PATIENCE, stopped).await;
                }
                Some(certificate) => {
                    let listener = tls::TlsListener::new(listener, &certificate)?;
                    lines::serve(listener, router, lines::PATIENCE, stopped).await;
                }
            }
            Ok(())
        };
        let outcome = tokio::select! {
            outcome = serving => outcome,
            () = async {
                let _ = was_asked.await;
                tokio::time::sleep(FINISH).await;
            } => Ok(()),
        };
        // On its own thread, it may be reading what others recorded.
        let _ = tokio::task::spawn_blocking(move || drop(follower)).await;
        // Whoever carries something finishes it first. What is not told by then is told at the next
        // start: how far each webhook was told is kept.
        let joined = tokio::task::spawn_blocking(move || couriers.join());
        let _ = tokio::time::timeout(TELL, joined).await;
        if let Err(error) = app.read().sign("the program stopped") {
            tracing::error!(trouble = %error, "not signed");
        }
        tracing::info!("stopped");
        outcome
    });
    runtime.shutdown_timeout(Duration::from_millis(500));
    outcome
}

/// The description of the interface for programs, OpenAPI 3.1.
pub fn description() -> &'static serde_json::Value {
    &interface::description::DOCUMENT
}

/// The routes over a laboratory, for serving and for tests without a socket.
pub fn router(
    laboratory: OpenLaboratory,
    typesetter: Arc<dyn Typesetter>,
    reach: Reach,
    first_code: Option<Code>,
) -> Router {
    app::router(app::App::new(laboratory, typesetter, reach, first_code, None))
}

/// The same routes where an organisation vouches for people: for tests.
pub fn router_vouched_by(
    laboratory: OpenLaboratory,
    typesetter: Arc<dyn Typesetter>,
    organisation: Organisation,
) -> Router {
    let reach = Reach::default();
    app::router(app::App::new(laboratory, typesetter, reach, None, Some(organisation)))
}

/// The same routes while what other programs record is followed, until the other part is dropped: for tests.
pub fn router_that_follows(
    laboratory: OpenLaboratory,
    typesetter: Arc<dyn Typesetter>,
) -> (Router, Option<stonewear_runtime::Follower>) {
    let app = app::App::new(laboratory, typesetter, Reach::default(), None, None);
    let follower = following::start(&app);
    (app::router(app), follower)
}

/// The same routes while webhooks are told of what is recorded, and what ends that: for tests.
pub fn router_with_hooks(
    laboratory: OpenLaboratory,
    typesetter: Arc<dyn Typesetter>,
) -> (Router, impl FnOnce() + Send + Sync + 'static) {
    let app = app::App::new(laboratory, typesetter, Reach::default(), None, None);
    let couriers = hooks::start(app.clone());
    let news = app.news.clone();
    let end = move || {
        news.close();
        // Whoever carries something finishes it first; a panic there is no reason for one here.
        let _ = couriers.join();
    };
    (app::router(app), end)
}

/// Ends when somebody asks the program to stop.
async fn stop() {
    let interrupted = tokio::signal::ctrl_c();
    #[cfg(unix)]
    {
        let mut terminated =
            match tokio::signal::unix::signal(tokio::signal::unix::SignalKind::terminate()) {
                Ok(signal) => signal,
                // Without it Ctrl-C still works.
                Err(_) => {
                    let _ = interrupted.await;
                    return;
                }
            };
        tokio::select! {
            _ = interrupted => {}
            _ = terminated.recv() => {}
        }
    }
    #[cfg(not(unix))]
    let _ = interrupted.await;
}
