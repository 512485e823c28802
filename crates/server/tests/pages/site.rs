//! A laboratory's site without a socket, used as a browser would: paths, forms, one seat.

use crate::markup;
use axum::Router;
use axum::body::Body;
use axum::http::{HeaderMap, Request, StatusCode};
use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Arc;
use stonewear_access::Code;
use stonewear_report::{Labels, Sheet, TestReport, Text, TypesetError, Typesetter};
use stonewear_runtime::{Clock, Decided, OpenLaboratory};
use stonewear_server::Reach;
use tempfile::TempDir;
use tokio::runtime::Runtime;
use tower::ServiceExt;

/// A typesetter that only says which paper it was asked for, and what stands on it.
pub(crate) struct Words;

impl Typesetter for Words {
    fn labels(&self, labels: &Labels) -> Result<Vec<u8>, TypesetError> {
        let codes = labels.labels.iter().map(|label| label.scanned.as_str());
        Ok(codes.collect::<Vec<_>>().join("\n").into_bytes())
    }

    fn test_report(&self, report: &TestReport) -> Result<Vec<u8>, TypesetError> {
        Ok(format!("%PDF of {}\n{}", report.number, texts_of(report)).into_bytes())
    }

    fn sheet(&self, sheet: &Sheet) -> Result<Vec<u8>, TypesetError> {
        Ok(format!("%PDF of {}: {}\n{}", sheet.kind, sheet.title, texts_of(sheet)).into_bytes())
    }
}

/// The texts of a paper that are ours to say, as markup.
fn texts_of(paper: &impl serde::Serialize) -> String {
    let mut markup = String::new();
    stonewear_report::each_text(
        &mut serde_json::to_value(paper).unwrap(),
        &mut |text| match text {
            Text::Words(words) => {
                markup.push_str(&maud::html! { p { (words.as_str()) } }.into_string());
            }
            Text::Drawing(svg) => markup.push_str(svg),
        },
    );
    markup
}

/// A laboratory that was closed; an invented one goes on at the time of its last fact.
fn opened_again(folder: &Path) -> OpenLaboratory {
    let mut laboratory = OpenLaboratory::open(folder).unwrap();
    if laboratory.lab().identity.as_ref().is_some_and(|identity| identity.invented) {
        laboratory.set_clock(Clock::going_on_from(laboratory.last_at()));
    }
    laboratory
}

/// What came back.
#[derive(Debug)]
pub(crate) struct Answer {
    pub(crate) status: StatusCode,
    pub(crate) headers: HeaderMap,
    pub(crate) body: String,
}

impl Answer {
    pub(crate) fn header(&self, name: &str) -> &str {
        self.headers.get(name).map_or("", |value| value.to_str().unwrap())
    }

    /// Where it leads to, without its query.
    pub(crate) fn onward(&self) -> &str {
        assert_eq!(self.status, StatusCode::SEE_OTHER, "{}", self.body);
        self.header("location").split('?').next().unwrap()
    }

    /// The words of the page, without its marks.
    pub(crate) fn text(&self) -> String {
        let mut text = String::new();
        let mut is_tag = false;
        for letter in self.body.chars() {
            match letter {
                '<' => is_tag = true,
                '>' => is_tag = false,
                other if !is_tag => text.push(other),
                _ => {}
            }
        }
        markup::plain(&text)
    }

    /// Holds that the page is as any page must be.
    #[track_caller]
    pub(crate) fn is_a_good_page(&self) {
        let faults = markup::faults(&self.body);
        assert!(faults.is_empty(), "{faults:#?}\n{}", self.body);
    }
}

async fn answered(router: Router, request: Request<Body>) -> Answer {
    let response = router.oneshot(request).await.unwrap();
    let (parts, body) = response.into_parts();
    let bytes = axum::body::to_bytes(body, usize::MAX).await.unwrap();
    Answer {
        status: parts.status,
        headers: parts.headers,
        body: String::from_utf8_lossy(&bytes).into_owned(),
    }
}

/// A site and the folder that it keeps its laboratory in.
pub(crate) struct Site {
    /// What ends the telling of webhooks, where there is some.
    end: Option<Box<dyn FnOnce() + Send + Sync>>,
    router: Router,
    runtime: Runtime,
    /// Who sits here.
    pub(crate) seat: String,
    /// The language chosen here; empty while nobody has.
    pub(crate) language: String,
    /// The languages that the browser prefers.
    pub(crate) accepts: String,
    /// What the browser holds for this laboratory, by the names of its cookies.
    pub(crate) held: BTreeMap<String, String>,
    folder: TempDir,
}

impl Site {
    /// Over a laboratory that nobody has founded.
    pub(crate) fn empty() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let laboratory = OpenLaboratory::open(folder.path()).unwrap();
        Self::over(laboratory, folder, "")
    }

    /// Founded by Ada Brook, AB, who may do everything.
    pub(crate) fn founded() -> Self {
        let mut site = Self::empty();
        let answer = site.post("/", &FOUNDING);
        assert_eq!(answer.onward(), "/");
        site.seat = "AB".to_owned();
        site
    }

    /// The demo laboratory, with its manager at the bench.
    pub(crate) fn demo() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let mut laboratory = demo_in(folder.path());
        laboratory.set_clock(Clock::going_on_from(laboratory.last_at()));
        Self::over(laboratory, folder, "IK")
    }

    /// The demo laboratory after one byte of its journal has changed on the disk.
    pub(crate) fn damaged(position: i64) -> Self {
        let folder = tempfile::tempdir().unwrap();
        drop(demo_in(folder.path()));
        damage(folder.path(), position);
        let laboratory = OpenLaboratory::open_whatever_its_state(folder.path()).unwrap();
        Self::over(laboratory, folder, "IK")
    }

    fn over(laboratory: OpenLaboratory, folder: TempDir, seat: &str) -> Self {
        Self::reached(laboratory, folder, seat, Reach::Loopback, None)
    }

    /// The same laboratory, served in another way.
    pub(crate) fn served(self, reach: Reach, first_code: Option<Code>) -> Self {
        let Self { router, runtime, seat, folder, .. } = self;
        drop(router);
        drop(runtime);
        Self::reached(opened_again(folder.path()), folder, &seat, reach, first_code)
    }

    /// The same laboratory, where an organisation vouches for people.
    pub(crate) fn vouched_by(self, organisation: stonewear_server::Organisation) -> Self {
        let Self { router, runtime, seat, folder, held, .. } = self;
        drop(router);
        drop(runtime);
        let laboratory = opened_again(folder.path());
        let router = stonewear_server::router_vouched_by(laboratory, Arc::new(Words), organisation);
        Self { held, ..Self::of(router, folder, &seat) }
    }

    fn reached(
        laboratory: OpenLaboratory,
        folder: TempDir,
        seat: &str,
        reach: Reach,
        first_code: Option<Code>,
    ) -> Self {
        let router = stonewear_server::router(laboratory, Arc::new(Words), reach, first_code);
        Self::of(router, folder, seat)
    }

    fn of(router: Router, folder: TempDir, seat: &str) -> Self {
        Self {
            end: None,
            router,
            runtime: tokio::runtime::Builder::new_current_thread().build().unwrap(),
            seat: seat.to_owned(),
            language: String::new(),
            accepts: String::new(),
            held: BTreeMap::new(),
            folder,
        }
    }

    /// The same laboratory after the program was stopped and started again.
    pub(crate) fn restarted(self) -> Self {
        let Self { end, router, runtime, seat, folder, .. } = self;
        if let Some(end) = end {
            end();
        }
        drop(router);
        drop(runtime);
        let laboratory = OpenLaboratory::open(folder.path()).unwrap();
        Self::over(laboratory, folder, &seat)
    }

    /// Founded, and webhooks are told of what is recorded.
    pub(crate) fn founded_with_hooks() -> Self {
        Self::founded().restarted_with_hooks()
    }

    /// Restarted, and webhooks are told of what is recorded.
    pub(crate) fn restarted_with_hooks(self) -> Self {
        let Self { router, runtime, seat, language, accepts, held, folder, .. } = self.restarted();
        drop(router);
        let laboratory = OpenLaboratory::open(folder.path()).unwrap();
        let (router, end) = stonewear_server::router_with_hooks(laboratory, Arc::new(Words));
        Self { end: Some(Box::new(end)), router, runtime, seat, language, accepts, held, folder }
    }

    /// Where its laboratory is kept.
    pub(crate) fn folder(&self) -> &Path {
        self.folder.path()
    }

    /// Its routes, for what is asked from several threads.
    pub(crate) fn router(&self) -> Router {
        self.router.clone()
    }

    /// A specimen of the demo laboratory that alone makes a result, and that result.
    pub(crate) fn a_finished_specimen(&self) -> (String, String) {
        let results = self.get("/results");
        let result = markup::links(&results.body)
            .into_iter()
            .find_map(|link| link.strip_prefix("/results/").map(str::to_owned))
            .unwrap();
        let page = self.get(&format!("/results/{result}"));
        let specimen = markup::links(&page.body)
            .into_iter()
            .find_map(|link| link.strip_prefix("/specimens/").map(str::to_owned))
            .unwrap();
        (specimen, result)
    }

    /// The loss that the page of a result shows, without its unit.
    pub(crate) fn loss_of(&self, result: &str) -> String {
        let page = self.get(&format!("/results/{result}")).body;
        let (_, hero) = page.split_once("<p class=\"hero-number\">").unwrap();
        hero.split('<').next().unwrap().trim().to_owned()
    }

    /// Sends a request as it is.
    pub(crate) fn send(&self, request: Request<Body>) -> Answer {
        self.runtime.block_on(answered(self.router.clone(), request))
    }

    /// Sends forms as many tablets would at once; the answers in their order.
    pub(crate) fn post_at_once(&self, path: &str, forms: &[Vec<(&str, &str)>]) -> Vec<Answer> {
        self.runtime.block_on(async {
            let asked: Vec<_> = forms
                .iter()
                .map(|fields| {
                    tokio::spawn(answered(self.router.clone(), self.form(path, fields, &[])))
                })
                .collect();
            let mut answers = Vec::new();
            for one in asked {
                answers.push(one.await.unwrap());
            }
            answers
        })
    }

    fn cookies(&self) -> String {
        let mut cookies =
            format!("stonewear-person={}; stonewear-language={}", self.seat, self.language);
        for (name, value) in &self.held {
            cookies.push_str(&format!("; {name}={value}"));
        }
        cookies
    }

    /// Every fact of the journal, as JSON.
    pub(crate) fn journal(&self) -> Vec<serde_json::Value> {
        let journal =
            rusqlite::Connection::open(self.folder.path().join("journal.sqlite")).unwrap();
        let mut entries = journal.prepare("SELECT canonical FROM entry ORDER BY position").unwrap();
        let rows = entries.query_map([], |row| row.get::<_, Vec<u8>>(0)).unwrap();
        rows.map(|bytes| serde_json::from_slice(&bytes.unwrap()).unwrap()).collect()
    }

    /// Keeps what an answer lets the browser hold, as a browser does.
    pub(crate) fn hold(&mut self, answer: &Answer) {
        for cookie in answer.headers.get_all("set-cookie") {
            let cookie = cookie.to_str().unwrap();
            let (name, rest) = cookie.split_once('=').unwrap();
            let value = rest.split(';').next().unwrap();
            if cookie.contains("Max-Age=0") {
                self.held.remove(name);
            } else {
                self.held.insert(name.to_owned(), value.to_owned());
            }
        }
    }

    pub(crate) fn get(&self, path: &str) -> Answer {
        let request = Request::get(path)
            .header("host", "127.0.0.1:7640")
            .header("accept", "text/html,*/*;q=0.8")
            .header("cookie", self.cookies())
            .header("accept-language", &self.accepts);
        self.send(request.body(Body::empty()).unwrap())
    }

    pub(crate) fn post(&self, path: &str, fields: &[(&str, &str)]) -> Answer {
        self.post_with(path, fields, &[])
    }

    /// As the page's own script sends a form.
    pub(crate) fn post_by_script(&self, path: &str, fields: &[(&str, &str)]) -> Answer {
        self.post_with(path, fields, &[("stonewear-sent", "yes")])
    }

    fn post_with(&self, path: &str, fields: &[(&str, &str)], headers: &[(&str, &str)]) -> Answer {
        self.send(self.form(path, fields, headers))
    }

    fn form(&self, path: &str, fields: &[(&str, &str)], headers: &[(&str, &str)]) -> Request<Body> {
        let body = form_urlencoded::Serializer::new(String::new()).extend_pairs(fields).finish();
        let request = Request::post(path)
            .header("host", "127.0.0.1:7640")
            .header("origin", "http://127.0.0.1:7640")
            .header("cookie", self.cookies())
            .header("content-type", "application/x-www-form-urlencoded");
        let request =
            headers.iter().fold(request, |request, (name, value)| request.header(*name, *value));
        request.body(Body::from(body)).unwrap()
    }

    /// Sends a form with files, as a browser does: the fields, then each file by name and bytes.
    pub(crate) fn send_files(&self, fields: &[(&str, &str)], files: &[(&str, &[u8])]) -> Answer {
        self.send_files_to("/attach", fields, files)
    }

    /// Sends a form with files to a path.
    pub(crate) fn send_files_to(
        &self,
        path: &str,
        fields: &[(&str, &str)],
        files: &[(&str, &[u8])],
    ) -> Answer {
        const BOUNDARY: &str = "invented-boundary";
        let mut body = Vec::new();
        for (name, value) in fields {
            let part = format!(
                "--{BOUNDARY}\r\nContent-Disposition: form-data; name=\"{name}\"\r\n\r\n{value}\r\n"
            );
            body.extend(part.into_bytes());
        }
        for (name, bytes) in files {
            // Whatever it is, this browser claims that it is a picture.
            let head = format!(
                "--{BOUNDARY}\r\nContent-Disposition: form-data; name=\"file\"; \
                 filename=\"{name}\"\r\nContent-Type: image/png\r\n\r\n"
            );
            body.extend(head.into_bytes());
            body.extend_from_slice(bytes);
            body.extend(b"\r\n");
        }
        body.extend(format!("--{BOUNDARY}--\r\n").into_bytes());
        let request = Request::post(path)
            .header("host", "127.0.0.1:7640")
            .header("origin", "http://127.0.0.1:7640")
            .header("cookie", self.cookies())
            .header("content-type", format!("multipart/form-data; boundary={BOUNDARY}"));
        self.send(request.body(Body::from(body)).unwrap())
    }

    /// Does something to the kept files, past every trigger, as a fault of a disk would.
    pub(crate) fn tamper_with_files(&self, trigger: &str, statement: &str) {
        let path = self.folder.path().join("journal.sqlite");
        let connection = rusqlite::Connection::open(path).unwrap();
        connection.execute_batch(&format!("DROP TRIGGER {trigger}; {statement}")).unwrap();
    }

    /// How many facts the journal has, as the foot of every page says.
    pub(crate) fn facts(&self) -> u64 {
        let text = self.get("/journal").text();
        let (_, after) =
            text.split_once("Journal: ").expect("the foot says how far the journal is");
        after.split(' ').next().unwrap().parse().unwrap()
    }
}

/// The form that founds a laboratory.
pub(crate) const FOUNDING: [(&str, &str); 5] = [
    ("request", "found-laboratory"),
    ("name", "Invented laboratory"),
    ("address", "1 Invented Street"),
    ("founder_code", "AB"),
    ("founder_name", "Ada Brook"),
];

fn demo_in(folder: &Path) -> OpenLaboratory {
    let mut laboratory = OpenLaboratory::open(folder).unwrap();
    let batches = stonewear_demo::scenario(
        stonewear_demo::SEED,
        laboratory.methods(),
        laboratory.procedures(),
    )
    .unwrap();
    let decided: Vec<Decided<'_>> = batches
        .iter()
        .map(|batch| Decided { at: batch.at, by: &batch.by, key: &batch.key, facts: &batch.facts })
        .collect();
    for (_, bytes) in stonewear_demo::files() {
        laboratory.keep_file(&bytes).unwrap();
    }
    laboratory.record(&decided).unwrap();
    laboratory
}

/// Changes one byte of a stored entry, past every trigger, as a fault of a disk would.
fn damage(folder: &Path, position: i64) {
    let connection = rusqlite::Connection::open(folder.join("journal.sqlite")).unwrap();
    let triggers: Vec<String> = connection
        .prepare("SELECT name FROM sqlite_master WHERE type = 'trigger'")
        .unwrap()
        .query_map([], |row| row.get(0))
        .unwrap()
        .collect::<Result<_, _>>()
        .unwrap();
    for trigger in triggers {
        connection.execute_batch(&format!("DROP TRIGGER {trigger}")).unwrap();
    }
    let mut stored: Vec<u8> = connection
        .query_row("SELECT canonical FROM entry WHERE position = ?1", [position], |row| row.get(0))
        .unwrap();
    // Somewhere inside a text, so that the entry is still read, and only its hash is wrong.
    let at = stored.windows(8).position(|window| window == b"\"fact\":{").unwrap() + 9;
    stored[at] ^= 1;
    connection
        .execute("UPDATE entry SET canonical = ?1 WHERE position = ?2", (stored, position))
        .unwrap();
}
