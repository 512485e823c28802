//! What every answer carries, and what is not even looked at.

use crate::site::{FOUNDING, Site};
use axum::body::Body;
use axum::http::{Request, StatusCode};

fn founding(host: &str, header: (&str, &str)) -> Request<Body> {
    let body = form_urlencoded::Serializer::new(String::new()).extend_pairs(FOUNDING).finish();
    Request::post("/")
        .header("host", host)
        .header(header.0, header.1)
        .header("content-type", "application/x-www-form-urlencoded")
        .body(Body::from(body))
        .unwrap()
}

#[test]
fn a_form_of_another_page_is_refused() {
    let site = Site::empty();
    for header in [
        ("origin", "https://elsewhere.example"),
        ("origin", "http://127.0.0.1:9999"),
        ("origin", "null"),
        ("sec-fetch-site", "cross-site"),
        ("sec-fetch-site", "same-site"),
    ] {
        let answer = site.send(founding("127.0.0.1:7640", header));
        assert_eq!(answer.status, StatusCode::FORBIDDEN, "{header:?}");
    }
    assert!(site.get("/").text().contains("Found the laboratory"), "nothing was founded");
    let own = site.send(founding("127.0.0.1:7640", ("origin", "http://127.0.0.1:7640")));
    assert_eq!(own.status, StatusCode::SEE_OTHER);
}

#[test]
fn a_name_that_was_made_to_point_here_is_refused() {
    let site = Site::empty();
    for (host, status) in [
        ("elsewhere.example", StatusCode::FORBIDDEN),
        ("127.0.0.1.elsewhere.example:7640", StatusCode::FORBIDDEN),
        ("127.0.0.1@elsewhere.example", StatusCode::FORBIDDEN),
        ("192.168.0.7:7640", StatusCode::FORBIDDEN),
        ("127.0.0.1:7640", StatusCode::OK),
        ("localhost:7640", StatusCode::OK),
        ("[::1]:7640", StatusCode::OK),
    ] {
        let request = Request::get("/").header("host", host).body(Body::empty()).unwrap();
        assert_eq!(site.send(request).status, status, "{host}");
    }
    let nameless = Request::get("/").body(Body::empty()).unwrap();
    assert_eq!(site.send(nameless).status, StatusCode::FORBIDDEN, "no host at all");
}

#[test]
fn every_answer_carries_its_security_headers() {
    let site = Site::founded();
    let foreign =
        Request::get("/").header("host", "elsewhere.example").body(Body::empty()).unwrap();
    let answers = [
        site.get("/"),
        site.get("/nowhere"),
        site.get("/assets/stonewear.css"),
        site.get("/assets/nowhere.css"),
        site.get("/results/L00-000/report.pdf"),
        site.post("/samples/new", &[("request", "receive-sample")]),
        site.post("/judge", &[]),
        site.post("/who", &[("person", "AB")]),
        site.send(foreign),
    ];
    for answer in &answers {
        let policy = answer.header("content-security-policy");
        assert!(policy.contains("default-src 'none'") && policy.contains("frame-ancestors 'none'"));
        assert!(!policy.contains("unsafe"), "{policy}");
        assert_eq!(answer.header("x-content-type-options"), "nosniff");
    }
    assert_eq!(answers[0].header("cache-control"), "no-store");
    assert_eq!(answers[5].header("cache-control"), "no-store");
    assert!(answers[2].header("cache-control").starts_with("private"), "assets hold no facts");
}

#[test]
fn where_there_is_no_page_the_answer_is_a_page_that_says_so() {
    let site = Site::founded();
    for path in [
        "/nowhere",
        "/samples/S00-000",
        "/samples/new/more",
        "/specimens/x",
        "/runs/x",
        "/results/x",
        "/equipment/x",
        "/checks/x",
        "/methods/x",
        "/%3Cscript%3Ealert(1)%3C/script%3E",
        "/samples/%00",
        "/samples/%ff",
    ] {
        let answer = site.get(path);
        assert_eq!(answer.status, StatusCode::NOT_FOUND, "{path}");
        answer.is_a_good_page();
        assert!(!answer.body.contains("<script>alert"), "{path}");
    }
}

#[test]
fn a_form_beyond_all_measure_is_not_read() {
    let site = Site::founded();
    let answer = site.post("/samples/new", &[("request", &"x".repeat(300 * 1024))]);
    assert_eq!(answer.status, StatusCode::PAYLOAD_TOO_LARGE);
    assert_eq!(site.facts(), 2);
}
