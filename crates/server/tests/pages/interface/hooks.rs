//! Webhooks: told in order, signed, tried again, known after a restart.

use super::program::{Program, json, sample};
use crate::site::Site;
use serde_json::Value;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::{TcpListener, TcpStream};
use std::sync::mpsc::{Receiver, channel};
use std::time::Duration;
use stonewear_access::{Access, Hook, HookState, NewHook, Scope};

/// What a receiver was sent.
struct Told {
    headers: Vec<(String, String)>,
    body: Vec<u8>,
}

impl Told {
    fn header(&self, name: &str) -> &str {
        let found = self.headers.iter().find(|(known, _)| known == name);
        found.map(|(_, value)| value.as_str()).unwrap_or_else(|| panic!("no header {name}"))
    }

    fn body(&self) -> Value {
        serde_json::from_slice(&self.body).unwrap()
    }
}

/// A receiver on this machine that answers with these statuses in turn, and then with the last.
fn receiver(statuses: &'static [&'static str]) -> (String, Receiver<Told>) {
    let listener = TcpListener::bind("127.0.0.1:0").unwrap();
    let url = format!("http://{}/news", listener.local_addr().unwrap());
    let (sender, told) = channel();
    std::thread::spawn(move || {
        for (count, stream) in listener.incoming().flatten().enumerate() {
            let status = statuses[count.min(statuses.len() - 1)];
            let Some(heard) = heard(&stream) else { continue };
            let mut stream = stream;
            let answer =
                format!("HTTP/1.1 {status}\r\nContent-Length: 0\r\nConnection: close\r\n\r\n");
            let _ = stream.write_all(answer.as_bytes());
            if sender.send(heard).is_err() {
                return;
            }
        }
    });
    (url, told)
}

fn heard(stream: &TcpStream) -> Option<Told> {
    let mut reader = BufReader::new(stream);
    let mut headers = Vec::new();
    let mut line = String::new();
    reader.read_line(&mut line).ok()?;
    assert!(line.starts_with("POST /news "), "{line}");
    loop {
        line.clear();
        reader.read_line(&mut line).ok()?;
        let Some((name, value)) = line.trim_end().split_once(':') else { break };
        headers.push((name.to_ascii_lowercase(), value.trim().to_owned()));
    }
    let length = headers.iter().find(|(name, _)| name == "content-length")?.1.parse().ok()?;
    let mut body = vec![0; length];
    reader.read_exact(&mut body).ok()?;
    Some(Told { headers, body })
}

fn hook(site: &Site, url: &str, kinds: &[&str], position: u64) -> (Access, Hook) {
    let access = Access::open(site.folder()).unwrap();
    let kinds: Vec<String> = kinds.iter().map(|kind| (*kind).to_owned()).collect();
    let new = NewHook { url, kinds: &kinds, allow_private: true, made_by: "AB", position };
    let hook = access.add_hook(&new, "2026-11-26T08:00:00Z".parse().unwrap()).unwrap();
    (access, hook)
}

#[track_caller]
fn next(told: &Receiver<Told>) -> Told {
    told.recv_timeout(Duration::from_secs(20)).expect("it is told in time")
}

#[track_caller]
fn until(what: &str, is_so: impl Fn() -> bool) {
    for _ in 0..400 {
        if is_so() {
            return;
        }
        std::thread::sleep(Duration::from_millis(50));
    }
    panic!("{what}: not in time");
}

#[test]
fn facts_are_told_in_order_and_signed() {
    let site = Site::founded_with_hooks();
    let (url, told) = receiver(&["204 No Content"]);
    let (access, hook) = hook(&site, &url, &[], 1);
    let program = Program::new(&site, "AB", Scope::Record);
    let receipt = json(&program.ask("receive-sample", &sample("bench 1")));
    let first = next(&told);
    assert_eq!(first.body()["type"], "person-added", "what came behind its place, first");
    let second = next(&told);
    assert_eq!(second.body()["data"], receipt["facts"][0]);
    assert_eq!(second.header("webhook-id"), "W-1.3");
    let timestamp: i64 = second.header("webhook-timestamp").parse().unwrap();
    let signed = hook.signature("W-1.3", timestamp, &second.body);
    assert_eq!(second.header("webhook-signature"), signed);
    assert_ne!(signed, hook.signature("W-1.3", timestamp, b"{}"), "the body is signed, too");
    assert_eq!(second.header("content-type"), "application/json");
    until("noted", || access.hook("W-1").unwrap().unwrap().position == 3);
}

#[test]
fn what_is_not_wanted_is_passed_over() {
    let site = Site::founded_with_hooks();
    let (url, told) = receiver(&["200 OK"]);
    let (access, _) = hook(&site, &url, &["sample-received"], 0);
    let program = Program::new(&site, "AB", Scope::Manage);
    let person = serde_json::json!({ "code": "CD", "name": "Carl Drum", "rights": ["test"] });
    assert_eq!(program.ask("add-person", &person).status, 201);
    assert_eq!(program.ask("receive-sample", &sample("bench 1")).status, 201);
    assert_eq!(next(&told).header("webhook-id"), "W-1.4");
    until("all is passed over", || access.hook("W-1").unwrap().unwrap().position == 4);
    assert!(told.try_recv().is_err(), "nothing else was told");
}

#[test]
fn a_refused_message_is_tried_again_and_nothing_is_told_before_it() {
    let site = Site::founded_with_hooks();
    let (url, told) = receiver(&["500 Internal Server Error", "302 Found", "200 OK"]);
    let (access, _) = hook(&site, &url, &["sample-received"], 0);
    let program = Program::new(&site, "AB", Scope::Record);
    for bench in ["bench 1", "bench 2"] {
        assert_eq!(program.ask("receive-sample", &sample(bench)).status, 201);
    }
    assert_eq!(next(&told).header("webhook-id"), "W-1.3");
    until("noted", || access.hook("W-1").unwrap().unwrap().failures == 1);
    let failing = access.hook("W-1").unwrap().unwrap();
    assert!(failing.trouble.contains("500"), "{}", failing.trouble);
    assert_eq!(failing.state(failing.failing_since.unwrap()), HookState::Waiting);
    let page = site.get("/programs");
    page.is_a_good_page();
    assert!(page.text().contains("failing") && page.text().contains("500"), "{}", page.text());
    // The first wait is five seconds.
    assert_eq!(next(&told).header("webhook-id"), "W-1.3", "the same one again");
    until("a redirect is no success", || access.hook("W-1").unwrap().unwrap().failures == 2);
    assert!(access.hook("W-1").unwrap().unwrap().trouble.contains("not followed"));
    let [third, fourth] = [next(&told), next(&told)];
    assert_eq!([third.header("webhook-id"), fourth.header("webhook-id")], ["W-1.3", "W-1.4"]);
    until("all is well", || access.hook("W-1").unwrap().unwrap().failures == 0);
}

#[test]
fn a_hook_goes_on_where_it_was_after_a_restart() {
    let site = Site::founded_with_hooks();
    let (url, told) = receiver(&["200 OK"]);
    let (access, _) = hook(&site, &url, &["sample-received"], 0);
    let token = {
        let program = Program::new(&site, "AB", Scope::Record);
        assert_eq!(program.ask("receive-sample", &sample("bench 1")).status, 201);
        program.token
    };
    assert_eq!(next(&told).header("webhook-id"), "W-1.3");
    until("noted", || access.hook("W-1").unwrap().unwrap().position == 3);
    // While nobody carries anything, more is recorded.
    let site = site.restarted();
    let program = Program { site: &site, token: token.clone() };
    assert_eq!(program.ask("receive-sample", &sample("bench 2")).status, 201);
    let site = site.restarted_with_hooks();
    assert_eq!(next(&told).header("webhook-id"), "W-1.4", "and not the one before again");
    drop(site);
}

#[test]
fn a_private_address_that_nobody_allowed_is_not_called() {
    let site = Site::founded_with_hooks();
    let (url, told) = receiver(&["200 OK"]);
    let access = Access::open(site.folder()).unwrap();
    let new = NewHook { url: &url, kinds: &[], allow_private: false, made_by: "AB", position: 0 };
    access.add_hook(&new, "2026-11-26T08:00:00Z".parse().unwrap()).unwrap();
    until("it is refused", || access.hook("W-1").unwrap().unwrap().failures > 0);
    let trouble = access.hook("W-1").unwrap().unwrap().trouble;
    assert!(trouble.contains("private network"), "{trouble}");
    assert!(told.try_recv().is_err(), "nobody called");
}
