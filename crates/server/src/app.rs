//! The routes, and what stands behind them all: the open laboratory.

use crate::assets;
use crate::door::{self, Guest, door};
use crate::files;
use crate::form::Typed;
use crate::guard::guard;
use crate::imports;
use crate::intake::Intake;
use crate::interface;
use crate::live::{self, Newsroom};
use crate::look::Mode;
use crate::made::{Asked, Moment};
use crate::network::{self, Around};
use crate::openid::Organisation;
use crate::page::{self, Seat};
use crate::papers;
use crate::people;
use crate::reach::Reach;
use crate::sent;
use crate::shelf::Shelf;
use crate::signing::{self, Signing};
use crate::tongue;
use crate::watching::{self, Figures};
use axum::Router;
use axum::body::Bytes;
use axum::extract::{Extension, RawForm, State};
use axum::http::header::{CONTENT_DISPOSITION, CONTENT_TYPE, COOKIE, HOST, SET_COOKIE};
use axum::http::{HeaderMap, StatusCode, Uri};
use axum::middleware::{from_fn, from_fn_with_state};
use axum::response::{Html, IntoResponse, Redirect, Response};
use axum::routing::get;
use std::collections::BTreeMap;
use std::sync::{Arc, RwLock, RwLockReadGuard, RwLockWriteGuard};
use stonewear_access::{Access, AccessError, Code};
use stonewear_lab::refusal::Problem;
use stonewear_lab::{Fact, Refusal};
use stonewear_measure::Limits;
use stonewear_report::Typesetter;
use stonewear_runtime::{Clock, OpenLaboratory, Receipt, SubmitError};
use tokio::sync::Semaphore;

/// Forms are small; what is larger is not a form of ours.
pub(crate) const LARGEST_FORM: usize = 256 * 1024;
/// Phrases that are compared at once.
const PHRASES_AT_ONCE: usize = 2;
/// A shift.
const SEAT_SECONDS: u32 = 43_200;
/// At the bench or at a desk.
const MODE_COOKIE: &str = "stonewear-mode";
/// A year.
const MODE_SECONDS: u32 = 31_536_000;

/// What every handler shares. Each layer of the router takes a copy for each request, so it is one pointer.
#[derive(Clone)]
pub(crate) struct App(Arc<Shared>);

impl std::ops::Deref for App {
    type Target = Shared;

    fn deref(&self) -> &Shared {
        &self.0
    }
}

/// What there is to share.
pub(crate) struct Shared {
    laboratory: RwLock<OpenLaboratory>,
    pub(crate) typesetter: Arc<dyn Typesetter>,
    pub(crate) news: Newsroom,
    /// Entries on their way into the journal.
    intake: Intake,
    pub(crate) shelf: Shelf,
    /// Pages that were made a moment ago.
    made: Moment,
    /// The laboratories of the same database.
    pub(crate) around: Around,
    /// Accounts, tokens and webhooks; or why there are none.
    pub(crate) access: Result<Arc<Access>, String>,
    /// What is counted for whoever operates the program.
    pub(crate) figures: Option<Arc<Figures>>,
    /// There are accounts, and they cannot be read: nobody comes in.
    pub(crate) is_locked: bool,
    /// How the page can be reached.
    pub(crate) reach: Reach,
    /// The code that makes the first account, as the terminal showed it.
    pub(crate) first_code: Option<Arc<Code>>,
    /// The organisation that vouches for people, where there is one.
    pub(crate) organisation: Option<Arc<Organisation>>,
    /// The names of the cookies of this laboratory.
    pub(crate) cookies: Arc<Cookies>,
    /// Each phrase that is compared takes 19 MiB: only so many at once.
    phrases: Arc<Semaphore>,
}

/// The names of the cookies of this laboratory. A browser keeps cookies by host and not by port, so two
/// laboratories on one machine need names of their own.
#[derive(Debug, Default)]
pub(crate) struct Cookies {
    pub(crate) session: String,
    pub(crate) device: String,
    /// What a question is bound to before somebody has signed in.
    pub(crate) asking: String,
}

impl App {
    pub(crate) fn new(
        mut laboratory: OpenLaboratory,
        typesetter: Arc<dyn Typesetter>,
        reach: Reach,
        first_code: Option<Code>,
        organisation: Option<Organisation>,
    ) -> Self {
        let news = Newsroom::at(laboratory.head().position);
        let access = Access::open(laboratory.path()).map(Arc::new);
        let is_locked = access.is_err() && Access::is_in(laboratory.path());
        let access = access.map_err(|error| error.to_string());
        let figures = Figures::begin().map(Arc::new);
        if let Some(figures) = figures.clone() {
            laboratory.on_append(move |took| figures.appends.observe(took.as_secs_f64()));
        }
        // RFC 6265bis, section 4.1.3.2: a browser takes such a name over an encrypted line only, and for
        // this very host.
        let prefix = if reach.is_secure() { "__Host-" } else { "" };
        let id = access.as_ref().map(|access| access.id().to_owned()).unwrap_or_default();
        let cookies = Cookies {
            session: format!("{prefix}stonewear-session-{id}"),
            device: format!("{prefix}stonewear-device-{id}"),
            asking: format!("{prefix}stonewear-asking-{id}"),
        };
        Self(Arc::new(Shared {
            laboratory: RwLock::new(laboratory),
            typesetter,
            news,
            intake: Intake::default(),
            shelf: Shelf::default(),
            made: Moment::default(),
            around: Around::default(),
            access,
            figures,
            is_locked,
            reach,
            first_code: first_code.map(Arc::new),
            organisation: organisation.map(Arc::new),
            cookies: Arc::new(cookies),
            phrases: Arc::new(Semaphore::new(PHRASES_AT_ONCE)),
        }))
    }

    /// Does something with the accounts, away from the threads that answer.
    ///
    /// # Errors
    /// In words, when they cannot be read or kept.
    pub(crate) async fn with_access<T: Send + 'static>(
        &self,
        work: impl FnOnce(&Access) -> Result<T, AccessError> + Send + 'static,
    ) -> Result<T, String> {
        let access = self.access.clone()?;
        let done = tokio::task::spawn_blocking(move || work(&access)).await;
        let done = done.map_err(|_| "the program failed".to_owned())?;
        done.map_err(|error| error.to_string())
    }

    /// Like [`App::with_access`], where phrases are compared or hashed.
    ///
    /// # Errors
    /// In words, when the accounts cannot be read or kept.
    pub(crate) async fn with_phrases<T: Send + 'static>(
        &self,
        work: impl FnOnce(&Access) -> Result<T, AccessError> + Send + 'static,
    ) -> Result<T, String> {
        let permit = self.phrases.clone().acquire_owned().await;
        let done = self.with_access(work).await;
        drop(permit);
        done
    }

    /// Whether whoever came in may still be here.
    pub(crate) async fn is_still_in(&self, guest: &Guest) -> bool {
        let number = guest.session.as_ref().map(|session| session.number);
        let now = Clock::Machine.now();
        let look = move |access: &Access| match number {
            Some(number) => access.is_session_in_force(number, now),
            // The bench was open, and is until the first account is.
            None => Ok(!access.has_accounts()?),
        };
        match self.with_access(look).await {
            Ok(is_in) => is_in,
            Err(_) => !self.is_locked && !guest.has_accounts,
        }
    }

    // A panic while the lock was held leaves the laboratory as its journal has it: facts are
    // applied after they are kept, one by one. So a poisoned lock is still good to use.
    pub(crate) fn read(&self) -> RwLockReadGuard<'_, OpenLaboratory> {
        self.laboratory.read().unwrap_or_else(std::sync::PoisonError::into_inner)
    }

    pub(crate) fn write(&self) -> RwLockWriteGuard<'_, OpenLaboratory> {
        self.laboratory.write().unwrap_or_else(std::sync::PoisonError::into_inner)
    }
}

/// All routes. A page is found by its path; a form is sent to the page that it stands on.
pub(crate) fn router(app: App) -> Router {
    Router::new()
        .route("/assets/{name}", get(assets::serve))
        .route("/guide/pictures/{name}", get(assets::guide_picture))
        .route("/look", get(assets::look))
        .merge(papers::router())
        .route("/papers/issue", axum::routing::post(papers::issue))
        .route(
            "/papers/check",
            get(show)
                .post(papers::check)
                .layer(axum::extract::DefaultBodyLimit::max(files::LARGEST_UPLOAD)),
        )
        .route("/letterhead/logo", axum::routing::post(papers::logo))
        .route("/due.ics", get(due_calendar))
        .route("/network", get(network::show))
        .route("/find", get(find))
        .route("/files/{hash}", get(files::serve))
        .route(
            "/attach",
            axum::routing::post(files::attach)
                .layer(axum::extract::DefaultBodyLimit::max(files::LARGEST_UPLOAD)),
        )
        .route(
            "/imports/file",
            get(show)
                .post(imports::send)
                .layer(axum::extract::DefaultBodyLimit::max(files::LARGEST_UPLOAD)),
        )
        .route("/imports/new/{hash}", get(imports::look).post(imports::take))
        .route("/imports/new/{hash}/rows-to-mend.csv", get(imports::mend))
        .route("/keeper.js", get(assets::keeper))
        .route("/events", get(live::events))
        .route("/judge", axum::routing::post(judge))
        .route("/who", get(who).post(take_seat))
        .merge(people::routes())
        .route("/language", axum::routing::post(tongue::choose))
        .nest(interface::ROOT, interface::router(&app))
        .merge(interface::elsewhere(&app))
        .merge(watching::router())
        .fallback(get(show).post(submit))
        .layer(axum::extract::DefaultBodyLimit::max(LARGEST_FORM))
        .layer(from_fn_with_state(app.clone(), door))
        .layer(from_fn(tongue::speak))
        .layer(from_fn_with_state(app.clone(), guard))
        .layer(from_fn_with_state(app.clone(), watching::watch))
        .with_state(app)
}

/// Shows a page.
async fn show(State(app): State<App>, uri: Uri, headers: HeaderMap) -> Response {
    let mut seat = seat(&headers);
    let chosen = asked(&uri, "mode").parse::<Mode>().ok();
    seat.mode = chosen.unwrap_or(seat.mode);
    let mut response = shown(&app, &uri, &seat);
    // Chosen once, it holds for every page of this browser.
    if let Some(mode) = chosen {
        remember(&mut response, MODE_COOKIE, mode.as_str(), MODE_SECONDS);
    }
    response
}

/// A page as it stands at this moment, said in the language of whoever reads it.
fn shown(app: &App, uri: &Uri, seat: &Seat) -> Response {
    let laboratory = app.read();
    let typed = Typed::default();
    let Some(asked) = Asked::of(uri, seat) else {
        return render(&laboratory, uri, seat, &typed, StatusCode::OK);
    };
    let page = app.made.page(asked, laboratory.head().position, laboratory.now(), || {
        let page = page::page(&laboratory, uri, seat, &typed)?;
        Some(tongue::said(seat.language, page.into_string()))
    });
    match page {
        Some(page) => tongue::answer(seat.language, page),
        None => render(&laboratory, uri, seat, &typed, StatusCode::OK),
    }
}

/// Who sits here: said while the bench is open, proved where people have accounts.
async fn who(state: State<App>, guest: Extension<Guest>, uri: Uri, headers: HeaderMap) -> Response {
    if guest.has_accounts {
        people::own(state, guest, uri, headers).await
    } else {
        show(state, uri, headers).await
    }
}

/// Takes a form: recorded and on to what follows, or shown again with what is wrong.
async fn submit(
    State(app): State<App>,
    Extension(guest): Extension<Guest>,
    uri: Uri,
    headers: HeaderMap,
    RawForm(body): RawForm,
) -> Response {
    let mut typed = Typed::sent(fields(&body));
    let doubtful = typed.doubtful_numbers(tongue::of(&headers));
    let mut by = seat(&headers);
    let is_by_script = sent::is_by_script(&headers);
    let author =
        if is_by_script { sent::author(&app.read(), by.clone(), &typed) } else { Ok(by.clone()) };
    let outcome = match author {
        Err(problem) => Err(vec![problem]),
        Ok(_) if sent::is_only_looked_at(&typed) => Err(sent::looked_at(&app, &by, &typed)),
        Ok(_) if !doubtful.is_empty() => Err(doubtful),
        Ok(author) => {
            by = author;
            match signing::hold(&app, &guest, &typed).await {
                Err(problems) => Err(problems),
                Ok(()) => {
                    // Given now, it need not be given again where something else is wrong.
                    if guest.has_accounts && signing::is_signed(&typed.request) {
                        by.signing = Signing::Proved;
                    }
                    record(&app, &by, &typed).await
                }
            }
        }
    };
    match outcome {
        Ok(receipt) => {
            let onward = page::onward(&receipt.facts).unwrap_or_else(|| uri.path().to_owned());
            // The page that follows says that the draft on this tablet is not needed any longer.
            let kept: String =
                form_urlencoded::byte_serialize(typed.draft(uri.path()).as_bytes()).collect();
            let onward = format!("{onward}?kept={kept}");
            if is_by_script {
                return sent::recorded(&onward);
            }
            let mut response = Redirect::to(&onward).into_response();
            // Who founds the laboratory or is alone in it need not say again who they are.
            if let Some(Fact::PersonAdded { person, .. }) = receipt.facts.get(1)
                && matches!(receipt.facts.first(), Some(Fact::LaboratoryFounded { .. }))
            {
                set_seat(&mut response, person.as_str());
            }
            response
        }
        Err(problems) if is_by_script => sent::refused(&problems),
        Err(problems) => {
            typed.problems = problems;
            render(&app.read(), &uri, &by, &typed, StatusCode::UNPROCESSABLE_ENTITY)
        }
    }
}

/// Records what a form asks for, or says why not.
async fn record(app: &App, by: &Seat, typed: &Typed) -> Result<Receipt, Vec<Problem>> {
    let request = typed.request().map_err(|words| vec![problem("input-form", words)])?;
    match app.intake.take(app, by.code.clone(), typed.clone(), request).await {
        Some(Ok(receipt)) => Ok(receipt),
        Some(Err(SubmitError::Refused(Refusal { problems }))) => Err(problems),
        Some(Err(error)) => Err(vec![problem("not-recorded", error.to_string())]),
        None => {
            let words = "the program failed; nothing was recorded".to_owned();
            Err(vec![problem("not-recorded", words)])
        }
    }
}

/// Judges a form without recording anything: what stands beside the field as it is typed. It is
/// the very decision that the form would meet, so there is no second set of rules.
async fn judge(
    State(app): State<App>,
    uri: Uri,
    headers: HeaderMap,
    RawForm(body): RawForm,
) -> Response {
    let typed = Typed::sent(fields(&body));
    let asked: BTreeMap<String, String> =
        form_urlencoded::parse(uri.query().unwrap_or_default().as_bytes()).into_owned().collect();
    let field = asked.get("field").map(String::as_str).unwrap_or_default();
    let limit = |name: &str| asked.get(name).and_then(|typed| stonewear_measure::read(typed).ok());
    let limits = Limits { lower: limit("lower"), upper: limit("upper") };
    let unit = asked.get("unit").map(String::as_str).unwrap_or_default();
    let Ok(request) = typed.request() else {
        return StatusCode::UNPROCESSABLE_ENTITY.into_response();
    };
    let laboratory = app.read();
    let (facts, mut problems) = match laboratory.consider(&seat(&headers).code, &request) {
        Ok(facts) => (facts, Vec::new()),
        Err(refusal) => (Vec::new(), refusal.problems),
    };
    problems.splice(0..0, typed.doubtful_numbers(tongue::of(&headers)));
    let value = typed.sent_field(field).unwrap_or_default();
    let here = problems.iter().find(|problem| problem.field == field);
    // A step whose turn has not come is not judged: nobody has looked at its reading yet.
    if !value.trim().is_empty() && problems.iter().any(|problem| problem.rule == "step-not-next") {
        let words = "judged when its turn comes";
        let strip = page::strip_of(value, unit, limits);
        return Html(
            crate::look::verdict(crate::look::Tone::Plain, words, strip.as_ref()).into_string(),
        )
        .into_response();
    }
    // Some fields belong to a sum: then the sum so far says more than the field alone.
    if let (None, false, Some(words)) =
        (here, value.trim().is_empty(), page::sieving::said_so_far(&request, &facts, field))
    {
        return Html(crate::look::verdict(crate::look::Tone::Plain, words, None).into_string())
            .into_response();
    }
    let verdict = if asked.contains_key("difference") {
        let difference = page::difference_in(&facts);
        page::difference_verdict(value, difference.as_deref(), unit, limits, here)
    } else {
        page::verdict(value, unit, limits, here)
    };
    Html(verdict.into_string()).into_response()
}

/// What falls due, as a calendar to subscribe to.
async fn due_calendar(State(app): State<App>, headers: HeaderMap) -> Response {
    let laboratory = app.read();
    let lab = laboratory.lab();
    let due = lab.due(laboratory.now(), &stonewear_lab::due::Wanted::default());
    // The address under which the program that asks has reached this one.
    let host = headers.get(HOST).and_then(|host| host.to_str().ok());
    let base = host.map(|host| app.reach.origin(host)).unwrap_or_default();
    let text = stonewear_lab::due::calendar(lab, &due, &base);
    let kind = (CONTENT_TYPE, "text/calendar; charset=utf-8");
    ([kind, (CONTENT_DISPOSITION, "inline; filename=\"due.ics\"")], text).into_response()
}

/// Opens what has the code that was typed or scanned; else the page shows what is near to it.
async fn find(State(app): State<App>, uri: Uri, headers: HeaderMap) -> Response {
    if asked(&uri, "as") == "list" {
        let list = page::found(&app.read(), &uri, &seat(&headers));
        return Html(list.into_string()).into_response();
    }
    let typed = asked(&uri, "q");
    let found = {
        let laboratory = app.read();
        let lab = laboratory.lab();
        let paper = || lab.paper_of(&typed).map(|paper| &paper.value.fingerprint);
        let thing = lab.thing(&typed).map(|thing| page::path_of(&thing));
        thing.or_else(|| paper().map(|fingerprint| format!("/papers/{fingerprint}")))
    };
    match found {
        Some(path) => Redirect::to(&path).into_response(),
        None => show(State(app), uri, headers).await,
    }
}

pub(crate) fn asked(uri: &Uri, name: &str) -> String {
    form_urlencoded::parse(uri.query().unwrap_or_default().as_bytes())
        .find(|(key, _)| key == name)
        .map(|(_, value)| value.into_owned())
        .unwrap_or_default()
}

/// Remembers who sits at this browser.
async fn take_seat(
    State(app): State<App>,
    Extension(guest): Extension<Guest>,
    RawForm(body): RawForm,
) -> Response {
    let fields = fields(&body);
    let person = fields.get("person").map(String::as_str).unwrap_or_default();
    let back =
        fields.get("back").map(String::as_str).filter(|back| is_our_path(back)).unwrap_or("/");
    let known = app.read().lab().people.contains_key(person);
    let mut response = Redirect::to(back).into_response();
    // Where people have accounts nobody is believed who only says so.
    if known && !guest.has_accounts {
        set_seat(&mut response, person);
    }
    response
}

pub(crate) fn render(
    laboratory: &OpenLaboratory,
    uri: &Uri,
    seat: &Seat,
    typed: &Typed,
    status: StatusCode,
) -> Response {
    match page::page(laboratory, uri, seat, typed) {
        Some(markup) => (status, Html(markup.into_string())).into_response(),
        None => (StatusCode::NOT_FOUND, Html(page::not_found(laboratory, uri, seat).into_string()))
            .into_response(),
    }
}

pub(crate) fn problem(rule: &'static str, message: String) -> Problem {
    Problem { field: String::new(), rule, message, hint: String::new(), excusable: false }
}

pub(crate) fn fields(body: &Bytes) -> BTreeMap<String, String> {
    form_urlencoded::parse(body).into_owned().collect()
}

pub(crate) fn seat(headers: &HeaderMap) -> Seat {
    // Only the door sets these.
    let said = |name| headers.get(name).and_then(|value| value.to_str().ok()).unwrap_or_default();
    Seat {
        code: said(door::SEAT).to_owned(),
        mode: cookie(headers, MODE_COOKIE).parse().unwrap_or_default(),
        language: tongue::of(headers),
        signing: Signing::named(said(door::SIGNING)),
    }
}

/// What this browser remembers under a name; empty where it remembers nothing.
pub(crate) fn cookie<'a>(headers: &'a HeaderMap, name: &str) -> &'a str {
    let cookies = headers.get_all(COOKIE).iter().filter_map(|value| value.to_str().ok());
    cookies
        .flat_map(|line| line.split(';'))
        .filter_map(|cookie| cookie.trim().strip_prefix(name)?.strip_prefix('='))
        .next()
        .unwrap_or_default()
}

fn set_seat(response: &mut Response, person: &str) {
    remember(response, door::SEAT_COOKIE, person, SEAT_SECONDS);
}

/// Lets this browser hold a secret for so many seconds; none with 0. `Lax`, so that the code on a label
/// or a bench sheet, opened by a tablet's camera, leads in; forms of other pages are refused by
/// [`crate::guard`], and nothing is changed by opening an address.
pub(crate) fn hold_secret(
    app: &App,
    response: &mut Response,
    name: &str,
    value: &str,
    seconds: u32,
) {
    let secure = if app.reach.is_secure() { "; Secure" } else { "" };
    let cookie =
        format!("{name}={value}; Path=/; HttpOnly; SameSite=Lax; Max-Age={seconds}{secure}");
    if let Ok(value) = cookie.parse() {
        response.headers_mut().append(SET_COOKIE, value);
    }
}

/// Lets this browser remember a value for so many seconds.
pub(crate) fn remember(response: &mut Response, name: &str, value: &str, seconds: u32) {
    let cookie = format!("{name}={value}; Path=/; HttpOnly; SameSite=Strict; Max-Age={seconds}");
    if let Ok(value) = cookie.parse() {
        response.headers_mut().append(SET_COOKIE, value);
    }
}

/// Whether a text leads back to a page of ours, and nowhere else. Browsers drop tabs and ends of lines from an
/// address before they read it, so that `/`, a tab and `/evil.example` lead elsewhere; and they take `\` for `/`.
pub(crate) fn is_our_path(path: &str) -> bool {
    let is_odd = |sign: char| sign == '\\' || sign.is_control();
    path.starts_with('/') && !path.starts_with("//") && !path.contains(is_odd)
}

#[cfg(test)]
mod tests {
    use super::is_our_path;

    #[test]
    fn a_path_leads_to_a_page_of_ours_and_nowhere_else() {
        for path in ["/", "/samples", "/find?q=a//b", "/samples/S26-001#step-2", "/find?q=é"] {
            assert!(is_our_path(path), "{path:?}");
        }
        for path in [
            "",
            "samples",
            "//evil.example",
            "https://evil.example",
            "/\\evil.example",
            "\\\\evil.example",
            "/\t/evil.example",
            "/\n/evil.example",
            "\t//evil.example",
            "/samples\r\nset-cookie: a=b",
        ] {
            assert!(!is_our_path(path), "{path:?}");
        }
    }
}
