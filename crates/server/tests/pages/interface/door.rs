//! Who is let in, and how far.

use super::program::{Program, json, problem, sample};
use crate::site::Site;
use axum::body::Body;
use axum::http::{Method, Request};
use serde_json::json as j;
use stonewear_access::{Access, NewToken, Scope};

fn bare(site: &Site, path: &str, headers: &[(&str, &str)]) -> crate::site::Answer {
    let mut request = Request::get(path);
    let has_host = headers.iter().any(|(name, _)| *name == "host");
    if !has_host {
        request = request.header("host", "127.0.0.1:7640");
    }
    for (name, value) in headers {
        request = request.header(*name, *value);
    }
    site.send(request.body(Body::empty()).unwrap())
}

#[test]
fn without_a_token_nothing_is_told() {
    let site = Site::founded();
    for path in [
        "/api",
        "/api/",
        "/api/v2/samples",
        "/api/v1",
        "/api/v1/laboratory",
        "/api/v1/openapi.json",
        "/api/v1/facts/events",
        "/api/v1/nowhere",
        "/api/v1/requests/weigh-before",
    ] {
        let answer = bare(&site, path, &[]);
        problem(&answer, 401, "no-token");
        assert_eq!(answer.header("www-authenticate"), "Bearer realm=\"stonewear\"", "{path}");
        // Who sits at the browser is not asked here.
        let seated = bare(&site, path, &[("cookie", "stonewear-person=AB")]);
        problem(&seated, 401, "no-token");
    }
    let wrong = bare(&site, "/api/v1/laboratory", &[("authorization", "Bearer stonewear_T-1_00")]);
    problem(&wrong, 401, "no-token");
    assert!(wrong.header("www-authenticate").contains("error=\"invalid_token\""));
    problem(&bare(&site, "/api/v1/people", &[("authorization", "Basic QUI6")]), 401, "no-token");
}

#[test]
fn a_token_ends_when_it_is_revoked_or_runs_out() {
    let site = Site::founded();
    let program = Program::new(&site, "AB", Scope::Read);
    assert_eq!(program.get("/people").status, 200);
    let access = Access::open(site.folder()).unwrap();
    access.revoke_token("T-1", "AB", "2026-11-26T09:00:00Z".parse().unwrap()).unwrap();
    problem(&program.get("/people"), 401, "no-token");

    let new = NewToken {
        name: "short",
        person: "AB",
        scope: Scope::Read,
        until: Some("2001-01-02T00:00:00Z".parse().unwrap()),
        made_by: "AB",
    };
    let (_, token) = access.make_token(&new, "2001-01-01T00:00:00Z".parse().unwrap()).unwrap();
    let answer = Program { site: &site, token }.get("/people");
    problem(&answer, 401, "no-token");
    assert!(answer.header("www-authenticate").contains("run out"), "{answer:?}");
}

#[test]
fn a_token_goes_as_far_as_its_scope() {
    let site = Site::founded();
    let [reader, recorder, manager] = Scope::ALL.map(|scope| Program::new(&site, "AB", scope));
    let person = j!({ "code": "CD", "name": "Carl Drum", "rights": ["test"] });
    let before = reader.position();

    let refused = reader.ask("receive-sample", &sample("bench 1"));
    problem(&refused, 403, "scope-too-narrow");
    assert!(refused.header("www-authenticate").contains("scope=\"record\""), "{refused:?}");
    let refused = recorder.ask("add-person", &person);
    problem(&refused, 403, "scope-too-narrow");
    assert!(refused.header("www-authenticate").contains("scope=\"manage\""), "{refused:?}");
    assert_eq!(reader.position(), before, "nothing was recorded");

    assert_eq!(recorder.ask("receive-sample", &sample("bench 1")).status, 201);
    assert_eq!(manager.ask("receive-sample", &sample("bench 2")).status, 201);
    assert_eq!(manager.ask("add-person", &person).status, 201);
}

#[test]
fn a_token_can_do_no_more_than_its_person() {
    let site = Site::founded();
    let manager = Program::new(&site, "AB", Scope::Manage);
    let person = j!({ "code": "CD", "name": "Carl Drum", "rights": ["test"] });
    assert_eq!(manager.ask("add-person", &person).status, 201);
    let program = Program::new(&site, "CD", Scope::Manage);
    let refused = program.ask("add-person", &j!({ "code": "EF", "name": "Eve Fell" }));
    assert_eq!(problem(&refused, 403, "not-allowed"), ["right-missing"]);
    // A token of somebody who is not there any more, or never was.
    let nobody = Program::new(&site, "XX", Scope::Manage);
    let refused = nobody.ask("receive-sample", &sample("bench 1"));
    assert_eq!(problem(&refused, 403, "not-allowed"), ["person-unknown"]);
}

#[test]
fn what_a_program_records_carries_person_and_token() {
    let site = Site::founded();
    let program = Program::new(&site, "AB", Scope::Record);
    let receipt = json(&program.ask("receive-sample", &sample("bench 1")));
    assert_eq!(receipt["facts"][0]["by"], "AB");
    assert_eq!(receipt["facts"][0]["through"], "T-1");
    assert_eq!(receipt["facts"][0]["kind"], "sample-received");
    let position = receipt["facts"][0]["position"].as_u64().unwrap();
    assert_eq!(program.read(&format!("/facts/{position}")), receipt["facts"][0]);
    assert_eq!(program.read("/facts/1")["through"], j!(null), "the founding came from the page");
}

#[test]
fn other_machines_and_pages_are_kept_out_as_everywhere() {
    let site = Site::founded();
    let program = Program::new(&site, "AB", Scope::Manage);
    let token = format!("Bearer {}", program.token);
    let foreign = [("host", "elsewhere.example"), ("authorization", token.as_str())];
    problem(&bare(&site, "/api/v1/people", &foreign), 403, "foreign-page");
    let cross = program
        .request(Method::POST, "/requests/receive-sample")
        .header("origin", "https://elsewhere.example")
        .header("content-type", "application/json")
        .body(Body::from(sample("x").to_string()))
        .unwrap();
    problem(&site.send(cross), 403, "foreign-page");
    let answer = program.get("/people");
    assert_eq!(answer.header("cache-control"), "no-store");
    assert_eq!(answer.header("x-content-type-options"), "nosniff");
    assert!(!answer.headers.contains_key("access-control-allow-origin"), "no other page may read");
}
