//! What is wrong, where, and what would be right: problem details for everything.

use super::program::{Program, json, problem, sample};
use crate::site::Site;
use axum::body::Body;
use axum::http::{Method, Request};
use serde_json::json as j;
use stonewear_access::Scope;

#[test]
fn everything_that_cannot_be_read_is_told_as_problem_details() {
    let site = Site::founded();
    let program = Program::new(&site, "AB", Scope::Manage);
    let post = |path: &str, kind: &str, body: &'static [u8]| -> Request<Body> {
        let request = program.request(Method::POST, path).header("content-type", kind);
        request.body(Body::from(body)).unwrap()
    };
    let json_kind = "application/json";
    for (request, status, kind) in [
        (post("/requests/weigh-before", json_kind, b""), 400, "malformed"),
        (post("/requests/weigh-before", json_kind, b"[]"), 400, "malformed"),
        (post("/requests/weigh-before", json_kind, b"{\"mass_g\":"), 400, "malformed"),
        (post("/requests/weigh-before", json_kind, b"\xff"), 400, "malformed"),
        (post("/requests/weigh-before", json_kind, b"{\"colour\":\"blue\"}"), 400, "malformed"),
        (post("/requests/weigh-before?dry_run=yes", json_kind, b"{}"), 400, "malformed"),
        (post("/requests/weigh-before?colour=blue", json_kind, b"{}"), 400, "malformed"),
        (post("/requests/weigh-before", "text/plain", b"{}"), 415, "wrong-type"),
        (
            post("/requests/weigh-before", "application/x-www-form-urlencoded", b"a=b"),
            415,
            "wrong-type",
        ),
        (post("/requests/open-the-door", json_kind, b"{}"), 404, "not-found"),
        (post("/nowhere", json_kind, b"{}"), 404, "not-found"),
        (post("/samples", json_kind, b"{}"), 405, "wrong-method"),
    ] {
        let path = request.uri().to_string();
        let answer = site.send(request);
        assert_eq!(answer.status.as_u16(), status, "{path}: {}", answer.body);
        problem(&answer, status, kind);
    }
}

#[test]
fn a_wrong_method_is_told_which_are_right() {
    let site = Site::founded();
    let program = Program::new(&site, "AB", Scope::Manage);
    for (method, path, allowed) in [
        (Method::DELETE, "/samples", "GET,HEAD"),
        (Method::PUT, "/requests/weigh-before", "GET,HEAD,POST"),
        (Method::GET, "/attachments", "POST"),
    ] {
        let answer = site.send(program.request(method, path).body(Body::empty()).unwrap());
        problem(&answer, 405, "wrong-method");
        assert_eq!(answer.header("allow"), allowed, "{path}");
    }
}

#[test]
fn only_json_is_given() {
    let site = Site::founded();
    let program = Program::new(&site, "AB", Scope::Read);
    let asked = |path: &str, accept: &str| {
        let request = program.request(Method::GET, path).header("accept", accept);
        site.send(request.body(Body::empty()).unwrap())
    };
    problem(&asked("/people", "text/html"), 406, "not-acceptable");
    problem(&asked("/facts/events", "application/json"), 406, "not-acceptable");
    assert_eq!(asked("/people", "text/html, application/*;q=0.1").status, 200);
}

#[test]
fn a_body_beyond_all_measure_is_not_read() {
    let site = Site::founded();
    let program = Program::new(&site, "AB", Scope::Record);
    let before = program.position();
    let huge = j!({ "source": "x".repeat(3_000_000) });
    problem(&program.ask("receive-sample", &huge), 413, "too-large");
    assert_eq!(program.position(), before);
}

#[test]
fn a_refusal_names_every_problem_with_its_field_and_hint() {
    let site = Site::founded();
    let program = Program::new(&site, "AB", Scope::Record);
    let answer = program.ask("receive-sample", &j!({ "nominal_maximum_mm": "big" }));
    let rules = problem(&answer, 422, "refused");
    assert!(rules.len() >= 2, "{rules:?}");
    let details = json(&answer);
    let fields: Vec<&str> = details["problems"]
        .as_array()
        .unwrap()
        .iter()
        .map(|one| one["field"].as_str().unwrap())
        .collect();
    assert!(fields.contains(&"nominal_maximum_mm"), "{fields:?}");
    for one in details["problems"].as_array().unwrap() {
        assert!(!one["message"].as_str().unwrap().is_empty(), "{one}");
    }
    assert_eq!(details["excusable"], false);
    // The field of the first person that the page would name is the field that the program sent.
    let malformed = program.ask("receive-sample", &j!({ "bags": null, "sourc": "x" }));
    problem(&malformed, 400, "malformed");
    let details = json(&malformed);
    assert_eq!(details["problems"][0]["field"], "bags");
    assert_eq!(details["problems"][1]["field"], "sourc");
    assert!(details["problems"][1]["hint"].as_str().unwrap().contains("source"));
}

/// What a reason may excuse is refused until the reason is given, on this way as on the page.
#[test]
fn a_departure_goes_with_its_reason() {
    let site = Site::founded();
    let manager = Program::new(&site, "AB", Scope::Manage);
    let item =
        j!({ "code": "BAL", "kind": "balance", "name": "Invented balance", "resolution": "0.1" });
    assert_eq!(manager.ask("register-item", &item).status, 201);
    let received = json(&manager.ask("receive-sample", &sample("bench 1")));
    let mut begin = j!({
        "sample": received["codes"][0], "method": "astm-d6928", "grading": "19.0", "balance": "BAL",
    });
    let refused = manager.ask("begin-specimen", &begin);
    let rules = problem(&refused, 422, "refused");
    assert_eq!(json(&refused)["excusable"], true, "{}", refused.body);
    begin["deviation"] = "the balance comes back from its maker tomorrow".into();
    let begun = manager.ask("begin-specimen", &begin);
    assert_eq!(begun.status, 201, "{}", begun.body);
    let code =
        json(&begun)["codes"].as_array().unwrap().last().unwrap().as_str().unwrap().to_owned();
    let specimen = manager.read(&format!("/specimens/{code}"));
    assert_eq!(specimen["deviations"][0]["rule"], rules[0]);
    assert!(specimen["deviations"][0]["reason"].as_str().unwrap().contains("its maker"));
}

#[test]
fn a_damaged_journal_is_read_and_not_written() {
    let site = Site::damaged(300);
    let program = Program::new(&site, "IK", Scope::Manage);
    let laboratory = program.read("/laboratory");
    assert!(laboratory["damage"].as_str().unwrap().contains("300"), "{laboratory}");
    assert_eq!(laboratory["position"], 299);
    let facts = program.read("/facts?after=290&limit=100");
    assert_eq!(facts["items"].as_array().unwrap().len(), 9, "nothing behind the damage");
    let answer = program.ask("receive-sample", &sample("bench 1"));
    problem(&answer, 503, "not-recorded");
    assert_eq!(answer.header("retry-after"), "5");
}
