//! Each exactly once: idempotency keys.

use super::program::{Program, json, problem, sample};
use crate::site::Site;
use axum::body::Body;
use axum::http::Method;
use serde_json::json as j;
use stonewear_access::Scope;
use tower::ServiceExt;

#[test]
fn the_same_request_again_is_answered_the_same_and_records_nothing() {
    let site = Site::founded();
    let program = Program::new(&site, "AB", Scope::Record);
    let key = [("idempotency-key", "5a0c/1#x")];
    let first = program.ask_with("receive-sample", &sample("bench 1"), &key);
    assert_eq!(first.status, 201, "{}", first.body);
    let after_first = program.position();
    // Spaces and the order of the fields make no other request.
    let reordered =
        r#" { "nominal_maximum_mm":19.0, "material":"crushed gravel", "source":"bench 1" } "#;
    let again = program
        .request(Method::POST, "/requests/receive-sample")
        .header("content-type", "application/json")
        .header("idempotency-key", "5a0c/1#x")
        .body(Body::from(reordered))
        .unwrap();
    let again = site.send(again);
    assert_eq!((again.status, &again.body), (first.status, &first.body));
    assert_eq!(again.header("location"), first.header("location"));
    assert_eq!(program.position(), after_first);

    let without = program.ask("receive-sample", &sample("bench 1"));
    assert_eq!(without.status, 201);
    assert_ne!(without.body, first.body, "without a key it happens again");
}

#[test]
fn a_key_belongs_to_one_request() {
    let site = Site::founded();
    let program = Program::new(&site, "AB", Scope::Record);
    let key = [("idempotency-key", "k")];
    assert_eq!(program.ask_with("receive-sample", &sample("bench 1"), &key).status, 201);
    let position = program.position();
    let other = program.ask_with("receive-sample", &sample("bench 2"), &key);
    problem(&other, 422, "key-used");
    let other = program.ask_with("start-soak", &j!({ "specimen": "S26-001-1" }), &key);
    problem(&other, 422, "key-used");
    assert_eq!(program.position(), position);
    // A key that merely begins like it is another, and so is the same key of another token.
    let longer =
        program.ask_with("receive-sample", &sample("bench 2"), &[("idempotency-key", "k#")]);
    assert_eq!(longer.status, 201, "{}", longer.body);
    let second = Program::new(&site, "AB", Scope::Record);
    assert_eq!(second.ask_with("receive-sample", &sample("bench 3"), &key).status, 201);
}

#[test]
fn a_refusal_is_remembered_too() {
    let site = Site::founded();
    let program = Program::new(&site, "AB", Scope::Record);
    let key = [("idempotency-key", "r-1")];
    let begin = j!({ "sample": "S99-001", "method": "astm-d6928", "grading": "19.0" });
    let first = program.ask_with("begin-specimen", &begin, &key);
    problem(&first, 422, "refused");
    let again = program.ask_with("begin-specimen", &begin, &key);
    assert_eq!((again.status, &again.body), (first.status, &first.body));
    assert_eq!(again.header("content-type"), "application/problem+json");
    problem(&program.ask_with("receive-sample", &sample("bench 1"), &key), 422, "key-used");
}

#[test]
fn keys_are_known_after_a_restart() {
    let site = Site::founded();
    let (token, first, refused) = {
        let program = Program::new(&site, "AB", Scope::Record);
        let first =
            program.ask_with("receive-sample", &sample("bench 1"), &[("idempotency-key", "a")]);
        let refused = program.ask_with("start-soak", &j!({}), &[("idempotency-key", "b")]);
        (program.token, first, refused)
    };
    let site = site.restarted();
    let program = Program { site: &site, token };
    let position = program.position();
    let again = program.ask_with("receive-sample", &sample("bench 1"), &[("idempotency-key", "a")]);
    assert_eq!((again.status, again.body), (first.status, first.body));
    let again = program.ask_with("start-soak", &j!({}), &[("idempotency-key", "b")]);
    assert_eq!((again.status, again.body), (refused.status, refused.body));
    let other = program.ask_with("receive-sample", &sample("bench 2"), &[("idempotency-key", "a")]);
    problem(&other, 422, "key-used");
    assert_eq!(program.position(), position);
}

/// The facts carry key and print in their own entries, so losing the small database loses no key of
/// anything that was recorded.
#[test]
fn a_recorded_key_needs_nothing_but_the_journal() {
    let site = Site::founded();
    let first = Program::new(&site, "AB", Scope::Record).ask_with(
        "receive-sample",
        &sample("bench 1"),
        &[("idempotency-key", "a")],
    );
    let file = site.folder().join("access.sqlite");
    std::fs::remove_file(file).unwrap();
    let site = site.restarted();
    let program = Program::new(&site, "AB", Scope::Record);
    let again = program.ask_with("receive-sample", &sample("bench 1"), &[("idempotency-key", "a")]);
    assert_eq!((again.status, again.body), (first.status, first.body));
}

#[test]
fn many_at_once_with_one_key_are_one() {
    let site = Site::founded();
    let program = Program::new(&site, "AB", Scope::Record);
    let before = program.position();
    let (router, token) = (site.router(), program.token.clone());
    let threads: Vec<_> = (0..8)
        .map(|_| {
            let (router, token) = (router.clone(), token.clone());
            std::thread::spawn(move || {
                let runtime = tokio::runtime::Builder::new_current_thread().build().unwrap();
                runtime.block_on(async {
                    let request = axum::http::Request::post("/api/v1/requests/receive-sample")
                        .header("host", "127.0.0.1:7640")
                        .header("authorization", format!("Bearer {token}"))
                        .header("content-type", "application/json")
                        .header("idempotency-key", "race")
                        .body(Body::from(sample("bench 1").to_string()))
                        .unwrap();
                    let response = router.oneshot(request).await.unwrap();
                    let status = response.status();
                    let body =
                        axum::body::to_bytes(response.into_body(), usize::MAX).await.unwrap();
                    (status, body)
                })
            })
        })
        .collect();
    let answers: Vec<_> = threads.into_iter().map(|thread| thread.join().unwrap()).collect();
    assert!(answers.iter().all(|answer| *answer == answers[0]), "{answers:?}");
    assert_eq!(answers[0].0, 201);
    assert_eq!(program.position(), before + 1, "one sample was received");
}

#[test]
fn keys_that_cannot_be_used_are_refused() {
    let site = Site::founded();
    let program = Program::new(&site, "AB", Scope::Record);
    let long = "x".repeat(201);
    for wrong in ["", "a b", "é", &long] {
        let answer =
            program.ask_with("receive-sample", &sample("x"), &[("idempotency-key", wrong)]);
        problem(&answer, 400, "malformed");
    }
    let two = [("idempotency-key", "a"), ("idempotency-key", "b")];
    problem(&program.ask_with("receive-sample", &sample("x"), &two), 400, "malformed");
    let most = "x".repeat(200);
    let answer = program.ask_with("receive-sample", &sample("x"), &[("idempotency-key", &most)]);
    assert_eq!(answer.status, 201);
}

#[test]
fn a_rehearsal_records_nothing_and_keeps_no_key() {
    let site = Site::founded();
    let program = Program::new(&site, "AB", Scope::Record);
    let before = program.position();
    let key = [("idempotency-key", "dry")];
    let rehearsed = program.ask_with("receive-sample?dry_run=true", &sample("bench 1"), &key);
    assert_eq!(rehearsed.status, 200, "{}", rehearsed.body);
    let receipt = json(&rehearsed);
    assert_eq!((&receipt["dry_run"], &receipt["facts"][0]["position"]), (&j!(true), &j!(null)));
    assert!(receipt["codes"][0].as_str().unwrap().starts_with('S'));
    assert_eq!(program.position(), before);
    let refused = program.ask("start-soak?dry_run=true", &j!({ "specimen": "S99-001-1" }));
    problem(&refused, 422, "refused");
    let recorded = program.ask_with("receive-sample", &sample("bench 2"), &key);
    assert_eq!(recorded.status, 201, "the key is still free");
}
