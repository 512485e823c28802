//! The lines over which pages are asked for. Each has a clock: whoever sends the head of a request byte by
//! byte, or asks for nothing more, is let go, so that nobody holds lines that others need.

use crate::reach::Peer;
use axum::Router;
use axum::body::Body;
use axum::extract::ConnectInfo;
use axum::serve::Listener;
use hyper::body::Incoming;
use hyper::server::conn::http1;
use hyper::service::service_fn;
use hyper_util::rt::{TokioIo, TokioTimer};
use std::net::SocketAddr;
use std::pin::pin;
use std::time::Duration;
use tokio::net::TcpStream;
use tokio::sync::watch;
use tokio::task::JoinSet;
use tower::ServiceExt;

/// How long the head of a request may take from the opening of the line, or from the answer before. Longer
/// than proxies commonly keep an idle line (a minute), so that none of them sends into one that is closing.
pub(crate) const PATIENCE: Duration = Duration::from_secs(65);

/// Serves every line until `stopped`; then what is on its way is finished, and no more is taken.
pub(crate) async fn serve<L>(
    mut listener: L,
    router: Router,
    patience: Duration,
    stopped: impl Future<Output = ()>,
) where
    L: Listener<Addr = SocketAddr>,
{
    let (stop, stopping) = watch::channel(());
    let mut lines = JoinSet::new();
    let mut stopped = pin!(stopped);
    loop {
        let (line, from) = tokio::select! {
            accepted = listener.accept() => accepted,
            // Ended lines are put away as they end.
            Some(_) = lines.join_next() => continue,
            () = &mut stopped => break,
        };
        lines.spawn(talk(line, Peer(from), router.clone(), patience, stopping.clone()));
    }
    drop((listener, stopping));
    // Nobody listens where every line has ended already.
    let _ = stop.send(());
    while lines.join_next().await.is_some() {}
}

/// What is written to a line goes out at once. Otherwise the end of an answer that takes two writes waits
/// until the other side has acknowledged its beginning, which that side puts off by 40 ms (RFC 1122, 4.2.3.2
/// to 4.2.3.4).
pub(crate) fn at_once(line: &mut TcpStream) {
    // A line that cannot be told so works all the same.
    let _ = line.set_nodelay(true);
}

/// Answers what is asked over one line.
async fn talk<I>(
    line: I,
    from: Peer,
    router: Router,
    patience: Duration,
    mut stopping: watch::Receiver<()>,
) where
    I: tokio::io::AsyncRead + tokio::io::AsyncWrite + Unpin + Send + 'static,
{
    let mut rules = http1::Builder::new();
    rules.timer(TokioTimer::new()).header_read_timeout(patience);
    let answer = service_fn(move |request: hyper::Request<Incoming>| {
        let mut request = request.map(Body::new);
        request.extensions_mut().insert(ConnectInfo(from));
        router.clone().oneshot(request)
    });
    let talk = rules.serve_connection(TokioIo::new(line), answer);
    let mut talk = pin!(talk);
    // How a line ends is a matter of the other side: it went away, or was let go.
    tokio::select! {
        _ = &mut talk => return,
        _ = stopping.changed() => talk.as_mut().graceful_shutdown(),
    }
    let _ = talk.await;
}

#[cfg(test)]
mod tests {
    use super::*;
    use axum::routing::{get, post};
    use std::io::{ErrorKind, Read, Write};
    use std::net::TcpStream as Line;
    use std::time::Instant;

    /// Serves what says who asks, and what takes a body, with this patience, while `visit` is there.
    fn served(patience: Duration, visit: impl FnOnce(SocketAddr)) {
        let runtime = tokio::runtime::Builder::new_multi_thread().enable_all().build().unwrap();
        let listener = runtime.block_on(tokio::net::TcpListener::bind("127.0.0.1:0")).unwrap();
        let address = listener.local_addr().unwrap();
        let router = Router::new()
            .route(
                "/",
                get(|ConnectInfo(Peer(from)): ConnectInfo<Peer>| async move { from.to_string() }),
            )
            .route(
                "/slow",
                get(|| async {
                    tokio::time::sleep(Duration::from_millis(600)).await;
                    "late"
                }),
            )
            .route("/body", post(|body: String| async move { body }));
        let (stop, stopped) = tokio::sync::oneshot::channel::<()>();
        let serving = runtime.spawn(serve(listener, router, patience, async {
            let _ = stopped.await;
        }));
        visit(address);
        stop.send(()).unwrap();
        runtime.block_on(serving).unwrap();
    }

    fn opened(address: SocketAddr) -> Line {
        let line = Line::connect(address).unwrap();
        line.set_read_timeout(Some(Duration::from_secs(10))).unwrap();
        line
    }

    fn answer(line: &mut Line) -> String {
        let mut read = String::new();
        line.read_to_string(&mut read).unwrap();
        read
    }

    /// Whether the other side has let go; what it said before is passed over.
    fn is_let_go(line: &mut Line) -> bool {
        let mut rest = Vec::new();
        match line.read_to_end(&mut rest) {
            Ok(_) => true,
            Err(error) => error.kind() == ErrorKind::ConnectionReset,
        }
    }

    #[test]
    fn who_sends_a_head_byte_by_byte_is_let_go_and_others_are_served() {
        served(Duration::from_millis(400), |address| {
            let mut slow = opened(address);
            let begun = Instant::now();
            let mut sent = 0;
            for byte in b"GET / HTTP/1.1\r\nHost: x\r\nX-Slow: ".iter().chain([b'a'; 200].iter()) {
                if slow.write_all(&[*byte]).is_err() || begun.elapsed() > Duration::from_secs(8) {
                    break;
                }
                sent += 1;
                std::thread::sleep(Duration::from_millis(40));
                if sent == 4 {
                    let mut other = opened(address);
                    other
                        .write_all(b"GET / HTTP/1.1\r\nHost: x\r\nConnection: close\r\n\r\n")
                        .unwrap();
                    let from = other.local_addr().unwrap().to_string();
                    assert!(answer(&mut other).ends_with(&from));
                }
            }
            assert!(sent < 200, "a head of {sent} bytes was waited for");
            assert!(is_let_go(&mut slow) && begun.elapsed() < Duration::from_secs(8));
        });
    }

    #[test]
    fn who_asks_nothing_is_let_go() {
        served(Duration::from_millis(300), |address| {
            let mut silent = opened(address);
            assert!(is_let_go(&mut silent));
            // Asked once, and nothing more.
            let mut once = opened(address);
            once.write_all(b"GET / HTTP/1.1\r\nHost: x\r\n\r\n").unwrap();
            let said = answer(&mut once);
            assert!(said.starts_with("HTTP/1.1 200"), "{said}");
        });
    }

    #[test]
    fn an_answer_or_a_body_may_take_longer_than_a_head() {
        served(Duration::from_millis(300), |address| {
            let mut line = opened(address);
            line.write_all(b"GET /slow HTTP/1.1\r\nHost: x\r\nConnection: close\r\n\r\n").unwrap();
            assert!(answer(&mut line).ends_with("late"));
            let mut line = opened(address);
            line.write_all(
                b"POST /body HTTP/1.1\r\nHost: x\r\nConnection: close\r\nContent-Length: 2\r\n\r\na",
            )
            .unwrap();
            std::thread::sleep(Duration::from_millis(700));
            line.write_all(b"b").unwrap();
            assert!(answer(&mut line).ends_with("ab"));
        });
    }

    #[test]
    fn what_is_on_its_way_is_finished_when_it_stops() {
        let mut kept = None;
        served(Duration::from_secs(5), |address| {
            let mut line = opened(address);
            line.write_all(b"GET /slow HTTP/1.1\r\nHost: x\r\n\r\n").unwrap();
            std::thread::sleep(Duration::from_millis(200));
            kept = Some(line);
        });
        // Served to its end, and the line closed behind it, although it would have been kept open.
        assert!(answer(&mut kept.unwrap()).ends_with("late"));
    }
}
