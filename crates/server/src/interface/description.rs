//! The interface described as OpenAPI 3.1, from the very lists that its routes and forms come from.

mod papers;
mod schema;

use self::schema::{Rows, apparatus, example, of_form, rows};
use super::Json;
use super::entry::query;
use super::facts::FactsGiven;
use super::forms::{self, Sendable};
use super::record::{FactGiven, ReceiptGiven};
use super::requests::FormGiven;
use super::trouble::{Kind, ProblemDetails, Trouble};
use super::views::{self, MOST, Read};

use axum::http::{Method, Uri};
use schemars::SchemaGenerator;
use schemars::generate::SchemaSettings;
use serde_json::{Map, Value, json};
use std::sync::LazyLock;

const LEAD: &str = "Every request and every view of a laboratory's page, for programs. A request is the \
form that the page sends, as JSON, and meets the same decision. Numbers that were read or reported are \
decimal text, exactly as they were read; statistics are JSON numbers. A program asks with a token, in \
the name of a person; docs/interface.md tells how to get one.";

/// The description, made once.
pub(crate) static DOCUMENT: LazyLock<Value> = LazyLock::new(document);

/// Hands out the description.
pub(super) async fn serve(uri: Uri) -> Result<Json<&'static Value>, Trouble> {
    let [] = query(&uri, [])?;
    Ok(Json(&*DOCUMENT))
}

fn document() -> Value {
    let settings = SchemaSettings::draft2020_12().for_serialize().with(|settings| {
        settings.definitions_path = "/components/schemas".into();
        settings.meta_schema = None;
    });
    let mut describer = Describer { schemas: settings.into_generator(), paths: Map::new() };
    describer.problem_responses();
    describer.views();
    describer.requests();
    describer.facts();
    describer.files();
    describer.papers();
    let mut schemas = describer.schemas.take_definitions(true);
    for Sendable { form, .. } in forms::ALL.values() {
        schemas.insert(form.name.to_owned(), of_form(form, &mut Rows::default()));
    }
    for (name, row) in rows() {
        schemas.insert(name, row);
    }
    schemas.insert("Apparatus".to_owned(), apparatus());
    json!({
        "openapi": "3.1.0",
        "info": {
            "title": "Stonewear",
            "version": env!("CARGO_PKG_VERSION"),
            "description": LEAD,
            "license": { "name": "MIT OR Apache-2.0", "identifier": "MIT OR Apache-2.0" },
        },
        "servers": [{ "url": super::ROOT }],
        "security": [{ "token": [] }],
        "paths": describer.paths,
        "components": {
            "securitySchemes": {
                "token": {
                    "type": "http",
                    "scheme": "bearer",
                    "description": "A token made by `stonewear token new`; its scope is read, record or manage.",
                },
            },
            "schemas": schemas,
            "responses": problem_responses(),
            "parameters": {
                "IdempotencyKey": {
                    "name": "Idempotency-Key",
                    "in": "header",
                    "required": false,
                    "description": "Sent again with the same key, the request is answered as it was the first time, and nothing is recorded twice.",
                    "schema": { "type": "string", "minLength": 1, "maxLength": 200, "pattern": "^[!-~]+$" },
                },
                "IfNoneMatch": {
                    "name": "If-None-Match",
                    "in": "header",
                    "required": false,
                    "description": "The ETag of an answer that is known already: answered with 304 while the journal has not moved on.",
                    "schema": { "type": "string" },
                },
                "Limit": {
                    "name": "limit",
                    "in": "query",
                    "required": false,
                    "description": "The most things of one page.",
                    "schema": { "type": "integer", "minimum": 1, "maximum": MOST, "default": 100 },
                },
            },
        },
    })
}

/// Which problems an operation may answer with beside those that any may.
fn problems(more: &[u16]) -> Map<String, Value> {
    let always = [400, 401, 403, 405, 406, 500, 503];
    let mut all: Vec<u16> = always.into_iter().chain(more.iter().copied()).collect();
    all.sort_unstable();
    all.dedup();
    all.into_iter()
        .map(|status| {
            let reference = json!({ "$ref": format!("#/components/responses/Problem{status}") });
            (status.to_string(), reference)
        })
        .collect()
}

fn problem_responses() -> Value {
    let mut by_status: Map<String, Value> = Map::new();
    for (_, name, status, title) in Kind::ALL {
        let entry = by_status.entry(format!("Problem{}", status.as_u16())).or_insert_with(|| {
            json!({
                "description": "",
                "content": {
                    "application/problem+json": { "schema": { "$ref": "#/components/schemas/Problem" } },
                },
            })
        });
        let said = entry["description"].as_str().unwrap_or_default();
        let said = if said.is_empty() { String::new() } else { format!("{said} ") };
        entry["description"] = format!("{said}{title} (`{name}`).").into();
        if status.as_u16() == 401 {
            entry["headers"] = json!({ "WWW-Authenticate": { "schema": { "type": "string" } } });
        }
    }
    Value::Object(by_status)
}

struct Describer {
    schemas: SchemaGenerator,
    paths: Map<String, Value>,
}

impl Describer {
    fn problem_responses(&mut self) {
        self.schemas.subschema_for::<ProblemDetails>();
    }

    fn add(&mut self, path: &str, method: &str, operation: Value) {
        let at = self.paths.entry(path.to_owned()).or_insert_with(|| json!({}));
        at[method] = operation;
    }

    fn views(&mut self) {
        for view in views::all() {
            let schema = (view.schema)(&mut self.schemas).to_value();
            let is_many = matches!(view.read, Read::Many(..));
            let mut parameters = path_parameters(view.path);
            let schema = if is_many {
                parameters.push(json!({
                    "name": "after",
                    "in": "query",
                    "required": false,
                    "description": "What the page before gave as next.",
                    "schema": { "type": "string" },
                }));
                parameters.push(json!({ "$ref": "#/components/parameters/Limit" }));
                page_of(&schema)
            } else {
                schema
            };
            if !view.follows_the_clock {
                parameters.push(json!({ "$ref": "#/components/parameters/IfNoneMatch" }));
            }
            let may_be_none = view.path.contains('{') || is_many || view.asks_around;
            let mut responses = problems(if may_be_none { &[404] } else { &[] });
            responses
                .insert("200".to_owned(), json_answer(view.says, &schema, !view.follows_the_clock));
            if !view.follows_the_clock {
                responses
                    .insert("304".to_owned(), json!({ "description": "Nothing has changed." }));
            }
            let operation = json!({
                "operationId": format!("get-{}", view.name),
                "summary": title(view.name),
                "description": format!("{} Needs the scope read.", view.says),
                "tags": ["Views"],
                "parameters": parameters,
                "responses": responses,
            });
            self.add(view.path, "get", operation);
        }
    }

    fn requests(&mut self) {
        let receipt = self.schemas.subschema_for::<ReceiptGiven>().to_value();
        let form_schema = self.schemas.subschema_for::<FormGiven>().to_value();
        for (name, Sendable { form, scope }) in forms::ALL.iter() {
            let path = format!("/requests/{name}");
            let mut responses = problems(&[409, 413, 415, 422]);
            responses.insert(
                "200".to_owned(),
                json_answer("A rehearsal: what would be recorded.", &receipt, false),
            );
            let mut created = json_answer("Recorded.", &receipt, false);
            created["headers"] = json!({
                "Location": {
                    "description": "The first of the facts.",
                    "schema": { "type": "string" },
                },
            });
            responses.insert("201".to_owned(), created);
            let mut content = json!({
                "schema": { "$ref": format!("#/components/schemas/{}", form.name) },
            });
            if let Some(example) = example(name) {
                content["example"] = example;
            }
            let operation = json!({
                "operationId": name,
                "summary": title(name),
                "description": format!("{} Needs the scope {scope}.", form.says),
                "tags": ["Requests"],
                "parameters": [
                    {
                        "name": "dry_run",
                        "in": "query",
                        "required": false,
                        "description": "Decide it and record nothing.",
                        "schema": { "type": "boolean", "default": false },
                    },
                    { "$ref": "#/components/parameters/IdempotencyKey" },
                ],
                "requestBody": {
                    "required": true,
                    "content": { "application/json": content },
                },
                "responses": responses,
            });
            self.add(&path, "post", operation);
            let mut responses = problems(&[404]);
            responses.insert("200".to_owned(), json_answer("Its fields.", &form_schema, false));
            let operation = json!({
                "operationId": format!("form-of-{name}"),
                "summary": format!("Fields of {name}"),
                "description": "What can be sent in this request. Needs the scope read.",
                "tags": ["Forms"],
                "responses": responses,
            });
            self.add(&path, "get", operation);
        }
    }

    fn facts(&mut self) {
        let page = self.schemas.subschema_for::<FactsGiven>().to_value();
        let fact = self.schemas.subschema_for::<FactGiven>().to_value();
        let place = |name: &str, at: &str, says: &str, least: u64| {
            json!({
                "name": name,
                "in": at,
                "required": at == "path",
                "description": says,
                "schema": { "type": "integer", "minimum": least, "maximum": i64::MAX },
            })
        };
        let tag = json!({ "$ref": "#/components/parameters/IfNoneMatch" });
        let mut responses = problems(&[]);
        responses.insert("200".to_owned(), json_answer("Facts, oldest first.", &page, true));
        responses.insert("304".to_owned(), json!({ "description": "Nothing has changed." }));
        self.add("/facts", "get", json!({
            "operationId": "get-facts",
            "summary": "Facts",
            "description": "The journal, fact by fact, oldest first. Needs the scope read.",
            "tags": ["Facts"],
            "parameters": [
                place("after", "query", "The place behind which to begin.", 0),
                {
                    "name": "limit",
                    "in": "query",
                    "required": false,
                    "description": "The most facts of one page.",
                    "schema": { "type": "integer", "minimum": 1, "maximum": 1000, "default": 100 },
                },
                tag,
            ],
            "responses": responses,
        }));
        let mut responses = problems(&[404]);
        responses.insert("200".to_owned(), json_answer("The fact.", &fact, true));
        responses.insert("304".to_owned(), json!({ "description": "Nothing has changed." }));
        self.add(
            "/facts/{position}",
            "get",
            json!({
                "operationId": "get-fact",
                "summary": "Fact",
                "description": "The fact at a place in the journal. Needs the scope read.",
                "tags": ["Facts"],
                "parameters": [place("position", "path", "Its place, from 1.", 1), tag],
                "responses": responses,
            }),
        );
        let mut responses = problems(&[]);
        responses.insert(
            "200".to_owned(),
            json!({
                "description": "Events named fact: the id is the place, the data the fact as JSON.",
                "content": { "text/event-stream": { "schema": { "type": "string" } } },
            }),
        );
        self.add("/facts/events", "get", json!({
            "operationId": "listen-to-facts",
            "summary": "Facts as they come",
            "description": "Server-sent events (WHATWG HTML, section 9.2), one for each fact, until the program stops or the token is revoked. Needs the scope read.",
            "tags": ["Facts"],
            "parameters": [
                place("after", "query", "The place behind which to begin; the end of the journal where nothing is said.", 0),
                place("Last-Event-ID", "header", "The last event that was heard; goes before the query.", 0),
            ],
            "responses": responses,
        }));
    }

    fn files(&mut self) {
        let receipt = self.schemas.subschema_for::<ReceiptGiven>().to_value();
        let text = |name: &str, says: &str| {
            json!({
                "name": name,
                "in": "query",
                "required": false,
                "description": says,
                "schema": { "type": "string" },
            })
        };
        let mut responses = problems(&[409, 413, 422]);
        responses.insert("201".to_owned(), json_answer("Kept.", &receipt, false));
        self.add("/attachments", "post", json!({
            "operationId": "attach",
            "summary": "Attach a file",
            "description": "Attaches a file to a check, item, sample, specimen, run or result. The body is the bytes of the file, whose kind is seen from its content. Needs the scope record.",
            "tags": ["Files"],
            "parameters": [
                text("to", "What it belongs to, by its code."),
                text("step", "The step of the check."),
                text("name", "What the file is called."),
                { "$ref": "#/components/parameters/IdempotencyKey" },
            ],
            "requestBody": {
                "required": true,
                "content": { "application/octet-stream": {} },
            },
            "responses": responses,
        }));
        let mut responses = problems(&[404]);
        responses.insert(
            "200".to_owned(),
            json!({
                "description": "The bytes of the file.",
                "content": { "*/*": {} },
            }),
        );
        self.add(
            "/files/{sha256}",
            "get",
            json!({
                "operationId": "get-file",
                "summary": "File",
                "description": "An attached file by the hash of its bytes. Needs the scope read.",
                "tags": ["Files"],
                "parameters": path_parameters("/files/{sha256}"),
                "responses": responses,
            }),
        );
        let mut responses = problems(&[]);
        responses.insert(
            "200".to_owned(),
            json_answer("This document.", &json!({ "type": "object" }), false),
        );
        self.add(
            "/openapi.json",
            "get",
            json!({
                "operationId": "get-description",
                "summary": "Description",
                "description": "This description. Needs the scope read.",
                "tags": ["Description"],
                "responses": responses,
            }),
        );
    }
}

/// `weigh-before` as people write it.
fn title(name: &str) -> String {
    let words = name.replace('-', " ");
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

fn path_parameters(path: &str) -> Vec<Value> {
    path.split('/')
        .filter_map(|part| part.strip_prefix('{')?.strip_suffix('}'))
        .map(|name| {
            json!({
                "name": name,
                "in": "path",
                "required": true,
                "schema": { "type": "string" },
            })
        })
        .collect()
}

fn page_of(item: &Value) -> Value {
    json!({
        "type": "object",
        "required": ["items", "next", "position"],
        "properties": {
            "items": { "type": "array", "items": item },
            "next": {
                "type": ["string", "null"],
                "description": "What to send as after for the next page; null on the last.",
            },
            "position": {
                "type": "integer",
                "minimum": 0,
                "description": "The last place in the journal.",
            },
        },
    })
}

fn json_answer(says: &str, schema: &Value, has_tag: bool) -> Value {
    let mut answer = json!({
        "description": says,
        "content": { "application/json": { "schema": schema } },
    });
    if has_tag {
        answer["headers"] = json!({
            "ETag": {
                "description": "Names the state of the journal that it was read from.",
                "schema": { "type": "string" },
            },
        });
    }
    answer
}

/// Every way of asking that is described: method and path below the root.
#[cfg_attr(not(test), allow(dead_code, reason = "tests walk through it"))]
pub(crate) fn operations() -> Vec<(Method, String)> {
    let paths = DOCUMENT["paths"].as_object().cloned().unwrap_or_default();
    paths
        .into_iter()
        .flat_map(|(path, operations)| {
            let methods: Vec<String> =
                operations.as_object().map(|all| all.keys().cloned().collect()).unwrap_or_default();
            methods.into_iter().map(move |method| {
                (
                    Method::from_bytes(method.to_uppercase().as_bytes()).unwrap_or_default(),
                    path.clone(),
                )
            })
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;
    use stonewear_lab::Request;

    #[test]
    fn every_request_and_every_view_is_described_once() {
        let described: BTreeSet<String> =
            operations().into_iter().map(|(method, path)| format!("{method} {path}")).collect();
        for request in Request::empty_ones() {
            let (name, with_file) = (request.name(), request.comes_with_file());
            assert_eq!(described.contains(&format!("POST /requests/{name}")), !with_file, "{name}");
        }
        for view in views::all() {
            assert!(described.contains(&format!("GET {}", view.path)), "{}", view.path);
        }
        for handed in crate::papers::all() {
            assert!(described.contains(&format!("GET {}", handed.path)), "{}", handed.path);
        }
        let names: Vec<String> = operations()
            .iter()
            .map(|(method, path)| {
                let method = method.as_str().to_lowercase();
                DOCUMENT["paths"][path][method]["operationId"].as_str().unwrap().to_owned()
            })
            .collect();
        let single: BTreeSet<&String> = names.iter().collect();
        assert_eq!(single.len(), names.len(), "every operation has a name of its own");
    }

    #[test]
    fn every_reference_leads_somewhere() {
        fn walk(value: &Value, faults: &mut Vec<String>) {
            match value {
                Value::Object(fields) => {
                    if let Some(Value::String(reference)) = fields.get("$ref") {
                        let pointer = reference.trim_start_matches('#');
                        if DOCUMENT.pointer(pointer).is_none() {
                            faults.push(reference.clone());
                        }
                    }
                    fields.values().for_each(|value| walk(value, faults));
                }
                Value::Array(values) => values.iter().for_each(|value| walk(value, faults)),
                _ => {}
            }
        }
        let mut faults = Vec::new();
        walk(&DOCUMENT, &mut faults);
        assert_eq!(faults, Vec::<String>::new());
        assert!(DOCUMENT.pointer("/components/schemas/Placement/properties/water_l").is_some());
    }

    #[test]
    fn the_words_of_a_form_are_the_words_of_its_description() {
        let schema = &DOCUMENT["components"]["schemas"]["WeighBefore"];
        assert_eq!(schema["properties"]["mass_g"]["description"], "Mass, g.");
        assert_eq!(schema["additionalProperties"], false);
    }
}
