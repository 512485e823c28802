//! The interface for programs, as its guide tells it: tokens, webhooks, and every command of
//! `docs/interface.md` against a running server.

use crate::harness::{Desk, PROGRAM};
use crate::serving::Server;
use std::path::Path;
use std::process::Command;

#[test]
fn a_token_is_shown_once_and_ends_when_it_is_revoked() {
    let desk = Desk::founded();
    let made = desk.json("token new --by AB --person CD --scope record --name 'balance bridge'");
    let secret = made["secret"].as_str().unwrap();
    assert!(secret.starts_with("stonewear_T-1_"), "{secret}");
    assert_eq!(made["token"]["scope"], "record");
    assert!(!desk.done("token list").contains(secret), "it is shown once");
    let list = desk.done("token list");
    assert!(list.contains("T-1  CD  record  “balance bridge”  in force; never used"), "{list}");
    assert_eq!(desk.done("token revoke --by AB T-1").trim(), "revoked T-1, “balance bridge”");
    assert!(desk.done("token list").contains("revoked"));
    assert_eq!(desk.json("token list")["tokens"][0]["revoked_by"], "AB");
}

#[test]
fn what_cannot_be_a_token_or_a_webhook_is_refused_in_words() {
    let desk = Desk::founded();
    for (status, line, said) in [
        (3, "token new --by CD --person CD --scope read --name x", "may not manage; ask AB"),
        (2, "token new --by AB --person XY --scope read --name x", "nobody here has the initials"),
        (2, "token new --by AB --person CD --scope all --name x", "read, record or manage"),
        (2, "token new --by AB --person CD --scope read --name ''", "1 to 60 characters"),
        (2, "token new --person CD --scope read --name x", "--by: "),
        (2, "token revoke --by AB T-9", "there is no token T-9"),
        (2, "webhook add --by AB ftp://example.org/", "neither http nor https"),
        (2, "webhook add --by AB http://127.0.0.1:9/", "--allow-private"),
        (2, "webhook add --by AB https://example.org/ --facts result-relesed", "result-released"),
        (3, "webhook add --by CD https://example.org/", "may not manage"),
        (2, "webhook remove --by AB W-9", "there is no webhook W-9"),
        (2, "webhook test W-9", "there is no webhook"),
    ] {
        let message = desk.fails(status, line);
        assert!(message.contains(said), "{line}: {message}");
    }
    assert!(desk.done("webhook list").contains("no webhook was added yet"));
}

#[test]
fn a_webhook_is_added_listed_tried_and_removed() {
    let desk = Desk::founded();
    let added =
        desk.json("webhook add --by AB http://127.0.0.1:9/ --allow-private --facts ResultReleased");
    assert!(added["secret"].as_str().unwrap().starts_with("whsec_"));
    assert_eq!(added["webhook"]["kinds"], serde_json::json!(["result-released"]));
    let list = desk.done("webhook list");
    assert!(list.contains("W-1  http://127.0.0.1:9/  result-released"), "{list}");
    // Nobody listens there.
    let tried = desk.run("webhook test W-1");
    assert_eq!(tried.status, 1, "{}", tried.stderr);
    assert!(tried.stdout.contains("did not take the message"), "{}", tried.stdout);
    desk.done("webhook remove --by AB W-1");
    assert!(desk.done("webhook list").contains("no webhook"));
}

#[test]
fn the_description_is_printed_without_a_laboratory() {
    let desk = Desk::new();
    let description = desk.json("api describe");
    assert_eq!(description["openapi"], "3.1.0");
    let said = desk.done("api describe --out openapi.json");
    assert!(said.starts_with("openapi.json: "), "{said}");
    let written = std::fs::read_to_string(desk.path().join("openapi.json")).unwrap();
    assert_eq!(serde_json::from_str::<serde_json::Value>(&written).unwrap(), description);
}

/// Every command of the guide, in its order, in one shell.
#[test]
fn the_commands_of_the_guide_work() {
    let guide = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../docs/interface.md");
    let guide = std::fs::read_to_string(guide).unwrap();
    let blocks: Vec<&str> =
        guide.split("```sh\n").skip(1).map(|rest| rest.split("```").next().unwrap()).collect();
    assert!(blocks.len() >= 7, "{}", blocks.len());
    let desk = Desk::founded();
    let server = Server::start(&desk);
    let script = format!("set -euo pipefail\n{}", blocks.join("\n"));
    let programs = Path::new(PROGRAM).parent().unwrap().display().to_string();
    let path = std::env::var("PATH").unwrap();
    let output = Command::new("bash")
        .args(["-c", &script])
        .current_dir(desk.path())
        .env("PATH", format!("{programs}:{path}"))
        .env("STONEWEAR_URL", format!("http://{}", server.address))
        .output()
        .unwrap();
    let said = String::from_utf8_lossy(&output.stdout);
    let trouble = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{said}\n{trouble}");
    // The sample of the guide was received once, although it was sent twice.
    let facts = desk.json("journal verify")["facts"].as_u64().unwrap();
    assert_eq!(facts, 3 + 2, "founding, two people, a sample, a note: {said}");
    drop(server);
    assert!(desk.done("token list").contains("last used"));
}
