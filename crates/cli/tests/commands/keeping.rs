//! Backups under load, by the clock and by hand; signatures; what whoever operates the program sees.

use crate::harness::Desk;
use crate::serving::Server;
use serde_json::{Value, json};
use std::collections::BTreeMap;
use std::io::{Read, Write};
use std::net::TcpListener;
use std::process::{Command, Stdio};
use std::sync::Mutex;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

/// A laboratory and a token by which programs record.
fn desk_and_token() -> (Desk, String) {
    let desk = Desk::founded();
    let made = desk.json("token new --by AB --person AB --scope record --name 'load'");
    let token = made["secret"].as_str().unwrap().to_owned();
    (desk, token)
}

/// Receives a sample over the interface: where it stands in the journal, and its hash.
fn receive(address: &str, token: &str) -> (u64, String) {
    let form = json!({ "source": "Invented quarry", "material": "crushed gravel", "nominal_maximum_mm": "19.0" });
    let mut answer = ureq::post(format!("http://{address}/api/v1/requests/receive-sample"))
        .header("authorization", format!("Bearer {token}"))
        .header("content-type", "application/json")
        .send(form.to_string())
        .unwrap();
    let body: Value = serde_json::from_slice(&answer.body_mut().read_to_vec().unwrap()).unwrap();
    let fact = body["facts"].as_array().unwrap().last().unwrap();
    (fact["position"].as_u64().unwrap(), fact["hash"].as_str().unwrap().to_owned())
}

fn got(address: &str, path: &str) -> (u16, String) {
    let config = ureq::Agent::config_builder().http_status_as_error(false).build();
    let agent = ureq::Agent::from(config);
    let mut answer = agent.get(format!("http://{address}{path}")).call().unwrap();
    (answer.status().as_u16(), answer.body_mut().read_to_string().unwrap())
}

#[test]
fn a_backup_taken_under_load_ends_where_the_laboratory_stood_then() {
    let (desk, token) = desk_and_token();
    let server = Server::start(&desk);
    let (address, token) = (server.address.as_str(), token.as_str());
    let acknowledged: Mutex<BTreeMap<u64, String>> = Mutex::default();
    let is_over = AtomicBool::new(false);
    let mut drills = Vec::new();
    std::thread::scope(|scope| {
        for _ in 0..3 {
            scope.spawn(|| {
                while !is_over.load(Ordering::Relaxed) {
                    let (position, hash) = receive(address, token);
                    acknowledged.lock().unwrap().insert(position, hash);
                }
            });
        }
        for _ in 0..3 {
            std::thread::sleep(Duration::from_millis(200));
            let before = acknowledged.lock().unwrap().keys().last().copied().unwrap_or(0);
            let made = desk.json("backup backups");
            let after = acknowledged.lock().unwrap().keys().last().copied().unwrap_or(0);
            drills.push((before, made, after));
        }
        is_over.store(true, Ordering::Relaxed);
    });
    let acknowledged = acknowledged.into_inner().unwrap();
    for (before, made, after) in drills {
        let position = made["position"].as_u64().unwrap();
        assert!(before > 0 && position >= before, "what was acknowledged before is in it: {made}");
        assert!(after > before, "it was taken under load");
        // A fact that was on the disk, and whose answer was on its way, may be the last.
        let hash = acknowledged.get(&position).expect("every fact was acknowledged in the end");
        assert_eq!(made["head"], hash.as_str());
        let name = made["backup"].as_str().unwrap().rsplit('/').next().unwrap().to_owned();
        let checked = desk.json(&format!("backup check backups --backup {name}"));
        assert_eq!((&checked["good"], &checked["facts"]), (&json!(true), &made["position"]));
    }
    drop(server);
    let (first, _) = acknowledged.first_key_value().unwrap();
    let said = desk.done(&format!("restore backups --to back --at-position {first}"));
    assert!(said.contains("This is the laboratory as it stood then"), "{said}");
    let verified = desk.json("journal verify --dir back");
    assert_eq!(verified["head"], acknowledged[first].as_str());
    assert_eq!(verified["good"], true);
    let said = desk.fails(2, "restore backups --to back");
    assert!(said.contains("back is there already and not empty"), "{said}");
    let said = desk.fails(2, "restore backups --to new --at yesterday");
    assert!(said.contains("“yesterday” is no instant; write it like"), "{said}");
}

#[test]
fn backups_are_made_by_the_clock_and_the_page_tells() {
    let desk = Desk::founded();
    let server = Server::start(&desk);
    let (_, page) = got(&server.address, "/journal");
    assert!(page.contains("No backup of this laboratory was made yet"), "{page}");
    let (_, ready) = got(&server.address, "/health/ready");
    assert_eq!(serde_json::from_str::<Value>(&ready).unwrap()["backup"], Value::Null);
    server.kill();
    let mut command = desk.command("serve --listen 127.0.0.1:0 --backup-to backups --keep 3");
    command.args(["--backup-every", "1s"]);
    let server = Server::run(command);
    let until = Instant::now() + Duration::from_secs(20);
    while desk.json("backup list backups")["backups"].as_array().unwrap().is_empty() {
        assert!(Instant::now() < until, "no backup was made");
        std::thread::sleep(Duration::from_millis(100));
    }
    let (status, ready) = got(&server.address, "/health/ready");
    let ready: Value = serde_json::from_str(&ready).unwrap();
    assert_eq!(
        (status, &ready["ready"], &ready["backup"]["position"]),
        (200, &json!(true), &json!(3))
    );
    let (_, page) = got(&server.address, "/journal");
    assert!(page.contains("Last backup") && page.contains("entries 1 to 3 of 3"), "{page}");
    let (_, figures) = got(&server.address, "/metrics");
    let age = figures.lines().find_map(|line| line.strip_prefix("stonewear_backup_age_seconds "));
    let age: f64 = age.unwrap().parse().unwrap();
    assert!((0.0..20.0).contains(&age), "{figures}");
    server.kill();
    // The disk of the backups is gone: that is told, too.
    std::fs::remove_dir_all(desk.path().join("backups")).unwrap();
    desk.write("backups", "no folder any more");
    let mut command = desk.command("serve --listen 127.0.0.1:0 --backup-to backups");
    command.args(["--backup-every", "1s"]);
    let server = Server::run(command);
    std::thread::sleep(Duration::from_millis(300));
    let (_, page) = got(&server.address, "/journal");
    assert!(page.contains("backup failed") && page.contains("Last backup"), "{page}");
    for (wrong, said) in [("soon", "write it like 30m, 1h or 1d"), ("0s", "write it like")] {
        let line = format!("serve --dir other --backup-to b --backup-every {wrong}");
        assert!(desk.fails(2, &line).contains(said));
    }
}

#[test]
fn the_journal_is_signed_and_verified_says_who_could_have_changed_what() {
    let desk = Desk::founded();
    let said = desk.done("journal verify");
    assert!(said.contains("not signed: entries 1 to 3. Who can write journal.sqlite"), "{said}");
    assert_eq!(desk.run("journal key").status, 1);
    desk.done("journal sign");
    let key = desk.json("journal key");
    let (digits, pem) = (key["key"].as_str().unwrap(), key["pem"].as_str().unwrap());
    desk.write("laboratory.pem", pem);
    desk.done("person add --by AB EF --name 'Eva Fell' --may test");
    let said = desk.done("journal verify");
    for words in [
        "signed: entries 1 to 3",
        "Without that key nobody could change",
        "The key was taken from the same folder",
        "not signed: entries 4 to 4.",
    ] {
        assert!(said.contains(words), "{words}: {said}");
    }
    for named in ["laboratory.pem", digits] {
        let said = desk.done(&format!("journal verify --public-key {named}"));
        assert!(said.contains("The key is the one that was named"), "{said}");
    }
    let said = desk.done("journal key --new 'the machine was replaced' --by AB");
    assert!(said.contains("the old one vouches for it"), "{said}");
    assert!(desk.fails(3, "journal key --new 'for fun' --by CD").contains("may not manage"));
    let verified = desk.json(&format!("journal verify --public-key {digits}"));
    assert_eq!(verified["signatures"]["until"], 4);
    assert_eq!(verified["signatures"]["keys"].as_array().unwrap().len(), 2);
    // An export with its signatures, without the laboratory.
    let text = desk.done("journal export");
    desk.write("export.jsonl", &text);
    let signatures = desk.path().join("laboratory/signatures.jsonl");
    std::fs::copy(&signatures, desk.path().join("signatures.jsonl")).unwrap();
    let line =
        format!("journal verify export.jsonl --signatures signatures.jsonl --public-key {digits}");
    assert_eq!(desk.json(&line)["good"], true);
    let other = "58".to_owned() + &"6".repeat(62);
    let said = desk.run(&format!("journal verify --public-key {other}"));
    assert_eq!(said.status, 1);
    assert!(said.stdout.contains("none of the signatures is by the key"), "{}", said.stdout);
    assert!(desk.fails(2, "journal verify --public-key x").contains("64 hexadecimal digits"));
    // A changed signature is named.
    let text = std::fs::read_to_string(&signatures).unwrap();
    std::fs::write(&signatures, text.replace("asked for", "asked  or")).unwrap();
    let said = desk.run("journal verify");
    assert!(
        said.status == 1 && said.stdout.contains("WRONG: signatures: line 2"),
        "{}",
        said.stdout
    );
}

#[test]
fn a_lost_end_is_taken_over_by_somebody_with_a_reason() {
    let desk = Desk::founded();
    desk.done("journal sign");
    let journal = desk.path().join("laboratory/journal.sqlite");
    let before = std::fs::read(&journal).unwrap();
    desk.done("person add --by AB EF --name 'Eva Fell' --may test");
    assert!(desk.fails(3, "journal accept-end --by AB --reason x").contains("nothing is missing"));
    std::fs::write(&journal, before).unwrap();
    assert!(
        desk.fails(4, "person add --by AB GH --name 'Gus Hill' --may test")
            .contains("4 to 4 are missing")
    );
    assert!(desk.fails(2, "journal accept-end --by AB --reason ''").contains("--reason"));
    // Only who may manage gives entries up for lost, and nobody who is not known here.
    for by in ["CD", "ZZ"] {
        let refused = desk.fails(3, &format!("journal accept-end --by {by} --reason x"));
        assert!(refused.contains(&format!("{by} may not manage here")), "{refused}");
        assert!(refused.contains("ask AB"), "{refused}");
    }
    let said = desk.done("journal accept-end --by AB --reason 'the disk failed; entered again'");
    assert!(said.contains("entries 4 to 4 are lost"), "{said}");
    desk.done("person add --by AB GH --name 'Gus Hill' --may test");
    let said = desk.done("journal verify");
    assert!(said.contains("LOST, and taken over at"), "{said}");
    assert!(said.contains("entered again (AB)"), "{said}");
}

#[test]
fn an_outside_time_stamp_is_asked_for_and_kept_by_files() {
    let desk = Desk::founded();
    desk.done("journal stamp-request --out request.tsq");
    let read = Command::new("openssl")
        .args(["ts", "-query", "-in", "request.tsq", "-text"])
        .current_dir(desk.path())
        .output();
    match read {
        Ok(read) => {
            let said = String::from_utf8(read.stdout).unwrap();
            assert!(
                said.contains("Hash Algorithm: sha256") && said.contains("Version: 1"),
                "{said}"
            );
        }
        Err(_) => {
            let _ = writeln!(std::io::stderr(), "SKIPPED: openssl is not here to read the request");
        }
    }
    desk.write("answer.tsr", "<html>no</html>");
    let said = desk.fails(2, "journal stamp-keep answer.tsr");
    assert!(said.contains("no answer of a time-stamping authority"), "{said}");
}

#[test]
fn a_missing_attachment_is_named_when_everything_is_verified() {
    let desk = Desk::founded();
    desk.done("item register --by AB BAL-1 --kind balance --name 'bench balance'");
    desk.write("note.txt", "The pan is scratched.\n");
    desk.done("attach --by AB BAL-1 note.txt");
    assert!(desk.done("journal verify").contains("files that facts name: 1"));
    let journal = desk.path().join("laboratory/journal.sqlite");
    let gone = "import sqlite3,sys; c=sqlite3.connect(sys.argv[1]); \
                c.executescript('DROP TRIGGER blob_is_never_removed; DELETE FROM blob;')";
    assert!(Command::new("python3").args(["-c", gone]).arg(&journal).status().unwrap().success());
    let said = desk.run("journal verify");
    assert_eq!(said.status, 1);
    assert!(
        said.stdout.contains("WRONG: the journal is damaged: the attached file"),
        "{}",
        said.stdout
    );
    assert!(
        said.stdout.contains("note.txt") && said.stdout.contains("intact: "),
        "{}",
        said.stdout
    );
    // A backup says so, and is made all the same.
    let said = desk.run("backup backups");
    assert!(said.status == 1 && said.stdout.contains("NOT COPIED"), "{}", said.stdout);
}

#[test]
fn the_log_and_the_figures_name_nobody() {
    let (desk, token) = desk_and_token();
    let mut command = desk.command("serve --listen 127.0.0.1:0 --log json");
    let log = std::fs::File::create(desk.path().join("log")).unwrap();
    let mut child = command.stdout(Stdio::piped()).stderr(log).spawn().unwrap();
    let mut line = String::new();
    let out = child.stdout.take().unwrap();
    std::io::BufRead::read_line(&mut std::io::BufReader::new(out), &mut line).unwrap();
    let address = line.split("http://").nth(1).unwrap().split('/').next().unwrap().to_owned();
    receive(&address, &token);
    got(&address, "/samples?q=secret-words");
    got(&address, "/nowhere/secret-words");
    assert_eq!(got(&address, "/health/live"), (200, "alive\n".to_owned()));
    let (_, figures) = got(&address, "/metrics");
    for wanted in [
        "stonewear_facts 4",
        "stonewear_can_record 1",
        "stonewear_append_seconds_count 1",
        "stonewear_backup_age_seconds -1",
        "stonewear_http_requests_total{method=\"POST\",part=\"interface\",status=\"201\"} 1",
        "stonewear_http_request_seconds_bucket{part=\"page\",le=\"0.001\"}",
        "# TYPE stonewear_journal_bytes gauge",
    ] {
        assert!(figures.contains(wanted), "{wanted}: {figures}");
    }
    // Asked to stop, it finishes and ends well.
    let begun = Instant::now();
    let process = child.id().to_string();
    assert!(Command::new("kill").args(["-TERM", &process]).status().unwrap().success());
    assert!(child.wait().unwrap().success());
    assert!(begun.elapsed() < Duration::from_secs(10));
    let log = std::fs::read_to_string(desk.path().join("log")).unwrap();
    let lines: Vec<Value> = log.lines().map(|line| serde_json::from_str(line).unwrap()).collect();
    assert!(lines.iter().any(|line| line["part"] == "interface" && line["status"] == 201), "{log}");
    assert_eq!(lines.last().unwrap()["message"], "stopped");
    for text in [log.as_str(), figures.as_str()] {
        for name in
            ["Ada", "Brook", "\"AB\"", "Invented", "secret-words", token.as_str(), "nowhere"]
        {
            assert!(!text.contains(name), "{name}: {text}");
        }
    }
    // What it recorded is signed when it stops.
    assert_eq!(desk.json("journal verify")["signatures"]["until"], 4);
}

#[test]
fn a_webhook_is_told_what_was_recorded_last_before_the_program_ends() {
    let (desk, token) = desk_and_token();
    let receiver = TcpListener::bind("127.0.0.1:0").unwrap();
    let place = receiver.local_addr().unwrap();
    desk.done(&format!("webhook add --by AB http://{place}/ --allow-private"));
    let told = std::thread::spawn(move || {
        let (mut stream, _) = receiver.accept().unwrap();
        stream.set_read_timeout(Some(Duration::from_secs(5))).unwrap();
        let mut bytes = vec![0; 65536];
        let count = stream.read(&mut bytes).unwrap();
        stream
            .write_all(b"HTTP/1.1 200 OK\r\nContent-Length: 0\r\nConnection: close\r\n\r\n")
            .unwrap();
        String::from_utf8_lossy(&bytes[..count]).into_owned()
    });
    let server = Server::start(&desk);
    receive(&server.address, &token);
    let process = server.process().to_string();
    assert!(Command::new("kill").args(["-TERM", &process]).status().unwrap().success());
    assert!(told.join().unwrap().contains("webhook-id: W-1.4"));
    let until = Instant::now() + Duration::from_secs(10);
    while desk.json("webhook list")["webhooks"][0]["webhook"]["position"] != 4 {
        assert!(Instant::now() < until, "that it was told is kept");
        std::thread::sleep(Duration::from_millis(50));
    }
}
