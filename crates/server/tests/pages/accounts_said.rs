//! What the pages of accounts say, for the test of the languages; and how they are reached from other
//! machines.

use crate::accounts::{
    LONG_AGO, OTHER, PHRASE, SAMPLE, give_do_an_account, let_pass, sign_in, with_accounts,
};
use crate::site::{Answer, Site};
use axum::body::Body;
use axum::http::{Request, StatusCode};
use stonewear_access::Code;
use stonewear_server::Reach;

#[test]
fn over_an_encrypted_line_cookies_and_headers_say_so() {
    let site = with_accounts().served(Reach::Tls, None);
    let ask = |request: axum::http::request::Builder, body: &str| {
        site.send(request.body(Body::from(body.to_owned())).unwrap())
    };
    let page = ask(Request::get("/sign-in").header("host", "lab.example.org"), "");
    assert_eq!(page.status, StatusCode::OK);
    assert_eq!(page.header("strict-transport-security"), "max-age=31536000");
    let local = ask(Request::get("/sign-in").header("host", "localhost:7640"), "");
    assert_eq!(local.header("strict-transport-security"), "", "other programs serve there, too");
    let send = |origin: &str| {
        let request = Request::post("/sign-in")
            .header("host", "lab.example.org")
            .header("origin", origin)
            .header("content-type", "application/x-www-form-urlencoded");
        ask(request, "person=IK&phrase=granite+and+wet+sand")
    };
    assert_eq!(send("http://lab.example.org").status, StatusCode::FORBIDDEN);
    assert_eq!(send("https://other.example.org").status, StatusCode::FORBIDDEN);
    let came = send("https://lab.example.org");
    assert_eq!(came.status, StatusCode::SEE_OTHER, "{}", came.body);
    for cookie in came.headers.get_all("set-cookie") {
        let cookie = cookie.to_str().unwrap();
        assert!(cookie.starts_with("__Host-") && cookie.ends_with("; Secure"), "{cookie}");
        assert!(cookie.contains("Path=/;") && cookie.contains("HttpOnly"), "{cookie}");
    }
}

#[test]
fn behind_a_proxy_only_its_own_name_is_answered_to() {
    let proxy = Reach::through_proxy("https://lab.example.org").unwrap();
    let site = with_accounts().served(proxy, None);
    let ask = |host: &str| {
        site.send(Request::get("/sign-in").header("host", host).body(Body::empty()).unwrap()).status
    };
    assert_eq!(ask("lab.example.org"), StatusCode::OK);
    assert_eq!(ask("127.0.0.1:7640"), StatusCode::FORBIDDEN);
    assert_eq!(ask("evil.example"), StatusCode::FORBIDDEN);
}

/// Every page and refusal of these matters, for the test of the languages.
pub(crate) fn what_is_said() -> Vec<(String, String)> {
    let mut said = Vec::new();
    let mut read = |place: &str, answer: Answer| said.push((place.to_owned(), answer.body));
    let code = Code::new().unwrap();
    let first = Site::demo().served(Reach::Loopback, Some(code.clone()));
    read("/account/first with a code", first.get("/account/first"));
    for (person, phrase) in [
        ("IK", PHRASE),
        ("MQ", PHRASE),
        ("IK", "short"),
        ("IK", "123456789012"),
        ("IK", "password1234"),
        ("IK", "aaaaaaaaaaaa"),
        ("IK", "Ines Korhola 1"),
    ] {
        let long = phrase.repeat(if phrase == "short" { 1 } else { 20 });
        for phrase in [phrase, &long] {
            let fields = [("person", person), ("code", "0"), ("phrase", phrase), ("again", "x")];
            read("/account/first refused", first.post("/account/first", &fields));
            let fields = [("person", person), ("code", "0"), ("phrase", phrase), ("again", phrase)];
            read("/account/first refused", first.post("/account/first", &fields));
        }
    }
    let mut site = with_accounts();
    give_do_an_account(&mut site);
    let owner = site.held.clone();
    read("/accounts given", site.post("/accounts", &[("do", "give"), ("person", "TR")]));
    read("/accounts wrong", site.post("/accounts", &[("do", "close"), ("person", "IK")]));
    read("/accounts wrong", site.post("/accounts", &[("do", "give"), ("person", "DO")]));
    read("/accounts wrong", site.post("/accounts", &[("do", "give"), ("person", "")]));
    read(
        "/accounts wrong",
        site.post("/accounts", &[("do", "lasting"), ("idle_h", "x"), ("whole_h", "1")]),
    );
    read("/accounts closed", site.post("/accounts", &[("do", "close"), ("person", "DO")]));
    read("/accounts", site.get("/accounts"));
    give_do_an_account(&mut site);
    for _ in 0..2 {
        site.held.retain(|name, _| !name.contains("session"));
        sign_in(&mut site, "IK", PHRASE);
    }
    read("/who", site.get("/who"));
    let_pass(&site, LONG_AGO);
    for path in ["/who", "/accounts", "/policies/release-by-another"] {
        read(&format!("{path} with the phrase asked for"), site.get(path));
    }
    let policy = [
        ("request", "set-policy"),
        ("policy", "release-by-another"),
        ("value", "required"),
        ("reason", "x"),
    ];
    for phrase in ["", "wrong phrase here", "1", "2", "3", "4", "5"] {
        let sent = [&policy[..], &[("_phrase", phrase)]].concat();
        read("a policy that is signed", site.post("/policies/release-by-another", &sent));
    }
    let by_do: Vec<(&str, &str)> = SAMPLE.iter().copied().chain([("_by", "DO")]).collect();
    read("an entry of somebody else", site.post_by_script("/samples/new", &by_do));
    site.held = owner;
    site.held.clear();
    read("/sign-in", site.get("/sign-in"));
    read("/sign-in", site.get("/account/open"));
    read("a form without a session", site.post("/samples/new", &SAMPLE));
    read("a file without a session", site.send_files(&[("to", "S26-001")], &[("a.png", b"x")]));
    for _ in 0..7 {
        read("/sign-in wrong", sign_in(&mut site, "DO", "wrong phrase here"));
    }
    for _ in 0..6 {
        let fields = [("person", "TR"), ("code", "0"), ("phrase", OTHER), ("again", OTHER)];
        read("/account/open wrong", site.post("/account/open", &fields));
    }
    site.held.clear();
    sign_in(&mut site, "DO", OTHER);
    read("/accounts of somebody else", site.get("/accounts"));
    read("/accounts of somebody else", site.post("/accounts", &[("do", "end")]));
    let device = site.held.clone();
    site.post("/sign-out", &[]);
    site.held = device;
    site.held.retain(|name, _| name.contains("device"));
    read("/sign-in at a known device", site.get("/sign-in"));
    read("/sign-in at a known device", site.get("/sign-in?person=DO"));
    let fields = SAMPLE.map(|(name, value)| format!("{name}={value}")).join("&");
    let again =
        [("person", "DO"), ("phrase", OTHER), ("_again", "/samples/new"), ("_form", &*fields)];
    read("what was typed before", site.post("/sign-in", &again));
    said
}
