//! The facts themselves: read by place, and told as they come (server-sent events, WHATWG HTML
//! Living Standard, section 9.2). And the files that facts name.

use super::entry::{query, whole};
use super::record::FactGiven;
use super::trouble::{Kind, Trouble};
use super::views::{answered, tagged};
use crate::app::App;
use crate::files;
use crate::live::News;
use axum::extract::{Extension, Path, State};
use axum::http::{HeaderMap, Uri};
use axum::response::Response;
use axum::response::sse::{Event, KeepAlive, Sse};
use futures_util::stream::{self, Stream};
use schemars::JsonSchema;
use serde::Serialize;
use std::collections::VecDeque;
use std::convert::Infallible;
use std::time::Duration;
use stonewear_access::Bearer;
use stonewear_runtime::KeptFact;
use tokio::sync::watch;

/// Facts of one page, where nothing is said.
const USUAL: u64 = 100;
/// The most facts of one page.
const MOST: u64 = 1000;
/// Facts that are read for a stream at once.
const BATCH: usize = 100;
/// A stream is heard of at least so often, so that nobody between takes it for dead.
const HEARTBEAT: Duration = Duration::from_secs(15);

/// Some facts, oldest first.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(rename = "Facts")]
pub(super) struct FactsGiven {
    /// The facts.
    items: Vec<FactGiven>,
    /// What to send as `after` for the next page; absent on the last.
    next: Option<String>,
    /// The last place in the journal.
    position: u64,
}

/// Facts behind a place: `/facts?after=120&limit=50`.
pub(super) async fn list(
    State(app): State<App>,
    uri: Uri,
    headers: HeaderMap,
) -> Result<Response, Trouble> {
    let [after, limit] = query(&uri, ["after", "limit"])?;
    let after = whole("after", after.as_deref(), 0, 0..=i64::MAX as u64)?;
    let limit = whole("limit", limit.as_deref(), USUAL, 1..=MOST)?;
    let laboratory = app.read();
    if let Some(unchanged) = tagged(&laboratory, &headers) {
        return Ok(unchanged);
    }
    let most = usize::try_from(limit).unwrap_or(usize::MAX);
    let facts = laboratory.facts_after(after, most)?;
    let position = laboratory.head().position;
    let next = facts.last().map(|last| last.position).filter(|last| *last < position);
    let page = FactsGiven {
        items: facts.into_iter().map(FactGiven::from).collect(),
        next: next.map(|next| next.to_string()),
        position,
    };
    Ok(answered(&laboratory, &page, true))
}

/// The fact at a place.
pub(super) async fn one(
    State(app): State<App>,
    Path(typed): Path<String>,
    uri: Uri,
    headers: HeaderMap,
) -> Result<Response, Trouble> {
    let [] = query(&uri, [])?;
    let laboratory = app.read();
    let wanted = whole("position", Some(&typed), 0, 1..=i64::MAX as u64).ok();
    let facts = match wanted {
        Some(wanted) => laboratory.facts_at(&[wanted])?,
        None => Vec::new(),
    };
    let Some(fact) = facts.into_iter().next() else {
        let last = laboratory.head().position;
        let words = format!("there is no fact at “{typed}”; the journal ends with {last}");
        return Err(Trouble::new(Kind::NotFound, words));
    };
    if let Some(unchanged) = tagged(&laboratory, &headers) {
        return Ok(unchanged);
    }
    Ok(answered(&laboratory, &FactGiven::from(fact), true))
}

/// An attached file, as the kind that its fact says.
pub(super) async fn file(
    State(app): State<App>,
    Path(hash): Path<String>,
    uri: Uri,
) -> Result<Response, Trouble> {
    let [] = query(&uri, [])?;
    let none = || Trouble::new(Kind::NotFound, "no fact names a file with this hash");
    match files::read_attached(&app, &hash).await {
        Ok(Some(response)) => Ok(response),
        Ok(None) => Err(none()),
        Err(words) => Err(Trouble::not_recorded(words)),
    }
}

/// What one listener still has to be told.
struct Listener {
    app: App,
    bearer: Bearer,
    news: watch::Receiver<News>,
    told: u64,
    waiting: VecDeque<KeptFact>,
}

impl Listener {
    /// The next fact, as soon as there is one; nothing when the program stops or the token is
    /// revoked.
    async fn next(&mut self) -> Option<KeptFact> {
        loop {
            if let Some(fact) = self.waiting.pop_front() {
                self.told = fact.position;
                return Some(fact);
            }
            if self.news.borrow_and_update().is_last() {
                return None;
            }
            let (app, told) = (self.app.clone(), self.told);
            let token = self.bearer.token.clone();
            let read = tokio::task::spawn_blocking(move || {
                let laboratory = app.read();
                let access = app.access.as_ref().ok()?;
                let may = access.is_in_force(&token, laboratory.now()).ok()?;
                may.then(|| laboratory.facts_after(told, BATCH).ok()).flatten()
            });
            self.waiting = read.await.ok()??.into();
            if self.waiting.is_empty() {
                self.news.changed().await.ok()?;
            }
        }
    }
}

/// Every fact as it comes: `/facts/events`. After a break the stream goes on behind the place that
/// `Last-Event-ID` names; `?after=0` begins with the first fact, nothing with the next that comes.
pub(super) async fn events(
    State(app): State<App>,
    Extension(bearer): Extension<Bearer>,
    uri: Uri,
    headers: HeaderMap,
) -> Result<Sse<impl Stream<Item = Result<Event, Infallible>>>, Trouble> {
    let [after] = query(&uri, ["after"])?;
    let last = headers.get("last-event-id").map(|value| value.to_str().unwrap_or_default());
    let news = app.news.listen();
    let head = app.read().head().position;
    // A browser that comes back says what it had last, whatever its address says.
    let told = match last.filter(|last| !last.is_empty()) {
        Some(last) => whole("Last-Event-ID", Some(last), head, 0..=i64::MAX as u64)?,
        None => whole("after", after.as_deref(), head, 0..=i64::MAX as u64)?,
    };
    let listener = Listener { app, bearer, news, told, waiting: VecDeque::new() };
    let facts = stream::unfold(listener, |mut listener| async move {
        let fact = FactGiven::from(listener.next().await?);
        let place = fact.position.unwrap_or_default().to_string();
        let data = serde_json::to_string(&fact).unwrap_or_default();
        Some((Ok(Event::default().event("fact").id(place).data(data)), listener))
    });
    // The first line goes out at once, so that the listener knows that it is heard.
    let hello = stream::once(async { Ok(Event::default().comment("listening")) });
    let all = futures_util::StreamExt::chain(hello, facts);
    Ok(Sse::new(all).keep_alive(KeepAlive::new().interval(HEARTBEAT).text("still here")))
}
