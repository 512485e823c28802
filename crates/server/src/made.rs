//! Pages that were made a moment ago, for whoever asks for the same.
//!
//! A page follows from the laboratory, its address and who sits there. When a fact is recorded every
//! tablet that shows something asks for it anew at once; so each page is made once, and once more
//! when the next fact comes or its second is over. Two things are given anew with every answer: the
//! key that makes a form happen once, and the clock that a run's time is counted by.

use crate::look::Mode;
use crate::page::Seat;
use crate::signing::Signing;
use axum::body::{Bytes, HttpBody};
use axum::http::Uri;
use http_body::{Frame, SizeHint};
use jiff::Timestamp;
use std::collections::{HashMap, VecDeque};
use std::convert::Infallible;
use std::pin::Pin;
use std::sync::{Arc, Mutex, OnceLock, PoisonError};
use std::task::{Context, Poll};
use std::time::{Duration, Instant};
use stonewear_language::Language;

/// What a page says of the time is at most so old.
const LASTS: Duration = Duration::from_secs(1);
/// So many pages are kept at once,
const MOST_PAGES: usize = 500;
/// and so much of them.
const MOST_BYTES: usize = 16 * 1024 * 1024;

/// Pieces of a page that are shorter are copied for each answer.
const SHORT: usize = 8 * 1024;

/// What a page is made for.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub(crate) struct Asked {
    address: String,
    code: String,
    mode: Mode,
    language: Language,
    signing: Signing,
}

impl Asked {
    /// `None` for a page that shows more than the laboratory: what of it is signed, where its copies
    /// are, whether its journal is intact, which programs may come in, how others stand.
    pub(crate) fn of(uri: &Uri, seat: &Seat) -> Option<Self> {
        (!matches!(uri.path(), "/journal" | "/programs" | "/network")).then(|| Self {
            address: uri.to_string(),
            code: seat.code.clone(),
            mode: seat.mode,
            language: seat.language,
            signing: seat.signing,
        })
    }
}

/// What is put into a page with every answer.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Anew {
    Key,
    Now,
}

/// What stands before a value that is given anew. No text that anybody typed can look like it: there
/// a quotation mark is escaped.
const BEFORE: [(&str, Anew); 2] =
    [("name=\"_key\" value=\"", Anew::Key), (" data-now=\"", Anew::Now)];

/// A page without what is given anew.
#[derive(Debug)]
pub(crate) struct Made {
    pieces: Vec<(Bytes, Anew)>,
    end: Bytes,
}

impl Made {
    /// A page as it was made, whose own key and clock are not used.
    pub(crate) fn of(page: String) -> Self {
        let page = Bytes::from(page);
        let (mut pieces, mut from) = (Vec::new(), 0);
        while let Ok(rest) = std::str::from_utf8(&page[from..]) {
            let next = BEFORE
                .iter()
                .filter_map(|(before, anew)| Some((rest.find(before)? + before.len(), *anew)))
                .min_by_key(|(at, _)| *at);
            let Some((at, anew)) = next else { break };
            let Some(end) = rest[at..].find('"') else { break };
            pieces.push((page.slice(from..from + at), anew));
            from += at + end;
        }
        Self { pieces, end: page.slice(from..) }
    }

    /// The page for one answer: the same memory for all, and between it what is their own. What is short
    /// is copied together: to send it by itself costs more.
    pub(crate) fn answer(&self, now: Timestamp) -> Pieces {
        let now = now.to_string();
        let (mut pieces, mut short) = (VecDeque::new(), Vec::new());
        for (piece, anew) in &self.pieces {
            add(&mut pieces, &mut short, piece);
            match anew {
                Anew::Key => short.extend_from_slice(uuid::Uuid::new_v4().to_string().as_bytes()),
                Anew::Now => short.extend_from_slice(now.as_bytes()),
            }
        }
        add(&mut pieces, &mut short, &self.end);
        if !short.is_empty() {
            pieces.push_back(Bytes::from(short));
        }
        Pieces(pieces)
    }

    fn len(&self) -> usize {
        self.pieces.iter().map(|(piece, _)| piece.len()).sum::<usize>() + self.end.len()
    }
}

/// Puts a piece behind the others: by itself, or with the short ones before it.
fn add(pieces: &mut VecDeque<Bytes>, short: &mut Vec<u8>, piece: &Bytes) {
    if piece.len() < SHORT {
        short.extend_from_slice(piece);
        return;
    }
    if !short.is_empty() {
        pieces.push_back(Bytes::from(std::mem::take(short)));
    }
    pieces.push_back(piece.clone());
}

/// The body of an answer, piece by piece.
#[derive(Debug)]
pub(crate) struct Pieces(VecDeque<Bytes>);

impl HttpBody for Pieces {
    type Data = Bytes;
    type Error = Infallible;

    fn poll_frame(
        mut self: Pin<&mut Self>,
        _: &mut Context<'_>,
    ) -> Poll<Option<Result<Frame<Bytes>, Infallible>>> {
        Poll::Ready(self.0.pop_front().map(|piece| Ok(Frame::data(piece))))
    }

    fn is_end_stream(&self) -> bool {
        self.0.is_empty()
    }

    fn size_hint(&self) -> SizeHint {
        SizeHint::with_exact(self.0.iter().map(|piece| piece.len() as u64).sum())
    }
}

/// A page that is being made, or was; none where there is no such page.
type Slot = Arc<OnceLock<Option<Made>>>;

#[derive(Debug)]
struct Pages {
    position: u64,
    since: Instant,
    bytes: usize,
    slots: HashMap<Asked, Slot>,
}

/// The pages of this moment, shared by all handlers.
#[derive(Debug, Clone)]
pub(crate) struct Moment(Arc<Mutex<Pages>>);

impl Default for Moment {
    fn default() -> Self {
        let pages = Pages { position: 0, since: Instant::now(), bytes: 0, slots: HashMap::new() };
        Self(Arc::new(Mutex::new(pages)))
    }
}

impl Moment {
    /// The page for one answer: made by `make`, or by who asked for the same before. Who asks while
    /// it is being made waits for it.
    pub(crate) fn page(
        &self,
        asked: Asked,
        position: u64,
        now: Timestamp,
        make: impl FnOnce() -> Option<String>,
    ) -> Option<Pieces> {
        let slot = self.slot(asked, position);
        let mut made_now = 0;
        let made = slot.get_or_init(|| {
            let page = make().map(Made::of);
            made_now = page.as_ref().map_or(0, Made::len);
            page
        });
        if made_now > 0 {
            self.0.lock().unwrap_or_else(PoisonError::into_inner).bytes += made_now;
        }
        made.as_ref().map(|made| made.answer(now))
    }

    fn slot(&self, asked: Asked, position: u64) -> Slot {
        let mut pages = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        let is_over = pages.position != position || pages.since.elapsed() >= LASTS;
        if is_over || pages.slots.len() >= MOST_PAGES || pages.bytes >= MOST_BYTES {
            *pages = Pages { position, since: Instant::now(), bytes: 0, slots: HashMap::new() };
        }
        pages.slots.entry(asked).or_default().clone()
    }
}

#[cfg(test)]
mod tests {
    use super::{Asked, Made, Moment, Pieces};
    use crate::page::Seat;
    use axum::body::HttpBody;
    use std::cell::Cell;

    const PAGE: &str = "<body data-now=\"2026-11-02T08:00:00Z\"><form><input type=\"hidden\" name=\"_key\" value=\"one\"></form>\
                        <p>name=&quot;_key&quot; value=&quot;typed</p><form><input name=\"_key\" value=\"two\"></form></body>";

    fn asked(path: &str, code: &str) -> Asked {
        let seat = Seat { code: code.to_owned(), ..Seat::default() };
        Asked::of(&path.parse().unwrap(), &seat).unwrap()
    }

    /// What a browser reads.
    fn text(pieces: Pieces) -> String {
        let size = pieces.size_hint().exact().unwrap();
        let bytes: Vec<u8> = pieces.0.iter().flatten().copied().collect();
        assert_eq!(bytes.len() as u64, size);
        String::from_utf8(bytes).unwrap()
    }

    #[test]
    fn every_answer_has_keys_and_a_clock_of_its_own() {
        let made = Made::of(PAGE.to_owned());
        let now = "2026-11-02T08:00:01Z".parse().unwrap();
        let (first, second) = (text(made.answer(now)), text(made.answer(now)));
        assert_ne!(first, second);
        for page in [&first, &second] {
            assert!(page.starts_with("<body data-now=\"2026-11-02T08:00:01Z\"><form>"), "{page}");
            assert!(page.contains("<p>name=&quot;_key&quot; value=&quot;typed</p>"), "{page}");
            assert!(page.ends_with("\"></form></body>"), "{page}");
            assert!(!page.contains("\"one\"") && !page.contains("\"two\""), "{page}");
        }
        let keys: Vec<&str> = first.split("value=\"").skip(1).map(|rest| &rest[..36]).collect();
        assert_eq!(keys.len(), 2);
        assert_ne!(keys[0], keys[1]);
        assert!(keys.iter().all(|key| uuid::Uuid::parse_str(key).is_ok()), "{keys:?}");
    }

    #[test]
    fn short_pieces_are_sent_together_and_long_ones_are_not_copied() {
        let now = "2026-11-02T08:00:01Z".parse().unwrap();
        assert_eq!(Made::of(PAGE.to_owned()).answer(now).0.len(), 1);
        let long = format!("<p>{}</p>{PAGE}<p>{}</p>", "a".repeat(20_000), "b".repeat(20_000));
        let made = Made::of(long);
        let (one, other) = (made.answer(now).0, made.answer(now).0);
        assert_eq!(one.len(), 3);
        assert_eq!(one[0].as_ptr(), other[0].as_ptr(), "the same memory");
        assert_ne!(one[1], other[1], "keys of its own");
        assert_eq!(one[2].as_ptr(), other[2].as_ptr());
    }

    #[test]
    fn a_page_is_made_once_for_one_person_until_the_next_fact() {
        let (moment, times) = (Moment::default(), Cell::new(0));
        let ask = |path: &str, code: &str, position: u64| {
            let now = "2026-11-02T08:00:00Z".parse().unwrap();
            let page = moment.page(asked(path, code), position, now, || {
                times.set(times.get() + 1);
                (path != "/nowhere").then(|| format!("{path} for {code} at {position}"))
            });
            page.map(text)
        };
        assert_eq!(ask("/samples", "IK", 7).as_deref(), Some("/samples for IK at 7"));
        ask("/samples", "IK", 7);
        assert_eq!(times.get(), 1);
        // Another person, another address, another state: another page.
        assert_eq!(ask("/samples", "DO", 7).as_deref(), Some("/samples for DO at 7"));
        assert_eq!(ask("/samples?leaf=2", "IK", 7).as_deref(), Some("/samples?leaf=2 for IK at 7"));
        assert_eq!(ask("/samples", "IK", 8).as_deref(), Some("/samples for IK at 8"));
        assert_eq!(ask("/nowhere", "IK", 8), None);
        assert_eq!(times.get(), 5);
        std::thread::sleep(super::LASTS);
        ask("/samples", "IK", 8);
        assert_eq!(times.get(), 6);
    }

    #[test]
    fn what_is_not_of_the_laboratory_alone_is_made_anew() {
        assert!(Asked::of(&"/journal?verify=now".parse().unwrap(), &Seat::default()).is_none());
    }
}
