//! A program with a token.

use crate::site::{Answer, Site};
use axum::body::Body;
use axum::http::{Method, Request};
use serde_json::Value;
use std::path::Path;
use stonewear_access::{Access, NewToken, Scope};

/// A program that asks a site in the name of a person.
pub(crate) struct Program<'a> {
    pub(crate) site: &'a Site,
    pub(crate) token: String,
}

/// Makes a token that holds until it is revoked.
pub(crate) fn token(folder: &Path, person: &str, scope: Scope) -> String {
    let access = Access::open(folder).unwrap();
    let new = NewToken { name: "test bench", person, scope, until: None, made_by: person };
    let now = "2026-11-26T08:00:00Z".parse().unwrap();
    access.make_token(&new, now).unwrap().1
}

impl<'a> Program<'a> {
    pub(crate) fn new(site: &'a Site, person: &str, scope: Scope) -> Self {
        Self { site, token: token(site.folder(), person, scope) }
    }

    pub(crate) fn request(&self, method: Method, path: &str) -> axum::http::request::Builder {
        Request::builder()
            .method(method)
            .uri(format!("/api/v1{path}"))
            .header("host", "127.0.0.1:7640")
            .header("authorization", format!("Bearer {}", self.token))
    }

    pub(crate) fn get(&self, path: &str) -> Answer {
        self.site.send(self.request(Method::GET, path).body(Body::empty()).unwrap())
    }

    /// What a path gives, which must be there.
    #[track_caller]
    pub(crate) fn read(&self, path: &str) -> Value {
        let answer = self.get(path);
        assert_eq!(answer.status, 200, "{path}: {}", answer.body);
        assert_eq!(answer.header("content-type"), "application/json");
        json(&answer)
    }

    pub(crate) fn ask(&self, name: &str, body: &Value) -> Answer {
        self.ask_with(name, body, &[])
    }

    pub(crate) fn ask_with(&self, name: &str, body: &Value, headers: &[(&str, &str)]) -> Answer {
        let mut request = self
            .request(Method::POST, &format!("/requests/{name}"))
            .header("content-type", "application/json");
        for (header, value) in headers {
            request = request.header(*header, *value);
        }
        self.site.send(request.body(Body::from(body.to_string())).unwrap())
    }

    /// The last place in the journal.
    pub(crate) fn position(&self) -> u64 {
        self.read("/laboratory")["position"].as_u64().unwrap()
    }
}

#[track_caller]
pub(crate) fn json(answer: &Answer) -> Value {
    serde_json::from_str(&answer.body).unwrap_or_else(|error| panic!("{error}: {}", answer.body))
}

/// Holds that an answer is problem details of this kind, and gives the rules that it names.
#[track_caller]
pub(crate) fn problem(answer: &Answer, status: u16, kind: &str) -> Vec<String> {
    assert_eq!(answer.status, status, "{}", answer.body);
    assert_eq!(answer.header("content-type"), "application/problem+json", "{}", answer.body);
    let details = json(answer);
    assert_eq!(details["type"], format!("/api/v1/problems/{kind}"), "{details}");
    assert_eq!(details["status"], status);
    assert!(!details["detail"].as_str().unwrap().is_empty() && !details["title"].is_null());
    let problems = details["problems"].as_array().unwrap();
    problems.iter().map(|problem| problem["rule"].as_str().unwrap().to_owned()).collect()
}

/// A sample as it is received.
pub(crate) fn sample(source: &str) -> Value {
    serde_json::json!({ "source": source, "material": "crushed gravel", "nominal_maximum_mm": "19.0" })
}
