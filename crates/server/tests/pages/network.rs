//! The page over the laboratories of a database.

use crate::interface::program::{Program, problem, token};
use crate::site::{Site, Words};
use axum::Router;
use axum::body::Body;
use axum::http::Request;
use axum::http::request::Builder;
use serde_json::Value;
use std::sync::Arc;
use stonewear_access::Scope;
use stonewear_cluster::cluster;
use stonewear_journal::postgres::{admit, prepare};
use stonewear_lab::request::FoundLaboratory;
use stonewear_runtime::{OpenLaboratory, Place, SharedDatabase, push};
use tower::ServiceExt;

async fn get(router: &Router, path: &str) -> String {
    let request =
        Request::get(path).header("accept", "text/html").header("cookie", "stonewear-person=IK");
    answered(router, path, request).await
}

/// What a program is told of the network.
async fn told(router: &Router, token: &str) -> Value {
    let path = "/api/v1/network";
    let request = Request::get(path).header("authorization", format!("Bearer {token}"));
    serde_json::from_str(&answered(router, path, request).await).unwrap()
}

async fn answered(router: &Router, path: &str, request: Builder) -> String {
    let request = request.header("host", "127.0.0.1:7640").body(Body::empty()).unwrap();
    let response = router.clone().oneshot(request).await.unwrap();
    assert_eq!(response.status(), 200, "{path}");
    let bytes = axum::body::to_bytes(response.into_body(), usize::MAX).await.unwrap();
    String::from_utf8(bytes.to_vec()).unwrap()
}

#[test]
fn a_laboratory_in_a_folder_has_no_network() {
    let site = Site::founded();
    let page = site.get("/network");
    page.is_a_good_page();
    assert!(page.body.contains("kept in a folder of its own"), "{}", page.body);
    assert!(!site.get("/journal").body.contains("/network"));
    let program = Program::new(&site, "AB", Scope::Manage);
    let answer = program.get("/network");
    problem(&answer, 404, "not-found");
    assert!(answer.body.contains("kept in a folder of its own"), "{}", answer.body);
}

/// The pages of a server whose threads must not wait: the store asks the database on its own.
#[test]
fn laboratories_that_share_a_database_are_shown_as_far_as_the_role_sees() {
    let database = cluster().database();
    let owner = database.address("owner").parse().unwrap();
    prepare(&owner).unwrap();
    let shared = |name: &str| {
        let laboratory = name.parse().unwrap();
        admit(&owner, &laboratory, &database.role(name, "")).unwrap();
        SharedDatabase { address: database.address(name).parse().unwrap(), laboratory }
    };
    let demo = Site::demo();
    let first = shared("granite");
    push(demo.folder(), &first, 500).unwrap();
    let (folder, desk) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    {
        let mut second = OpenLaboratory::open(folder.path()).unwrap();
        let founding = FoundLaboratory {
            name: "Other <laboratory>".into(),
            address: "1 Invented Street".into(),
            founder_code: "AB".into(),
            founder_name: "Ada Brook".into(),
            invented: "no".into(),
            ..FoundLaboratory::default()
        };
        second.submit("", None, &founding.into()).unwrap();
    }
    push(folder.path(), &shared("other"), 500).unwrap();

    let runtime = tokio::runtime::Builder::new_multi_thread().enable_all().build().unwrap();
    let token = token(desk.path(), "IK", Scope::Read);
    let place = Place::in_database(desk.path(), first);
    let laboratory = OpenLaboratory::open(&place).unwrap();
    let (router, follower) = stonewear_server::router_that_follows(laboratory, Arc::new(Words));
    assert!(follower.is_some());
    let journal = runtime.block_on(get(&router, "/journal?verify=now"));
    assert!(journal.contains("intact") && journal.contains("granite in the database"), "{journal}");
    assert!(journal.contains("href=\"/network\""));
    let page = runtime.block_on(get(&router, "/network"));
    assert!(page.contains("sees this laboratory alone"), "{page}");
    assert!(!page.contains("Other"));
    let alone = runtime.block_on(told(&router, &token));
    assert_eq!(alone["laboratories"].as_array().unwrap().len(), 1, "{alone}");
    assert_eq!(alone["comparisons"], serde_json::json!([]));
    // Pages that read the journal itself are made on threads of the server, too.
    for path in ["/", "/results", "/papers", "/export"] {
        runtime.block_on(get(&router, path));
    }

    database.sql(&format!("GRANT stonewear_network TO {}", database.whole_name("granite")));
    let page = runtime.block_on(get(&router, "/network"));
    assert!(page.contains("Other &lt;laboratory&gt;") && page.contains("no apparatus"), "{page}");
    assert!(page.contains("out of control: "), "{page}");
    assert_eq!(crate::markup::faults(&page), [""; 0]);

    let told = runtime.block_on(told(&router, &token));
    let [granite, other] = told["laboratories"].as_array().unwrap().as_slice() else {
        panic!("{told}")
    };
    assert_eq!(granite["laboratory"], "granite");
    assert_eq!(granite["facts"], demo.facts());
    let ready = &granite["readiness"].as_array().unwrap()[0];
    assert!(ready["ready"].is_boolean() && ready["lacks"].is_array(), "{ready}");
    let states: Vec<_> =
        granite["control"].as_array().unwrap().iter().map(|chart| &chart["state"]).collect();
    assert!(states.iter().any(|state| *state == "in-control"), "{states:?}");
    assert_eq!(other["name"], "Other <laboratory>");
    assert_eq!((&other["invented"], &other["facts"]), (&false.into(), &2.into()), "{other}");
}
