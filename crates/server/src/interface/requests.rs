//! Sending requests: read by their form, decided by the laboratory, recorded once.

use super::Json;
use super::body;
use super::entry::{needs, query};
use super::forms::{self, Sendable};
use super::record::{self, FactGiven, Once, ReceiptGiven, new_code};
use super::trouble::{Kind, Trouble};
use crate::app::App;
use axum::body::{Body, Bytes};
use axum::extract::{Extension, Path, Request, State};
use axum::http::header::CONTENT_TYPE;
use axum::http::{HeaderMap, Uri};
use axum::response::{IntoResponse, Response};
use schemars::JsonSchema;
use serde::Serialize;
use stonewear_access::{Bearer, Scope};
use stonewear_runtime::NewFile;

/// The largest body of a request. A table of some ten thousand rows is smaller.
const LARGEST_BODY: usize = 2 * 1024 * 1024;
/// The largest file, with a little room.
const LARGEST_FILE: usize = 21_000_000;

/// A field of a request.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct FieldGiven {
    /// Its name.
    name: &'static str,
    /// What is typed there, with its unit.
    says: &'static str,
    /// `text`, `whole number`, `list of text`, `list of rows` or `apparatus`.
    kind: &'static str,
    /// The fields of each row, where it is a list of rows.
    rows: Vec<FieldGiven>,
}

/// A request that can be sent.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(rename = "RequestForm")]
pub(super) struct FormGiven {
    /// Its name, as it stands in the address.
    name: String,
    /// What it is for.
    says: &'static str,
    /// The scope that a token needs: `record` or `manage`.
    scope: &'static str,
    /// What can be sent in it; what is left away is empty.
    fields: Vec<FieldGiven>,
}

fn given_fields(form: &stonewear_lab::request::Form) -> Vec<FieldGiven> {
    use stonewear_lab::request::Kind as Of;
    let fields = form.fields.iter().map(|field| {
        let (kind, rows) = match &field.kind {
            Of::Text => ("text", Vec::new()),
            Of::Whole => ("whole number", Vec::new()),
            Of::List(each) => match each.as_ref() {
                Of::Form(row) => ("list of rows", given_fields(row)),
                _ => ("list of text", Vec::new()),
            },
            Of::Form(form) => ("row", given_fields(form)),
            Of::Apparatus => ("apparatus", Vec::new()),
        };
        FieldGiven { name: field.name, says: field.says, kind, rows }
    });
    fields.collect()
}

/// A request with its fields, as programs are given it.
pub(super) fn form_given(name: &str) -> Option<FormGiven> {
    let Sendable { form, scope } = forms::ALL.get(name)?;
    Some(FormGiven {
        name: name.to_owned(),
        says: form.says,
        scope: scope.as_str(),
        fields: given_fields(form),
    })
}

fn unknown(name: &str) -> Trouble {
    Trouble::new(
        Kind::NotFound,
        format!("there is no request “{name}”; {}/requests lists them", super::ROOT),
    )
}

/// What can be sent in a request.
pub(super) async fn one_form(
    Path(name): Path<String>,
    uri: Uri,
) -> Result<Json<FormGiven>, Trouble> {
    let [] = query(&uri, [])?;
    form_given(&name).map(Json).ok_or_else(|| unknown(&name))
}

/// Takes a request: `POST /requests/weigh-before`. With `?dry_run=true` it is decided and not
/// recorded.
pub(super) async fn ask(
    State(app): State<App>,
    Extension(bearer): Extension<Bearer>,
    Path(name): Path<String>,
    request: Request<Body>,
) -> Response {
    match asked(app, bearer, name, request).await {
        Ok(response) => response,
        Err(trouble) => trouble.into_response(),
    }
}

async fn asked(
    app: App,
    bearer: Bearer,
    name: String,
    sent: Request<Body>,
) -> Result<Response, Trouble> {
    let sendable = forms::ALL.get(&name).ok_or_else(|| unknown(&name))?;
    needs(&bearer, sendable.scope)?;
    let [dry_run] = query(sent.uri(), ["dry_run"])?;
    let dry_run = match dry_run.as_deref() {
        None | Some("false") => false,
        Some("true") => true,
        Some(other) => {
            let words = format!("dry_run is true or false, and not “{other}”");
            return Err(Trouble::new(Kind::Malformed, words));
        }
    };
    let (parts, body) = sent.into_parts();
    must_be_json(&parts.headers)?;
    let bytes = whole_body(body, LARGEST_BODY).await?;
    let request = body::read(&name, &sendable.form, &bytes).map_err(Trouble::malformed)?;
    // Spaces and the order of fields make no other request.
    let meant = serde_json::to_vec(&request).unwrap_or_default();
    let once = Once::new(&parts.headers, &bearer, &[name.as_bytes(), &meant])?;
    away(move || {
        if let stonewear_lab::Request::AttachFile(attach) = &request
            && app.read().lab().attached(&attach.sha256).is_none()
        {
            // A fact never names bytes that are not kept.
            let words = format!(
                "no file with this hash is kept; send its bytes to {}/attachments",
                super::ROOT
            );
            return Trouble::new(Kind::Refused, words).into_response();
        }
        if dry_run {
            return match rehearsed(&app, &bearer, &name, &request) {
                Ok(receipt) => Json(receipt).into_response(),
                Err(trouble) => trouble.into_response(),
            };
        }
        record::once(&app, &name, &once, |laboratory, key| {
            laboratory.submit(&bearer.person, Some(key), &request)
        })
    })
    .await
}

fn rehearsed(
    app: &App,
    bearer: &Bearer,
    name: &str,
    request: &stonewear_lab::Request,
) -> Result<ReceiptGiven, Trouble> {
    let laboratory = app.read();
    let facts = laboratory.consider(&bearer.person, request)?;
    let at = laboratory.now().to_string();
    let given = facts.iter().map(|fact| {
        let fact = match serde_json::to_value(fact) {
            Ok(serde_json::Value::Object(fact)) => fact,
            _ => serde_json::Map::new(),
        };
        let kind = fact.get("kind").and_then(serde_json::Value::as_str).unwrap_or_default();
        FactGiven {
            position: None,
            hash: None,
            at: at.clone(),
            by: bearer.person.clone(),
            through: Some(bearer.token.clone()),
            kind: kind.to_owned(),
            fact,
        }
    });
    Ok(ReceiptGiven {
        request: name.to_owned(),
        dry_run: true,
        codes: facts.iter().filter_map(new_code).collect(),
        facts: given.collect(),
    })
}

/// Attaches a file, whose bytes are the body: `POST /attachments?to=C26-001&name=lid.jpg`.
pub(super) async fn attach(
    State(app): State<App>,
    Extension(bearer): Extension<Bearer>,
    request: Request<Body>,
) -> Response {
    let attached = async {
        needs(&bearer, Scope::Record)?;
        let [to, step, name] = query(request.uri(), ["to", "step", "name"])?;
        let (parts, body) = request.into_parts();
        let bytes = whole_body(body, LARGEST_FILE).await?;
        let [to, step, name] = [to, step, name].map(Option::unwrap_or_default);
        let sent =
            ["attachments".as_bytes(), to.as_bytes(), step.as_bytes(), name.as_bytes(), &bytes];
        let once = Once::new(&parts.headers, &bearer, &sent)?;
        away(move || {
            let file = NewFile { to: &to, step: &step, name: &name, bytes: &bytes };
            record::once(&app, "attach-file", &once, |laboratory, key| {
                laboratory.attach(&bearer.person, Some(key), &file)
            })
        })
        .await
    };
    attached.await.unwrap_or_else(IntoResponse::into_response)
}

/// Does something that waits for the disk, away from the threads that answer.
async fn away(work: impl FnOnce() -> Response + Send + 'static) -> Result<Response, Trouble> {
    tokio::task::spawn_blocking(work)
        .await
        .map_err(|_| Trouble::new(Kind::Failed, "the program failed; look what was recorded"))
}

fn must_be_json(headers: &HeaderMap) -> Result<(), Trouble> {
    let sent = headers.get(CONTENT_TYPE).and_then(|value| value.to_str().ok()).unwrap_or_default();
    let kind = sent.split(';').next().unwrap_or_default().trim();
    if kind.eq_ignore_ascii_case("application/json") {
        return Ok(());
    }
    let words = format!("the body is “{kind}”; send it as application/json");
    Err(Trouble::new(Kind::WrongType, words))
}

async fn whole_body(body: Body, most: usize) -> Result<Bytes, Trouble> {
    axum::body::to_bytes(body, most).await.map_err(|error| {
        let mut cause: Option<&dyn std::error::Error> = Some(&error);
        while let Some(one) = cause {
            if one.to_string().contains("length limit exceeded") {
                return Trouble::new(
                    Kind::TooLarge,
                    format!("the body has more than {most} bytes"),
                );
            }
            cause = one.source();
        }
        Trouble::new(Kind::Malformed, "the body did not arrive whole")
    })
}
