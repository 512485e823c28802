//! Signing in through an organisation: a small provider of the tests' own says what it is told to say, and
//! each wrong word of it is refused.

use crate::accounts::{LONG_AGO, OTHER, give_do_an_account, let_pass, sign_in, with_accounts};
use crate::site::{Answer, Site};
use axum::http::StatusCode;
use serde_json::{Value, json};
use std::collections::BTreeMap;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpListener;
use std::sync::{Arc, Mutex};
use stonewear_access::Access;
use stonewear_runtime::Clock;
use stonewear_server::Organisation;

#[path = "../../../access/tests/support/provider.rs"]
mod provider;
use provider::{Signer, text};

const BACK: &str = "/sign-in/organisation/back";
const SUBJECT: &str = "248289761001";

/// What the provider says next, and what it was asked.
#[derive(Default)]
struct Says {
    /// Claims that are changed; nothing stands for one that is left out.
    claims: Vec<(&'static str, Value)>,
    /// The head of the token, where it is not the right one.
    head: Option<Value>,
    /// Another key than the one that is published signs.
    by_another: bool,
    /// The token is not signed at all.
    unsigned: bool,
    /// Seconds that are added to the times of the token.
    later: i64,
    /// It names itself otherwise.
    calls_itself: Option<String>,
    /// The codes that it gave, with what they were asked with.
    codes: BTreeMap<String, BTreeMap<String, String>>,
    asked: Vec<BTreeMap<String, String>>,
    signed_by: Option<Signer>,
    published: Vec<Value>,
}

struct Provider {
    issuer: String,
    says: Arc<Mutex<Says>>,
}

impl Provider {
    fn start() -> Self {
        let listener = TcpListener::bind("127.0.0.1:0").unwrap();
        let issuer = format!("http://{}", listener.local_addr().unwrap());
        let signer = Signer::rsa();
        let published = vec![signer.jwk("k1")];
        let says = Says { signed_by: Some(signer), published, ..Says::default() };
        let says = Arc::new(Mutex::new(says));
        let (told, name) = (says.clone(), issuer.clone());
        std::thread::spawn(move || {
            for stream in listener.incoming() {
                let mut stream = stream.unwrap();
                let mut reader = BufReader::new(stream.try_clone().unwrap());
                let (mut first, mut head) = (String::new(), BTreeMap::new());
                reader.read_line(&mut first).unwrap();
                loop {
                    let mut line = String::new();
                    reader.read_line(&mut line).unwrap();
                    let Some((key, value)) = line.trim().split_once(": ") else { break };
                    head.insert(key.to_ascii_lowercase(), value.to_owned());
                }
                let length = head.get("content-length").map_or(0, |length| length.parse().unwrap());
                let mut body = vec![0; length];
                reader.read_exact(&mut body).unwrap();
                let path = first.split(' ').nth(1).unwrap().to_owned();
                let answer = told.lock().unwrap().answer(&name, &path, &head, &body);
                let (status, answer) = match answer {
                    Some(answer) => ("200 OK", answer.to_string()),
                    None => ("400 Bad Request", "{\"error\":\"invalid_grant\"}".to_owned()),
                };
                let length = answer.len();
                let _ = write!(
                    stream,
                    "HTTP/1.1 {status}\r\ncontent-type: application/json\r\ncontent-length: {length}\r\n\
                     connection: close\r\n\r\n{answer}"
                );
            }
        });
        Self { issuer, says }
    }

    fn organisation(&self) -> Organisation {
        Organisation::new(&self.issuer, "stonewear", Some("basalt+secret".to_owned())).unwrap()
    }

    /// The person signs in there; gives the code that the browser carries back.
    fn code_for(&self, address: &str) -> (String, BTreeMap<String, String>) {
        let (there, query) = address.split_once('?').unwrap();
        assert_eq!(there, format!("{}/authorize", self.issuer));
        let asked: BTreeMap<String, String> =
            form_urlencoded::parse(query.as_bytes()).into_owned().collect();
        let mut says = self.says.lock().unwrap();
        let code = format!("code{}", says.codes.len() + says.asked.len() + 1);
        says.codes.insert(code.clone(), asked.clone());
        (code, asked)
    }

    fn says(&self, change: impl FnOnce(&mut Says)) {
        change(&mut self.says.lock().unwrap());
    }

    fn says_what_is_right(&self) {
        self.says(|says| {
            says.claims.clear();
            says.head = None;
            (says.by_another, says.unsigned, says.later) = (false, false, 0);
        });
    }
}

impl Says {
    fn answer(
        &mut self,
        issuer: &str,
        path: &str,
        head: &BTreeMap<String, String>,
        body: &[u8],
    ) -> Option<Value> {
        match path {
            "/.well-known/openid-configuration" => Some(json!({
                "issuer": self.calls_itself.as_deref().unwrap_or(issuer),
                "authorization_endpoint": format!("{issuer}/authorize"),
                "token_endpoint": format!("{issuer}/token"),
                "jwks_uri": format!("{issuer}/keys"),
            })),
            "/keys" => Some(json!({ "keys": self.published })),
            "/token" => {
                let sent: BTreeMap<String, String> =
                    form_urlencoded::parse(body).into_owned().collect();
                let asked = self.codes.remove(sent.get("code")?)?;
                let verifier = sent.get("code_verifier")?;
                let challenge = {
                    let hashed = ring::digest::digest(&ring::digest::SHA256, verifier.as_bytes());
                    provider::written(hashed.as_ref())
                };
                let is_right = asked["code_challenge"] == challenge
                    && asked["redirect_uri"] == sent["redirect_uri"]
                    && sent["grant_type"] == "authorization_code"
                    // stonewear:basalt%2Bsecret
                    && head["authorization"] == "Basic c3RvbmV3ZWFyOmJhc2FsdCUyQnNlY3JldA==";
                self.asked.push(sent);
                is_right.then(|| json!({ "id_token": self.token(issuer, &asked["nonce"]) }))
            }
            _ => None,
        }
    }

    fn token(&self, issuer: &str, nonce: &str) -> String {
        let now = Clock::Machine.now().as_second() + self.later;
        let mut claims = json!({
            "iss": issuer,
            "sub": SUBJECT,
            "aud": "stonewear",
            "exp": now + 300,
            "iat": now,
            "auth_time": now,
            "nonce": nonce,
        });
        for (name, value) in &self.claims {
            claims[*name] = value.clone();
        }
        let signer = self.signed_by.as_ref().unwrap();
        if self.unsigned {
            return format!("{}.{}.", text(&json!({ "alg": "none" })), text(&claims));
        }
        let head = json!({ "alg": signer.algorithm(), "kid": "k1" });
        if self.by_another {
            let other = Signer::ed25519();
            return other.token_with(&json!({ "alg": "RS256", "kid": "k1" }), &claims);
        }
        signer.token_with(self.head.as_ref().unwrap_or(&head), &claims)
    }
}

/// The demo laboratory with accounts of IK and DO, and an organisation that knows DO.
fn with_organisation() -> (Site, Provider) {
    let provider = Provider::start();
    let mut site = with_accounts();
    give_do_an_account(&mut site);
    let site = site.vouched_by(provider.organisation());
    (site, provider)
}

fn link_do(site: &Site, provider: &Provider) {
    let access = Access::open(site.folder()).unwrap();
    let there = (provider.issuer.as_str(), SUBJECT);
    access.link("DO", there, ("IK", ""), Clock::Machine.now()).unwrap();
}

/// Goes there and comes back with what the provider gives.
fn goes(site: &mut Site, provider: &Provider, path: &str) -> (Answer, String) {
    let sent = site.get(path);
    assert_eq!(sent.status, StatusCode::SEE_OTHER, "{}", sent.text());
    site.hold(&sent);
    let (code, asked) = provider.code_for(sent.header("location"));
    let query = form_urlencoded::Serializer::new(String::new())
        .append_pair("code", &code)
        .append_pair("state", &asked["state"])
        .append_pair("iss", &provider.issuer)
        .finish();
    let back = format!("{BACK}?{query}");
    let came = site.get(&back);
    site.hold(&came);
    (came, back)
}

const IN: &str = "/sign-in/organisation?back=%2Fsamples";

fn is_in(site: &Site) -> bool {
    site.held.keys().any(|name| name.contains("session"))
}

#[test]
fn an_organisation_lets_in_whom_an_owner_has_linked() {
    let (mut site, provider) = with_organisation();
    let owner = std::mem::take(&mut site.held);
    let page = site.get("/sign-in?back=%2Fsamples");
    page.is_a_good_page();
    assert!(page.text().contains("Sign in through your organisation"), "{}", page.text());
    let sent = site.get(IN);
    let (_, asked) = provider.code_for(sent.header("location"));
    for (name, value) in [
        ("response_type", "code"),
        ("client_id", "stonewear"),
        ("scope", "openid"),
        ("code_challenge_method", "S256"),
        ("prompt", "login"),
        ("max_age", "0"),
        ("redirect_uri", "http://127.0.0.1:7640/sign-in/organisation/back"),
    ] {
        assert_eq!(asked[name], value, "{name}");
    }
    assert!(sent.header("set-cookie").contains("HttpOnly; SameSite=Lax"));

    // Nobody is linked: nobody comes in, and nobody is made.
    let (refused, _) = goes(&mut site, &provider, IN);
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    refused.is_a_good_page();
    assert!(refused.text().contains(SUBJECT), "{}", refused.text());
    assert!(refused.text().contains("Ask an owner of accounts to link you"), "{}", refused.text());
    assert!(!is_in(&site));
    // An owner links them, on the page.
    let outside = std::mem::replace(&mut site.held, owner.clone());
    let page = site.get("/accounts");
    page.is_a_good_page();
    assert!(page.text().contains("Through your organisation"), "{}", page.text());
    let link = [("do", "link"), ("person", "DO"), ("subject", SUBJECT)];
    assert_eq!(site.post("/accounts", &link).onward(), "/accounts");
    let again = [("do", "link"), ("person", "IK"), ("subject", SUBJECT)];
    assert!(site.post("/accounts", &again).text().contains("DO is linked to"));
    let page = site.get("/accounts");
    page.is_a_good_page();
    assert!(page.body.contains("name=\"do\" value=\"unlink\""), "{}", page.body);
    site.held = outside;
    let (came, back) = goes(&mut site, &provider, IN);
    assert_eq!(came.onward(), "/samples", "{}", came.text());
    let who = site.get("/who");
    assert!(who.text().contains("Davit Osgrave"));
    assert!(who.body.contains(">organisation</td>"), "{}", who.body);
    // The same address again: what was asked is answered once.
    let held = std::mem::take(&mut site.held);
    site.held = held.into_iter().filter(|(name, _)| name.contains("device")).collect();
    assert_eq!(site.get(&back).status, StatusCode::UNPROCESSABLE_ENTITY);
    // The link ends.
    site.held = owner;
    let end = [("do", "unlink"), ("person", "DO"), ("issuer", &provider.issuer)];
    assert_eq!(site.post("/accounts", &end).onward(), "/accounts");
    site.held.clear();
    let (refused, _) = goes(&mut site, &provider, IN);
    assert!(refused.text().contains("nobody here is linked"), "{}", refused.text());
    let access = Access::open(site.folder()).unwrap();
    let events = access.events(100).unwrap();
    for kind in ["linked", "unlinked", "signed-in", "sign-in-refused"] {
        let is_it = |event: &stonewear_access::Event| {
            event.kind == kind && event.about.contains(&provider.issuer)
        };
        assert!(events.iter().any(is_it), "{kind}: {events:?}");
    }
    assert!(access.verify_log().unwrap().is_ok());
}

#[test]
fn each_wrong_word_of_the_organisation_is_refused() {
    let (mut site, provider) = with_organisation();
    link_do(&site, &provider);
    site.held.clear();
    type Change = fn(&mut Says);
    let wrong: [(&str, Change); 12] = [
        ("from another issuer", |says| says.claims.push(("iss", json!("https://evil.example")))),
        ("meant for another program", |says| says.claims.push(("aud", json!("other")))),
        ("one to another question", |says| says.claims.push(("nonce", json!("another")))),
        ("one to another question", |says| says.claims.push(("nonce", Value::Null))),
        ("is too old", |says| says.claims.push(("exp", json!(1_700_000_000)))),
        ("is too old", |says| says.later = -3600),
        ("from later than now", |says| says.later = 3600),
        ("signature of the answer is wrong", |says| says.by_another = true),
        ("signed in a way that is not taken", |says| says.unsigned = true),
        ("does not publish", |says| says.head = Some(json!({ "alg": "RS256", "kid": "k9" }))),
        ("did not ask who it is again", |says| {
            says.claims.push(("auth_time", json!(Clock::Machine.now().as_second() - 3600)));
        }),
        ("did not ask who it is again", |says| says.claims.push(("auth_time", Value::Null))),
    ];
    for (said, change) in wrong {
        // So that it is refused for what is wrong, and not since too many were.
        provider.says_what_is_right();
        let (came, _) = goes(&mut site, &provider, IN);
        assert_eq!(came.onward(), "/samples", "{}", came.text());
        site.held.clear();
        provider.says(change);
        let (refused, _) = goes(&mut site, &provider, IN);
        assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY, "{said}");
        refused.is_a_good_page();
        assert!(refused.text().contains(said), "{said}: {}", refused.text());
        assert!(!is_in(&site), "{said}");
    }
}

#[test]
fn an_answer_that_was_not_asked_for_here_is_not_looked_at() {
    let (mut site, provider) = with_organisation();
    link_do(&site, &provider);
    site.held.clear();
    let begin = |site: &mut Site| {
        let sent = site.get(IN);
        site.hold(&sent);
        let (code, asked) = provider.code_for(sent.header("location"));
        (code, asked["state"].clone())
    };
    let come = |site: &mut Site, query: &[(&str, &str)]| {
        let query = form_urlencoded::Serializer::new(String::new()).extend_pairs(query).finish();
        let came = site.get(&format!("{BACK}?{query}"));
        site.hold(&came);
        came
    };
    let (code, state) = begin(&mut site);
    let tampered = state.replacen(|_: char| true, "s", 1).replace('A', "B") + "A";
    for query in [
        vec![("code", &*code)],
        vec![("code", &*code), ("state", "")],
        vec![("code", &*code), ("state", &*tampered)],
    ] {
        let refused = come(&mut site, &query);
        assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY, "{query:?}");
        assert!(refused.text().contains("was not asked from here"), "{}", refused.text());
    }
    // Another browser, to which somebody sends the address.
    let held = std::mem::take(&mut site.held);
    let refused = come(&mut site, &[("code", &code), ("state", &state)]);
    assert!(refused.text().contains("was not asked from here"), "{}", refused.text());
    site.held = held;
    // Used up by that.
    let refused = come(&mut site, &[("code", &code), ("state", &state)]);
    assert!(refused.text().contains("was not asked from here"), "{}", refused.text());
    assert!(provider.says.lock().unwrap().asked.is_empty(), "no code was changed");
    let site = &mut site.vouched_by(provider.organisation());
    site.held.clear();
    // Somebody else says that they answer.
    let (code, state) = begin(site);
    let query = [("code", &*code), ("state", &*state), ("iss", "https://evil.example")];
    assert!(come(site, &query).text().contains("from another issuer"));
    // The person said no there.
    let (_, state) = begin(site);
    let refused = come(site, &[("error", "access_denied"), ("state", &state)]);
    assert!(refused.text().contains("did not let you in"), "{}", refused.text());
    // A code that was used, or that nobody gave.
    let (_, state) = begin(site);
    let refused = come(site, &[("code", "code0"), ("state", &state)]);
    assert!(refused.text().contains("could not be asked"), "{}", refused.text());
    assert!(!is_in(site));
    // Who goes on has to wait.
    let slowed = (0..20).any(|_| come(site, &[("state", "")]).text().contains("in vain too often"));
    assert!(!slowed, "what was not sent by us costs nothing");
    let slowed = (0..20).any(|_| {
        let (_, state) = begin(site);
        come(site, &[("code", "x"), ("state", &state)]).text().contains("in vain too often")
    });
    assert!(slowed);
}

#[test]
fn what_is_signed_is_shown_to_the_organisation_anew() {
    let (mut site, provider) = with_organisation();
    link_do(&site, &provider);
    site.held.clear();
    sign_in(&mut site, "DO", OTHER);
    let_pass(&site, LONG_AGO);
    let path = "/who";
    let page = site.get(path);
    page.is_a_good_page();
    assert!(page.text().contains("Show it to your organisation instead"), "{}", page.text());
    assert!(page.body.contains("/sign-in/organisation?again=yes&amp;back=%2Fwho"), "{}", page.body);
    let again = "/sign-in/organisation?again=yes&back=%2Fwho";
    provider.says(|says| says.claims.push(("auth_time", json!(1_700_000_000))));
    let (refused, _) = goes(&mut site, &provider, again);
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    refused.is_a_good_page();
    assert!(refused.text().contains("did not ask who it is again"), "{}", refused.text());
    provider.says_what_is_right();
    provider.says(|says| says.claims.push(("sub", json!("somebody else"))));
    let (refused, _) = goes(&mut site, &provider, again);
    assert!(refused.text().contains("vouches for somebody else"), "{}", refused.text());
    assert!(site.get(path).body.contains("_phrase"), "nothing was shown yet");
    provider.says_what_is_right();
    let (came, _) = goes(&mut site, &provider, again);
    assert_eq!(came.onward(), path, "{}", came.text());
    assert!(!site.get(path).body.contains("_phrase"));

    // It leads back to pages of ours only.
    for back in ["%2F%2Fevil.example", "%2F%09%2Fevil.example", "https:%2F%2Fevil.example"] {
        let again = format!("/sign-in/organisation?again=yes&back={back}");
        let (came, _) = goes(&mut site, &provider, &again);
        assert_eq!(came.onward(), "/", "{back}");
    }
    // What was asked in a session is answered in it: it lets nobody in where there is none, whatever the
    // browser says that it holds.
    let sent = site.get(again);
    let (code, asked) = provider.code_for(sent.header("location"));
    let number = Access::open(site.folder()).unwrap().sessions(Clock::Machine.now()).unwrap();
    let number = number.last().unwrap().number;
    site.held.clear();
    let begun = site.get(IN);
    site.hold(&begun);
    let asking = site.held.keys().find(|name| name.contains("asking")).unwrap().clone();
    site.held.insert(asking, format!("session {number}"));
    let query = form_urlencoded::Serializer::new(String::new())
        .append_pair("code", &code)
        .append_pair("state", &asked["state"])
        .finish();
    let refused = site.get(&format!("{BACK}?{query}"));
    assert!(refused.text().contains("was not asked from here"), "{}", refused.text());
    site.hold(&refused);
    assert!(!is_in(&site));
}

/// Another organisation may have the same mark for somebody else.
#[test]
fn a_link_is_to_one_organisation() {
    let (mut site, provider) = with_organisation();
    link_do(&site, &provider);
    let other = Provider::start();
    let mut site = {
        site.held.clear();
        site.vouched_by(other.organisation())
    };
    site.held.clear();
    let (refused, _) = goes(&mut site, &other, IN);
    assert!(refused.text().contains("nobody here is linked"), "{}", refused.text());
    assert!(!is_in(&site));
}

#[test]
fn keys_that_were_changed_are_asked_for_and_a_provider_must_be_itself() {
    let (mut site, provider) = with_organisation();
    link_do(&site, &provider);
    site.held.clear();
    provider.says(|says| says.calls_itself = Some("https://evil.example".to_owned()));
    let refused = site.get(IN);
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    refused.is_a_good_page();
    assert!(refused.text().contains("from another issuer"), "{}", refused.text());
    provider.says(|says| says.calls_itself = None);
    for signer in [Signer::p256(), Signer::ed25519()] {
        provider.says(|says| {
            says.published = vec![signer.jwk("k1")];
            says.signed_by = Some(signer);
        });
        let mut fresh = site.vouched_by(provider.organisation());
        fresh.held.clear();
        let (came, _) = goes(&mut fresh, &provider, IN);
        assert_eq!(came.onward(), "/samples", "{}", came.text());
        site = fresh;
    }
    // Nobody answers there.
    let gone = Organisation::new("http://127.0.0.1:9", "stonewear", None).unwrap();
    let mut site = site.vouched_by(gone);
    site.held.clear();
    assert!(site.get(IN).text().contains("could not be asked"));
    // Where no organisation was named nothing is asked.
    assert_eq!(with_accounts().get(IN).onward(), "/sign-in");
}

/// Every page and refusal of these matters, for the test of the languages.
pub(crate) fn what_is_said() -> Vec<(String, String)> {
    let (mut site, provider) = with_organisation();
    let mut said = Vec::new();
    let mut read = |place: &str, answer: Answer| said.push((place.to_owned(), answer.body));
    read("/accounts with an organisation", site.get("/accounts"));
    let owner = std::mem::take(&mut site.held);
    read("/sign-in with an organisation", site.get("/sign-in"));
    read("nobody is linked", goes(&mut site, &provider, IN).0);
    link_do(&site, &provider);
    type Change = fn(&mut Says);
    let wrong: [Change; 9] = [
        |says| says.claims.push(("iss", json!("https://evil.example"))),
        |says| says.claims.push(("aud", json!("other"))),
        |says| says.claims.push(("nonce", json!("another"))),
        |says| says.later = -3600,
        |says| says.later = 3600,
        |says| says.by_another = true,
        |says| says.unsigned = true,
        |says| says.head = Some(json!({ "alg": "RS256", "kid": "k9" })),
        |says| says.claims.push(("auth_time", Value::Null)),
    ];
    for change in wrong {
        provider.says_what_is_right();
        goes(&mut site, &provider, IN);
        site.held.clear();
        provider.says(change);
        read("the organisation is refused", goes(&mut site, &provider, IN).0);
    }
    provider.says_what_is_right();
    read("not asked", site.get(&format!("{BACK}?code=x")));
    goes(&mut site, &provider, IN);
    let_pass(&site, LONG_AGO);
    read("what the organisation signs", site.get("/who"));
    provider.says(|says| says.claims.push(("sub", json!("other"))));
    let again = "/sign-in/organisation?again=yes&back=%2Fwho";
    read("somebody else", goes(&mut site, &provider, again).0);
    site.held = owner;
    read("/accounts with a link", site.get("/accounts"));
    for fields in [
        vec![("do", "link"), ("person", "DO"), ("subject", "x")],
        vec![("do", "link"), ("person", "IK"), ("subject", SUBJECT)],
        vec![("do", "link"), ("person", "IK"), ("subject", "")],
        vec![("do", "unlink"), ("person", "IK"), ("issuer", &provider.issuer)],
    ] {
        read("/accounts with a wrong link", site.post("/accounts", &fields));
    }
    said
}
