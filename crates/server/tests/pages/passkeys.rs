//! Passkeys: added, used to come in and to sign, removed, and refused where one thing is not right.

use crate::accounts::{LONG_AGO, PHRASE, give_do_an_account, let_pass, with_accounts};
use crate::site::{Answer, Site};
use axum::body::Body;
use axum::http::{Request, StatusCode};
use base64::Engine;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use serde_json::Value;
use stonewear_access::Access;
use stonewear_runtime::Clock;

#[path = "../../../access/tests/support/authenticator.rs"]
mod authenticator;
use authenticator::{Authenticator, THERE_AND_VERIFIED};

const HOST: &str = "localhost:7640";
const ORIGIN: &str = "http://localhost:7640";
const NAME: &str = "localhost";
const OWN: &str = "/account/passkeys";

/// What is done to an authenticator before it answers.
type Change<'c> = &'c dyn Fn(&mut Authenticator);

/// Asks as a browser does that opened the page by its name.
fn ask(site: &Site, method: &str, path: &str, fields: &[(&str, &str)]) -> Answer {
    let body = form_urlencoded::Serializer::new(String::new()).extend_pairs(fields).finish();
    let cookies: Vec<String> =
        site.held.iter().map(|(name, value)| format!("{name}={value}")).collect();
    let request = Request::builder()
        .method(method)
        .uri(path)
        .header("host", HOST)
        .header("origin", ORIGIN)
        .header("accept", "text/html")
        .header("cookie", cookies.join("; "))
        .header("content-type", "application/x-www-form-urlencoded");
    site.send(request.body(Body::from(body)).unwrap())
}

/// What a question asks, as the page's script reads it.
fn question(site: &mut Site, path: &str) -> (Vec<u8>, Value) {
    let asked = ask(site, "POST", path, &[]);
    assert_eq!(asked.status, StatusCode::OK, "{path}: {}", asked.body);
    site.hold(&asked);
    let asked: Value = serde_json::from_str(&asked.body).unwrap();
    (URL_SAFE_NO_PAD.decode(asked["challenge"].as_str().unwrap()).unwrap(), asked)
}

/// Adds a passkey for whoever is signed in.
fn add(site: &mut Site, name: &str) -> Authenticator {
    let mut one = Authenticator::p256();
    let (challenge, asked) = question(site, "/account/passkeys/question");
    one.user = URL_SAFE_NO_PAD.decode(asked["user"]["id"].as_str().unwrap()).unwrap();
    let made = one.make(&challenge, ORIGIN, NAME);
    let added = ask(site, "POST", OWN, &[("do", "add"), ("name", name), ("passkey", &made)]);
    assert_eq!(added.onward(), OWN, "{}", added.text());
    one
}

fn sign_in(site: &mut Site, answer: &str) -> Answer {
    let came = ask(site, "POST", "/sign-in/passkey", &[("passkey", answer), ("back", "/samples")]);
    site.hold(&came);
    came
}

fn events(site: &Site) -> Vec<(String, String)> {
    let events = Access::open(site.folder()).unwrap().events(200).unwrap();
    events.into_iter().map(|event| (event.kind, event.about)).collect()
}

#[test]
fn a_passkey_is_added_signs_in_and_signs_without_a_phrase() {
    let mut site = with_accounts();
    let empty = ask(&site, "GET", OWN, &[]);
    empty.is_a_good_page();
    assert!(empty.text().contains("You have none"), "{}", empty.text());
    let (_, asked) = question(&mut site, "/account/passkeys/question");
    assert_eq!(asked["rp"]["id"], NAME);
    assert_eq!(asked["attestation"], "none");
    assert_eq!(asked["authenticatorSelection"]["userVerification"], "required");
    assert_eq!(asked["authenticatorSelection"]["residentKey"], "required");
    let mut one = add(&mut site, "blue stick");
    let listed = ask(&site, "GET", OWN, &[]);
    listed.is_a_good_page();
    assert!(listed.text().contains("blue stick"), "{}", listed.text());
    let (_, asked) = question(&mut site, "/account/passkeys/question");
    assert_eq!(asked["excludeCredentials"][0]["id"], URL_SAFE_NO_PAD.encode(&one.id));

    // At a browser that knows nothing of anybody.
    site.held.clear();
    let page = ask(&site, "GET", "/sign-in", &[]);
    page.is_a_good_page();
    assert!(page.body.contains("data-passkey=\"sign-in\""), "{}", page.body);
    let (challenge, asked) = question(&mut site, "/sign-in/passkey/question");
    assert_eq!(asked["allowCredentials"], serde_json::json!([]), "nobody is named");
    one.counter = 1;
    let came = sign_in(&mut site, &one.answer(&challenge, ORIGIN, NAME));
    assert_eq!(came.onward(), "/samples", "{}", came.text());
    let who = ask(&site, "GET", "/who", &[]);
    assert!(who.text().contains("Ines Korhola"), "{}", who.text());
    // Of each session stands there by what it was begun.
    assert!(who.body.contains(">pass phrase</td>"), "{}", who.body);
    assert!(who.body.contains(">passkey</td>"), "{}", who.body);

    // It signs what speaks for the laboratory, for five minutes.
    let policy = [
        ("request", "set-policy"),
        ("policy", "release-by-another"),
        ("value", "not-required"),
        ("reason", "agreed"),
    ];
    let path = "/policies/release-by-another";
    let_pass(&site, LONG_AGO);
    let page = ask(&site, "GET", path, &[]);
    page.is_a_good_page();
    assert!(page.body.contains("data-passkey=\"prove\""), "{}", page.body);
    let refused = ask(&site, "POST", path, &policy);
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    let (challenge, asked) = question(&mut site, "/account/prove/question");
    assert_eq!(asked["allowCredentials"][0]["id"], URL_SAFE_NO_PAD.encode(&one.id));
    one.counter = 2;
    let answer = one.answer(&challenge, ORIGIN, NAME);
    let proved = ask(&site, "POST", "/account/prove", &[("passkey", &answer)]);
    assert_eq!(proved.status, StatusCode::NO_CONTENT, "{}", proved.body);
    assert!(!ask(&site, "GET", path, &[]).body.contains("_phrase"));
    assert_eq!(ask(&site, "POST", path, &policy).status, StatusCode::SEE_OTHER);
    let_pass(&site, LONG_AGO);
    let again = ask(&site, "POST", "/account/prove", &[("passkey", &answer)]);
    assert_eq!(again.status, StatusCode::UNPROCESSABLE_ENTITY, "an answer is good once");
    assert_eq!(ask(&site, "POST", path, &policy).status, StatusCode::UNPROCESSABLE_ENTITY);

    let events = events(&site);
    for (kind, about) in [
        ("passkey-added", "blue stick"),
        ("signed-in", "by the passkey “blue stick”; at a device that is new"),
        ("proved", "by the passkey “blue stick”"),
        ("proof-refused", "by a passkey: the question is too old, or was answered before"),
    ] {
        let is_there = events.contains(&(kind.to_owned(), about.to_owned()));
        assert!(is_there, "{kind} {about}: {events:?}");
    }
    assert!(Access::open(site.folder()).unwrap().verify_log().unwrap().is_ok());
}

#[test]
fn an_answer_that_is_not_right_lets_nobody_in() {
    let mut site = with_accounts();
    let mut one = add(&mut site, "phone");
    site.held.clear();
    let right = (one.id.clone(), one.user.clone());
    let mut tried = |site: &mut Site, change: Change<'_>, origin: &str, name: &str| {
        (one.id, one.user) = right.clone();
        one.flags = THERE_AND_VERIFIED;
        one.counter += 1;
        change(&mut one);
        let_pass(site, "DELETE FROM session");
        let (challenge, _) = question(site, "/sign-in/passkey/question");
        let answer = one.answer(&challenge, origin, name);
        (sign_in(site, &answer), answer)
    };
    let same = |_: &mut Authenticator| {};
    let wrong: [(&str, Change<'_>, &str, &str); 7] = [
        ("Another page asked", &same, "http://localhost:7641", NAME),
        ("Another page asked", &same, "https://evil.example", NAME),
        ("one of another name", &same, ORIGIN, "evil.example"),
        ("did not look who used it", &|one| one.flags = 1, ORIGIN, NAME),
        ("not known here", &|one| one.id[0] ^= 1, ORIGIN, NAME),
        ("not known here", &|one| one.user[0] ^= 1, ORIGIN, NAME),
        ("not known here", &|one| one.user.clear(), ORIGIN, NAME),
    ];
    for (said, change, origin, name) in wrong {
        // So that it is refused for what is wrong, and not since too many were.
        assert_eq!(tried(&mut site, &same, ORIGIN, NAME).0.onward(), "/samples");
        site.held.retain(|name, _| name.contains("device"));
        let (came, _) = tried(&mut site, change, origin, name);
        assert_eq!(came.status, StatusCode::UNPROCESSABLE_ENTITY, "{said}");
        came.is_a_good_page();
        assert!(came.text().contains(said), "{said}: {}", came.text());
        assert!(!site.held.keys().any(|name| name.contains("session")), "{said}");
    }
    let (came, answer) = tried(&mut site, &same, ORIGIN, NAME);
    assert_eq!(came.onward(), "/samples", "{}", came.text());
    // The same answer again, as somebody would send it who has overheard it.
    let again = sign_in(&mut site, &answer);
    assert!(again.text().contains("answered before"), "{}", again.text());
    // One that was asked of another browser.
    let (challenge, _) = question(&mut site, "/sign-in/passkey/question");
    site.held.retain(|name, _| !name.contains("asking"));
    let stolen = Authenticator { counter: 50, ..Authenticator::p256() };
    let came = sign_in(&mut site, &stolen.answer(&challenge, ORIGIN, NAME));
    assert!(came.text().contains("too old"), "{}", came.text());
    for sent in ["", "a.b", "AAAA.AAAA.AAAA.AAAA.AAAA"] {
        let came = sign_in(&mut site, sent);
        assert_eq!(came.status, StatusCode::UNPROCESSABLE_ENTITY, "{sent}");
        came.is_a_good_page();
    }
    // Who goes on has to wait, and hinders nobody who has a phrase.
    let (mut is_slowed, mut tries) = (false, 0);
    while !is_slowed && tries < 60 {
        let (challenge, _) = question(&mut site, "/sign-in/passkey/question");
        let came = sign_in(&mut site, &stolen.answer(&challenge, ORIGIN, NAME));
        is_slowed = came.text().contains("Too many wrong passkeys");
        tries += 1;
    }
    assert!(is_slowed && tries > 1, "{tries}");
}

#[test]
fn what_was_made_elsewhere_or_for_somebody_else_signs_nothing() {
    let mut site = with_accounts();
    let mut of_ik = add(&mut site, "phone");
    give_do_an_account(&mut site);
    let owner = std::mem::take(&mut site.held);
    let came = crate::accounts::sign_in(&mut site, "DO", crate::accounts::OTHER);
    assert_eq!(came.onward(), "/samples");
    let_pass(&site, LONG_AGO);
    // DO holds the session, IK's passkey answers.
    let (challenge, asked) = question(&mut site, "/account/prove/question");
    assert_eq!(asked["allowCredentials"], serde_json::json!([]));
    of_ik.counter = 9;
    let answer = of_ik.answer(&challenge, ORIGIN, NAME);
    let refused = ask(&site, "POST", "/account/prove", &[("passkey", &answer)]);
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    // A key that IK has already is added to nobody else.
    let_pass(&site, &LONG_AGO.replace("2020-01-01T00:00:00Z", &Clock::Machine.now().to_string()));
    let (challenge, _) = question(&mut site, "/account/passkeys/question");
    let made = of_ik.make(&challenge, ORIGIN, NAME);
    let fields = [("do", "add"), ("name", "mine"), ("passkey", &*made)];
    let refused = ask(&site, "POST", OWN, &fields);
    assert!(refused.text().contains("known here already"), "{}", refused.text());
    // What asks for a question to sign in answers no question to add.
    let (challenge, _) = question(&mut site, "/sign-in/passkey/question");
    let made = Authenticator::p256().make(&challenge, ORIGIN, NAME);
    let refused = ask(&site, "POST", OWN, &[("do", "add"), ("name", "mine"), ("passkey", &made)]);
    assert!(refused.text().contains("too old"), "{}", refused.text());
    // DO removes none of IK's.
    let refused = ask(&site, "POST", OWN, &[("do", "remove"), ("number", "1")]);
    assert!(refused.text().contains("DO has no passkey 1"), "{}", refused.text());
    // Adding and removing want to know who it is.
    let_pass(&site, LONG_AGO);
    for fields in [
        [("do", "add"), ("name", "mine"), ("passkey", "")],
        [("do", "remove"), ("number", "1"), ("passkey", "")],
    ] {
        let refused = ask(&site, "POST", OWN, &fields);
        refused.is_a_good_page();
        assert!(refused.text().contains("pass phrase was not given"), "{}", refused.text());
    }
    assert_eq!(
        ask(&site, "POST", "/account/passkeys/question", &[]).status,
        StatusCode::UNPROCESSABLE_ENTITY
    );
    let with_phrase = [("_phrase", crate::accounts::OTHER)];
    let asked = ask(&site, "POST", "/account/passkeys/question", &with_phrase);
    assert_eq!(asked.status, StatusCode::OK);
    site.held = owner;
}

#[test]
fn a_passkey_is_renamed_and_removed_and_a_reset_removes_all() {
    let mut site = with_accounts();
    let mut one = add(&mut site, "phone");
    add(&mut site, "stick");
    for (fields, said) in [
        (vec![("do", "name"), ("number", "1"), ("name", " ")], "needs a name"),
        (vec![("do", "name"), ("number", "7"), ("name", "x")], "has no passkey 7"),
        (vec![("do", "remove"), ("number", "")], "No passkey was chosen"),
        (vec![("do", "add"), ("name", "")], "has no name"),
        (vec![("do", "add"), ("name", "x"), ("passkey", "")], "No passkey answered"),
        (vec![("do", "x")], "none of ours"),
    ] {
        let refused = ask(&site, "POST", OWN, &fields);
        assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY, "{said}");
        refused.is_a_good_page();
        assert!(refused.text().contains(said), "{said}: {}", refused.text());
    }
    let renamed = [("do", "name"), ("number", "1"), ("name", "old phone")];
    assert_eq!(ask(&site, "POST", OWN, &renamed).onward(), OWN);
    assert!(ask(&site, "GET", OWN, &[]).text().contains("old phone"));
    assert_eq!(ask(&site, "POST", OWN, &[("do", "remove"), ("number", "1")]).onward(), OWN);
    let held = site.held.clone();
    site.held.clear();
    let (challenge, _) = question(&mut site, "/sign-in/passkey/question");
    one.counter = 5;
    let refused = sign_in(&mut site, &one.answer(&challenge, ORIGIN, NAME));
    assert!(refused.text().contains("not known here"), "{}", refused.text());
    site.held = held;
    let access = Access::open(site.folder()).unwrap();
    assert_eq!(access.passkeys("IK").unwrap().len(), 1);
    access.reset_account("IK", "at the machine", Clock::Machine.now()).unwrap();
    assert!(access.passkeys("IK").unwrap().is_empty());
    let events = events(&site);
    for (kind, about) in [
        ("passkey-named", "phone, now old phone"),
        ("passkey-removed", "old phone"),
        ("account-reset", "IK; 1 passkey removed"),
    ] {
        assert!(events.contains(&(kind.to_owned(), about.to_owned())), "{kind}: {events:?}");
    }
}

#[test]
fn a_page_that_was_opened_by_a_number_says_where_passkeys_can_be_used() {
    let site = with_accounts();
    let page = site.get(OWN);
    page.is_a_good_page();
    assert!(page.text().contains("passkeys are made for names"), "{}", page.text());
    assert!(page.body.contains("http://localhost:7640/account/passkeys"), "{}", page.body);
    assert_eq!(site.post("/account/passkeys/question", &[]).status, StatusCode::FORBIDDEN);
    assert_eq!(site.post("/sign-in/passkey/question", &[]).status, StatusCode::FORBIDDEN);
    let add = [("do", "add"), ("name", "x"), ("_phrase", PHRASE)];
    assert!(site.post(OWN, &add).text().contains("opened by a number"));
    assert!(!site.get("/sign-in").body.contains("data-passkey"));
}

/// Every page and refusal of these matters, for the test of the languages.
pub(crate) fn what_is_said() -> Vec<(String, String)> {
    let mut said = Vec::new();
    let mut site = with_accounts();
    let mut read = |place: &str, answer: Answer| said.push((place.to_owned(), answer.body));
    read("passkeys by a number", site.get(OWN));
    read("passkeys by a number", site.post(OWN, &[("do", "add"), ("name", "x")]));
    read("no passkeys", ask(&site, "GET", OWN, &[]));
    let one = add(&mut site, "Tarnbeck Materials Laboratory");
    for fields in [
        vec![("do", "name"), ("number", "1"), ("name", "")],
        vec![("do", "name"), ("number", "7"), ("name", "x")],
        vec![("do", "remove"), ("number", "")],
        vec![("do", "add"), ("name", "")],
        vec![("do", "add"), ("name", "x"), ("passkey", "")],
        vec![("do", "add"), ("name", "x"), ("passkey", "AAAA.AAAA")],
    ] {
        read("passkeys refused", ask(&site, "POST", OWN, &fields));
    }
    let_pass(&site, LONG_AGO);
    read("passkeys with the phrase asked for", ask(&site, "GET", OWN, &[]));
    read("what a passkey signs", ask(&site, "GET", "/policies/release-by-another", &[]));
    let full = ask(&site, "GET", "/accounts", &[]);
    read("/accounts with passkeys", full);
    site.held.clear();
    read("/sign-in with passkeys", ask(&site, "GET", "/sign-in", &[]));
    let changes: [(Change<'_>, &str, &str); 5] = [
        (&|_| {}, "https://evil.example", NAME),
        (&|_| {}, ORIGIN, "evil.example"),
        (&|one| one.flags = 0, ORIGIN, NAME),
        (&|one| one.flags = THERE_AND_VERIFIED & !0b100, ORIGIN, NAME),
        (&|one| one.id[0] ^= 1, ORIGIN, NAME),
    ];
    for (change, origin, name) in changes {
        let (challenge, _) = question(&mut site, "/sign-in/passkey/question");
        let mut wrong =
            Authenticator { id: one.id.clone(), user: one.user.clone(), ..Authenticator::p256() };
        change(&mut wrong);
        read("a passkey refused", sign_in(&mut site, &wrong.answer(&challenge, origin, name)));
    }
    let (challenge, _) = question(&mut site, "/sign-in/passkey/question");
    let wrong = Authenticator { id: one.id.clone(), user: one.user, ..Authenticator::p256() };
    let answer = wrong.answer(&challenge, ORIGIN, NAME);
    for _ in 0..25 {
        read("a passkey refused", sign_in(&mut site, &answer));
        read("no passkey", sign_in(&mut site, ""));
    }
    said
}
