//! `stonewear people`, and how a laboratory is served to others.

use crate::harness::Desk;
use crate::serving::Server;
use std::io::{BufRead, BufReader};
use std::process::Stdio;

#[test]
fn whoever_is_at_the_machine_gives_accounts_and_resets_them() {
    let desk = Desk::founded();
    assert!(desk.done("people list").contains("nobody has to prove who they are"));
    let said = desk.fails(2, "people give CD");
    assert!(said.contains("the first account is that of an owner"), "{said}");
    let given = desk.json("people give ab --owner");
    assert_eq!(given["person"], "AB");
    assert_eq!(given["code"].as_str().unwrap().len(), 14);
    assert!(desk.fails(2, "people give AB --owner").contains("has an account already"));
    assert!(desk.fails(2, "people reset XY").contains("nobody here has the initials"));
    assert!(desk.fails(2, "people close AB").contains("AB is the last owner"));
    let list = desk.json("people list");
    assert_eq!(list["accounts"][0]["person"], "AB");
    assert_eq!(list["accounts"][0]["phrase"], serde_json::Value::Null);
    assert!(desk.done("people list").contains("waits for its code, owner"));
    let reset = desk.json("people reset AB");
    assert_ne!(reset["code"], given["code"]);
    assert!(desk.done("people lasting --idle-hours 8").contains("8 h after the last use"));
    assert_eq!(desk.json("people lasting")["whole_hours"], 168);
    desk.fails(2, "people lasting --idle-hours 0");
}

#[test]
fn the_log_tells_what_was_done_and_whether_it_was_touched() {
    let desk = Desk::founded();
    desk.done("people give AB --owner");
    desk.done("people reset AB");
    desk.done("token new --by AB --person CD --scope read --name screen");
    let log = desk.json("people log --verify");
    let kinds: Vec<&str> = log["events"]
        .as_array()
        .unwrap()
        .iter()
        .map(|event| event["kind"].as_str().unwrap())
        .collect();
    assert_eq!(kinds, ["account-given", "account-reset", "token-made"]);
    assert_eq!(log["intact"], true);
    assert!(
        desk.done("people log --last 1")
            .contains("AB  made a token; T-1, screen, in the name of CD, read")
    );
    // Somebody with an editor for databases.
    let file = desk.path().join("laboratory/access.sqlite");
    let mut bytes = std::fs::read(&file).unwrap();
    let at = bytes.windows(13).position(|window| window == b"account-reset").unwrap();
    bytes[at + 8..at + 13].copy_from_slice(b"given");
    std::fs::write(&file, bytes).unwrap();
    let said = desk.run("people log --verify");
    assert_eq!(said.status, 1, "the answer is no, and nothing failed: {}", said.stderr);
    assert!(said.stdout.contains("entry 2 is not as it was written"), "{}", said.stdout);
}

#[test]
fn other_machines_need_accounts_and_an_encrypted_line() {
    let desk = Desk::founded();
    for (line, said) in [
        ("serve --listen 0.0.0.0:0", "the line would not be encrypted"),
        ("serve --listen 0.0.0.0:0 --tls-generated", "nobody has to prove who they are yet"),
        (
            "serve --listen 127.0.0.1:0 --behind-proxy https://lab.example.org",
            "nobody has to prove",
        ),
    ] {
        let failed = desk.fails(3, line);
        assert!(failed.contains(said), "{line}: {failed}");
    }
    let failed = desk.fails(2, "serve --tls-cert none.pem --tls-key none.pem");
    assert!(failed.contains("none.pem"), "{failed}");
    desk.fails(2, "serve --tls-cert none.pem");
    desk.fails(2, "serve --tls-generated --behind-proxy https://lab.example.org");
}

#[test]
fn the_terminal_shows_the_code_of_the_first_account() {
    let desk = Desk::founded();
    let mut command =
        desk.command("serve --listen 127.0.0.1:0 --tls-generated --tls-name lab.example");
    let mut child = command.stdout(Stdio::piped()).stderr(Stdio::null()).spawn().unwrap();
    let lines: Vec<String> =
        BufReader::new(child.stdout.take().unwrap()).lines().take(3).map(Result::unwrap).collect();
    child.kill().unwrap();
    child.wait().unwrap();
    assert!(lines[0].contains("https://127.0.0.1:"), "{lines:?}");
    let (_, fingerprint) = lines[1].rsplit_once(' ').unwrap();
    assert_eq!(fingerprint.split(':').count(), 32, "{lines:?}");
    let (_, code) = lines[2].rsplit_once(' ').unwrap();
    assert_eq!((code.len(), code.split('-').count()), (14, 3), "{lines:?}");
    assert!(desk.path().join("laboratory/tls/key.pem").exists());
}

#[test]
fn a_page_that_is_served_unencrypted_is_open_until_the_first_account() {
    let desk = Desk::founded();
    let server = Server::start(&desk);
    let (status, page) = server.ask("GET /who", "");
    assert!(status == 200 && page.contains("Nobody here has to prove who they are yet"), "{page}");
}

#[test]
fn an_organisation_is_named_by_who_starts_the_program_and_people_are_linked_at_the_machine() {
    let desk = Desk::founded();
    for (line, said) in [
        ("serve --openid https://login.example.org", "--openid-client"),
        ("serve --openid-client stonewear", "--openid"),
        (
            "serve --openid http://login.example.org --openid-client stonewear",
            "asked by https only",
        ),
        ("serve --openid login.example.org --openid-client stonewear", "neither http nor https"),
        (
            "serve --openid https://login.example.org --openid-client a --openid-secret-file none",
            "none",
        ),
    ] {
        let failed = desk.fails(2, line);
        assert!(failed.contains(said), "{line}: {failed}");
    }
    let link = "people link AB --issuer https://login.example.org --subject 248289761001";
    assert!(desk.fails(2, link).contains("AB has no account"));
    desk.done("people give AB --owner");
    assert!(desk.done(link).contains("AB may sign in as 248289761001"));
    assert!(desk.fails(2, &link.replace("AB", "CD")).contains("CD has no account"));
    assert!(desk.fails(2, link).contains("AB is linked to 248289761001"));
    assert!(desk.fails(2, &link.replace("10", "11")).contains("AB is linked already"));
    let list = desk.json("people list");
    assert_eq!(list["links"][0]["person"], "AB");
    assert_eq!(list["passkeys"], serde_json::json!([]));
    let text = desk.done("people list");
    assert!(text.contains("is 248289761001 of https://login.example.org"), "{text}");
    let unlink = "people unlink AB --issuer https://login.example.org";
    assert!(desk.done(unlink).contains("no longer"));
    assert!(desk.fails(2, unlink).contains("AB is not linked"));
    assert!(desk.fails(2, "people remove-passkey AB 1").contains("AB has no passkey 1"));
    assert_eq!(desk.json("people log --verify")["intact"], true);
}
