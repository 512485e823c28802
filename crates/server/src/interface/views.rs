//! What can be read, as one list: the address, what stands there, its schema, and the function that
//! reads it from the laboratory. Routes and description are made from it.

mod bench;
mod between;
mod control;
mod equipment;
mod laboratory;
mod network;
mod parts;
mod results;

use super::Json;
use super::entry::{query, whole};
use super::trouble::{Kind, Trouble};
use crate::app::App;
use axum::extract::{RawPathParams, State};
use axum::http::header::{ETAG, IF_NONE_MATCH, LINK};
use axum::http::{HeaderMap, HeaderValue, StatusCode, Uri};
use axum::response::{IntoResponse, Response};
use jiff::Timestamp;
use schemars::{JsonSchema, Schema, SchemaGenerator};
use serde::Serialize;
use serde_json::{Value, json};
use std::future::Future;
use std::pin::Pin;
use std::sync::Arc;
use stonewear_lab::Lab;
use stonewear_runtime::{NetworkReport, OpenLaboratory};

/// Things of one page, where nothing is said.
const USUAL: u64 = 100;
/// The most things of one page.
pub(super) const MOST: u64 = 500;

/// What a view is read from.
pub(super) struct Reading<'a> {
    pub(super) laboratory: &'a OpenLaboratory,
    pub(super) lab: &'a Lab,
    pub(super) now: Timestamp,
    /// The codes that stand in the address, in order.
    pub(super) codes: &'a [String],
    /// The laboratories of the database, where the view asks for them and there is one.
    pub(super) network: Option<&'a NetworkReport>,
}

type ReadOne = Box<dyn Fn(&Reading<'_>) -> Option<Value> + Send + Sync>;
type ReadKeys = Box<dyn Fn(&Reading<'_>) -> Vec<String> + Send + Sync>;
type ReadMember = Box<dyn Fn(&Reading<'_>, &str) -> Option<Value> + Send + Sync>;

/// How a view is read.
pub(super) enum Read {
    /// One thing.
    One(ReadOne),
    /// Things in a fixed order, page by page: their keys, and each by its key.
    Many(ReadKeys, ReadMember),
}

/// Something that can be read.
pub(super) struct View {
    /// Its address below the root, with `{code}` for what is filled in.
    pub(super) path: &'static str,
    /// Its name in the description.
    pub(super) name: &'static str,
    /// What stands there, in a sentence or two.
    pub(super) says: &'static str,
    /// Whether it changes with the clock too, and not only with the journal.
    pub(super) follows_the_clock: bool,
    /// Whether it asks the database how the laboratories around this one stand.
    pub(super) asks_around: bool,
    pub(super) schema: fn(&mut SchemaGenerator) -> Schema,
    pub(super) read: Read,
}

impl View {
    /// It changes with the clock too.
    fn timely(mut self) -> Self {
        self.follows_the_clock = true;
        self
    }

    /// It asks how the laboratories around this one stand, who go on when this one rests.
    fn around(mut self) -> Self {
        self.asks_around = true;
        self.timely()
    }
}

fn value(one: impl Serialize) -> Value {
    serde_json::to_value(one).unwrap_or_default()
}

/// A view of something of this type.
fn view<T: JsonSchema>(
    path: &'static str,
    name: &'static str,
    says: &'static str,
    read: Read,
) -> View {
    let schema = SchemaGenerator::subschema_for::<T>;
    View { path, name, says, follows_the_clock: false, asks_around: false, schema, read }
}

/// A view of one thing.
fn one<T: Serialize + JsonSchema + 'static>(
    path: &'static str,
    name: &'static str,
    says: &'static str,
    read: fn(&Reading<'_>) -> Option<T>,
) -> View {
    view::<T>(path, name, says, Read::One(Box::new(move |reading| read(reading).map(value))))
}

/// A view of many things, page by page.
fn many<T: Serialize + JsonSchema + 'static>(
    path: &'static str,
    name: &'static str,
    says: &'static str,
    keys: fn(&Reading<'_>) -> Vec<String>,
    member: fn(&Reading<'_>, &str) -> Option<T>,
) -> View {
    let read =
        Read::Many(Box::new(keys), Box::new(move |reading, key| member(reading, key).map(value)));
    view::<T>(path, name, says, read)
}

/// A list of things with codes, and each of them by its code.
fn listed<T: Serialize + JsonSchema + 'static>(
    (list, each): (&'static str, &'static str),
    (name, name_of_each): (&'static str, &'static str),
    says: &'static str,
    keys: fn(&Reading<'_>) -> Vec<String>,
    member: fn(&Reading<'_>, &str) -> Option<T>,
) -> [View; 2] {
    let single = move |reading: &Reading<'_>| member(reading, reading.codes.first()?).map(value);
    [
        many(list, name, says, keys, member),
        view::<T>(each, name_of_each, says, Read::One(Box::new(single))),
    ]
}

/// Every view.
pub(super) fn all() -> Vec<View> {
    let mut views = laboratory::views();
    views.extend(bench::views());
    views.extend(results::views());
    views.extend(equipment::views());
    views.extend(control::views());
    views.extend(between::views());
    views.push(network::view());
    views
}

type Answering = Pin<Box<dyn Future<Output = Result<Response, Trouble>> + Send>>;

/// What answers for a view.
pub(super) fn handler(
    view: View,
) -> impl Fn(State<App>, RawPathParams, Uri, HeaderMap) -> Answering + Clone + Send + Sync + 'static
{
    let view = Arc::new(view);
    move |State(app), params, uri, headers| {
        let view = view.clone();
        Box::pin(async move {
            let codes: Vec<String> = params.iter().map(|(_, code)| code.to_owned()).collect();
            let network = if view.asks_around { around(&app).await? } else { None };
            answer(&app, &view, &codes, &uri, &headers, network.as_ref())
        })
    }
}

/// How the laboratories of the database stand.
async fn around(app: &App) -> Result<Option<NetworkReport>, Trouble> {
    match crate::network::report(app).await {
        None => Err(Trouble::new(Kind::NotFound, network::KEPT_IN_A_FOLDER)),
        Some(report) => report.map(Some).map_err(Trouble::not_recorded),
    }
}

fn answer(
    app: &App,
    view: &View,
    codes: &[String],
    uri: &Uri,
    headers: &HeaderMap,
    network: Option<&NetworkReport>,
) -> Result<Response, Trouble> {
    let paged = match &view.read {
        Read::One(_) => {
            let [] = query(uri, [])?;
            None
        }
        Read::Many(..) => {
            let [after, limit] = query(uri, ["after", "limit"])?;
            let limit = whole("limit", limit.as_deref(), USUAL, 1..=MOST)?;
            Some((after, usize::try_from(limit).unwrap_or(usize::MAX)))
        }
    };
    let laboratory = app.read();
    let reading = Reading {
        laboratory: &laboratory,
        lab: laboratory.lab(),
        now: laboratory.now(),
        codes,
        network,
    };
    let none = || {
        Trouble::new(
            Kind::NotFound,
            format!(
                "there is nothing at {}{}: nothing here has this code",
                super::ROOT,
                uri.path()
            ),
        )
    };
    let whole_thing = match (&view.read, paged) {
        (Read::One(read), _) => {
            let one = read(&reading).ok_or_else(none)?;
            return Ok(unchanged(&laboratory, view, headers)
                .unwrap_or_else(|| answered(&laboratory, &one, !view.follows_the_clock)));
        }
        (Read::Many(keys, member), paged) => (keys, member, paged.unwrap_or((None, MOST as usize))),
    };
    let (keys, member, (after, limit)) = whole_thing;
    let keys = keys(&reading);
    if let Some(response) = unchanged(&laboratory, view, headers) {
        return Ok(response);
    }
    let begin = match &after {
        None => 0,
        Some(after) => match keys.iter().position(|key| key == after) {
            Some(place) => place + 1,
            None => {
                let words = format!("after names “{after}”, which is not in this list");
                return Err(Trouble::new(Kind::NotFound, words));
            }
        },
    };
    let rest = &keys[begin..];
    let page = &rest[..rest.len().min(limit)];
    let next = page.last().filter(|_| rest.len() > page.len());
    let items: Vec<Value> = page.iter().filter_map(|key| member(&reading, key)).collect();
    let body = json!({
        "items": items,
        "next": next,
        "position": laboratory.head().position,
    });
    let mut response = answered(&laboratory, &body, !view.follows_the_clock);
    if let Some(next) = next {
        let query = form_urlencoded::Serializer::new(String::new())
            .append_pair("after", next)
            .append_pair("limit", &limit.to_string())
            .finish();
        let link = format!("<{}{}?{query}>; rel=\"next\"", super::ROOT, uri.path());
        if let Ok(link) = HeaderValue::from_str(&link) {
            response.headers_mut().insert(LINK, link);
        }
    }
    Ok(response)
}

fn unchanged(laboratory: &OpenLaboratory, view: &View, headers: &HeaderMap) -> Option<Response> {
    if view.follows_the_clock { None } else { tagged(laboratory, headers) }
}

/// What names the state of the laboratory: the head of its journal, and the program that reads it.
fn tag(laboratory: &OpenLaboratory) -> String {
    let head = laboratory.head();
    let hash = head.hash.to_string();
    format!(
        "\"{}-{}-{}\"",
        env!("CARGO_PKG_VERSION"),
        head.position,
        hash.get(..16).unwrap_or(&hash)
    )
}

/// That nothing has changed, where the asker has the state that the laboratory is in.
pub(super) fn tagged(laboratory: &OpenLaboratory, headers: &HeaderMap) -> Option<Response> {
    let tag = tag(laboratory);
    let known = headers.get_all(IF_NONE_MATCH).iter().filter_map(|value| value.to_str().ok());
    let is_known = known
        .flat_map(|list| list.split(','))
        .map(|known| known.trim().trim_start_matches("W/"))
        .any(|known| known == tag || known == "*");
    let tag = HeaderValue::from_str(&tag).ok()?;
    is_known.then(|| (StatusCode::NOT_MODIFIED, [(ETAG, tag)]).into_response())
}

/// An answer, with what names the state that it was read from.
pub(super) fn answered(
    laboratory: &OpenLaboratory,
    body: &impl Serialize,
    has_tag: bool,
) -> Response {
    let mut response = Json(body).into_response();
    if let (true, Ok(tag)) = (has_tag, HeaderValue::from_str(&tag(laboratory))) {
        response.headers_mut().insert(ETAG, tag);
    }
    response
}
