//! News for pages that are open: how far the journal has come, as it comes (server-sent events,
//! WHATWG HTML Living Standard, section 9.2).
//!
//! Nothing but the position is sent. A page that hears of a later one asks for itself again, so
//! a tablet that slept, lost its line or came late is right as soon as it listens.

use crate::app::App;
use crate::door::Guest;
use axum::extract::{Extension, State};
use axum::response::sse::{Event, KeepAlive, Sse};
use futures_util::stream::{self, Stream};
use std::convert::Infallible;
use std::time::Duration;
use tokio::sync::watch;

/// How far the journal has come.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct News {
    position: u64,
    /// The program stops: open streams end, so that it need not wait for them.
    is_last: bool,
}

impl News {
    /// Whether the program stops.
    pub(crate) fn is_last(self) -> bool {
        self.is_last
    }
}

/// Where news comes from.
#[derive(Debug, Clone)]
pub(crate) struct Newsroom(watch::Sender<News>);

impl Newsroom {
    pub(crate) fn at(position: u64) -> Self {
        Self(watch::Sender::new(News { position, is_last: false }))
    }

    /// Tells every open page that the journal has come this far.
    pub(crate) fn tell(&self, position: u64) {
        self.0.send_if_modified(|news| {
            let is_news = position > news.position;
            news.position = news.position.max(position);
            is_news
        });
    }

    /// Hears of what comes from now on.
    pub(crate) fn listen(&self) -> watch::Receiver<News> {
        self.0.subscribe()
    }

    /// How far the journal has come.
    pub(crate) fn position(&self) -> u64 {
        self.0.borrow().position
    }

    /// Whether the program stops.
    pub(crate) fn is_over(&self) -> bool {
        self.0.borrow().is_last
    }

    /// Ends every stream.
    pub(crate) fn close(&self) {
        self.0.send_modify(|news| news.is_last = true);
    }
}

/// How often an open stream looks whether its session is still in force.
const LOOK: Duration = Duration::from_secs(10);

/// The stream of one page: the position now, then each later one; several at once are told once. When
/// the session of its page ends, the page is told so, and the stream ends.
pub(crate) async fn events(
    State(app): State<App>,
    Extension(guest): Extension<Guest>,
) -> Sse<impl Stream<Item = Result<Event, Infallible>>> {
    let mut receiver = app.news.listen();
    receiver.mark_changed();
    let told = stream::unfold(Some(receiver), move |receiver| {
        let (app, guest) = (app.clone(), guest.clone());
        async move {
            let mut receiver = receiver?;
            let is_news = loop {
                let changed = tokio::time::timeout(LOOK, receiver.changed()).await;
                if !app.is_still_in(&guest).await {
                    return Some((Ok(no_longer_in()), None));
                }
                if let Ok(changed) = changed {
                    break changed;
                }
            };
            is_news.ok()?;
            let news = *receiver.borrow_and_update();
            if news.is_last {
                return None;
            }
            let position = news.position.to_string();
            let event = Event::default().event("journal").id(position.clone()).data(position);
            Some((Ok(event), Some(receiver)))
        }
    });
    Sse::new(told).keep_alive(KeepAlive::default())
}

fn no_longer_in() -> Event {
    Event::default().event("signed-out").data("sign in")
}

/// The stream of a page whose session has ended.
pub(crate) fn signed_out() -> Sse<impl Stream<Item = Result<Event, Infallible>>> {
    Sse::new(stream::once(async { Ok(no_longer_in()) }))
}
