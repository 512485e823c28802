//! Facts as they come.

use super::program::{Program, json, problem, sample};
use crate::site::Site;
use axum::body::{Body, BodyDataStream};
use axum::http::Method;
use futures_util::StreamExt;
use serde_json::Value;
use std::time::Duration;
use stonewear_access::{Access, Scope};
use tower::ServiceExt;

/// One event: its id and its data.
type Heard = (String, Value);

struct Listening {
    stream: BodyDataStream,
    rest: String,
}

impl Listening {
    async fn to(site: &Site, token: &str, query: &str, last: Option<&str>) -> Self {
        let mut request = axum::http::Request::builder()
            .method(Method::GET)
            .uri(format!("/api/v1/facts/events{query}"))
            .header("host", "127.0.0.1:7640")
            .header("authorization", format!("Bearer {token}"));
        if let Some(last) = last {
            request = request.header("last-event-id", last);
        }
        let response = site.router().oneshot(request.body(Body::empty()).unwrap()).await.unwrap();
        assert_eq!(response.status(), 200);
        assert_eq!(response.headers()["content-type"], "text/event-stream");
        Self { stream: response.into_body().into_data_stream(), rest: String::new() }
    }

    /// The next event; nothing when the stream ends.
    async fn next(&mut self) -> Option<Heard> {
        // In all: a heartbeat alone is no event.
        let heard = tokio::time::timeout(Duration::from_secs(20), self.next_at_last());
        heard.await.expect("something is heard in time")
    }

    async fn next_at_last(&mut self) -> Option<Heard> {
        loop {
            while let Some((block, rest)) = self.rest.split_once("\n\n") {
                let block = block.to_owned();
                self.rest = rest.to_owned();
                let field = |name: &str| {
                    block
                        .lines()
                        .find_map(|line| line.strip_prefix(name).map(str::trim).map(str::to_owned))
                };
                if let (Some(event), Some(id), Some(data)) =
                    (field("event:"), field("id:"), field("data:"))
                {
                    assert_eq!(event, "fact");
                    return Some((id, serde_json::from_str(&data).unwrap()));
                }
            }
            let bytes = self.stream.next().await?.unwrap();
            self.rest.push_str(std::str::from_utf8(&bytes).unwrap());
        }
    }
}

fn together<T>(work: impl Future<Output = T>) -> T {
    tokio::runtime::Builder::new_current_thread().enable_all().build().unwrap().block_on(work)
}

#[test]
fn a_listener_hears_what_was_and_what_comes() {
    let site = Site::founded();
    let program = Program::new(&site, "AB", Scope::Record);
    together(async {
        let mut all = Listening::to(&site, &program.token, "?after=0", None).await;
        assert_eq!(all.next().await.unwrap().1["kind"], "laboratory-founded");
        assert_eq!(all.next().await.unwrap().0, "2");
        let mut new = Listening::to(&site, &program.token, "", None).await;
        // Recorded from another thread, as from another connection.
        let receipt = std::thread::scope(|scope| {
            scope.spawn(|| json(&program.ask("receive-sample", &sample("bench 1")))).join().unwrap()
        });
        for listening in [&mut all, &mut new] {
            let (id, fact) = listening.next().await.unwrap();
            assert_eq!((id.as_str(), &fact), ("3", &receipt["facts"][0]));
        }
    });
}

#[test]
fn after_a_break_it_goes_on_behind_the_last_that_was_heard() {
    let site = Site::founded();
    let program = Program::new(&site, "AB", Scope::Record);
    for bench in 1..=3 {
        program.ask("receive-sample", &sample(&format!("bench {bench}")));
    }
    together(async {
        let mut listening = Listening::to(&site, &program.token, "?after=0", Some("3")).await;
        let heard = [listening.next().await.unwrap().0, listening.next().await.unwrap().0];
        assert_eq!(heard, ["4", "5"]);
    });
    let wrong = program.request(Method::GET, "/facts/events").header("last-event-id", "the last");
    problem(&site.send(wrong.body(Body::empty()).unwrap()), 400, "malformed");
}

#[test]
fn a_revoked_token_hears_nothing_more() {
    let site = Site::founded();
    let program = Program::new(&site, "AB", Scope::Record);
    let listener = Program::new(&site, "AB", Scope::Read);
    together(async {
        let mut listening = Listening::to(&site, &listener.token, "?after=1", None).await;
        assert_eq!(listening.next().await.unwrap().0, "2");
        let access = Access::open(site.folder()).unwrap();
        access.revoke_token("T-2", "AB", "2026-11-26T09:00:00Z".parse().unwrap()).unwrap();
        std::thread::scope(|scope| {
            scope.spawn(|| program.ask("receive-sample", &sample("bench 1"))).join().unwrap()
        });
        assert_eq!(listening.next().await, None, "the stream ends");
    });
}
