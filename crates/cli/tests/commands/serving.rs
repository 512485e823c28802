//! `stonewear serve`: one at a time, on this machine only, and nothing lost when it is killed.

use crate::harness::Desk;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::process::{Child, Command, Stdio};

/// A server that is killed when the test is over, as hard as a power cut would.
pub(crate) struct Server {
    child: Child,
    pub(crate) address: String,
}

impl Server {
    pub(crate) fn start(desk: &Desk) -> Self {
        Self::run(desk.command("serve --listen 127.0.0.1:0"))
    }

    /// Starts it by a command of one's own.
    pub(crate) fn run(mut command: Command) -> Self {
        let mut child = command.stdout(Stdio::piped()).stderr(Stdio::null()).spawn().unwrap();
        let mut line = String::new();
        BufReader::new(child.stdout.take().unwrap()).read_line(&mut line).unwrap();
        let (_, rest) = line.split_once("http://").unwrap_or_else(|| panic!("no address: {line}"));
        let address = rest.split_once('/').unwrap().0.to_owned();
        Self { child, address }
    }

    /// The number of its process.
    pub(crate) fn process(&self) -> u32 {
        self.child.id()
    }

    /// Asks, and gives back the status code and all of the answer.
    pub(crate) fn ask(&self, head: &str, body: &str) -> (u16, String) {
        let mut stream = TcpStream::connect(&self.address).unwrap();
        write!(
            stream,
            "{head} HTTP/1.1\r\nHost: {}\r\nCookie: stonewear-person=AB\r\nConnection: close\r\n\
             Content-Type: application/x-www-form-urlencoded\r\nContent-Length: {}\r\n\r\n{body}",
            self.address,
            body.len()
        )
        .unwrap();
        let mut answer = String::new();
        stream.read_to_string(&mut answer).unwrap();
        let status = answer.split_whitespace().nth(1).and_then(|code| code.parse().ok());
        (status.unwrap_or_else(|| panic!("{answer}")), answer)
    }

    /// Sends the form of a step.
    fn observe(&self, check: &str, step: &str, seen: &str) -> (u16, String) {
        let body = format!("request=observe&check={check}&step={step}&seen={seen}");
        self.ask(&format!("POST /checks/{check}"), &body)
    }

    /// The power fails.
    pub(crate) fn kill(mut self) {
        self.child.kill().unwrap();
        self.child.wait().unwrap();
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        // It may be gone already.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

#[test]
fn every_acknowledged_observation_survives_a_kill() {
    let desk = Desk::founded();
    desk.done("item register --by AB BAL-1 --kind balance --name 'bench balance'");
    let check = desk.fact("check start --by AB BAL-1 balance-check", "check");
    let steps =
        [("stands", "yes"), ("zero", "0.0"), ("mass-1000", "1000.1"), ("mass-5000", "5000.0")];
    // Killed after each acknowledgement, and begun again.
    for (done, (step, seen)) in (1_u64..).zip(steps) {
        let server = Server::start(&desk);
        let (status, answer) = server.observe(&check, step, seen);
        assert_eq!(status, 303, "{answer}");
        server.kill();
        let shown = desk.json(&format!("check show {check}"));
        assert_eq!(shown["steps_done"].as_u64(), Some(done));
        let last = shown["observations"].as_array().unwrap().last().unwrap();
        assert_eq!(last["value"]["step"], step);
    }
    assert_eq!(desk.json("journal verify")["intact"], true);
    let server = Server::start(&desk);
    let (status, page) = server.ask(&format!("GET /checks/{check}"), "");
    assert!(status == 200 && page.contains("Repeatability"), "{page}");
    // A number that is none is shown again, and nothing is recorded.
    let (status, page) = server.observe(&check, "repeatability", "lots");
    assert!(status == 422 && page.contains("lots"), "{page}");
    assert_eq!(server.observe(&check, "repeatability", "1000.1&less=1000.0").0, 303);
    drop(server);
    assert_eq!(desk.json(&format!("check show {check}"))["state"], "passed");
}

#[test]
fn a_folder_is_served_once() {
    let desk = Desk::founded();
    let server = Server::start(&desk);
    insta::assert_snapshot!(desk.fails(4, "serve --listen 127.0.0.1:0"), @r"stonewear: the laboratory in laboratory is open in another program (process [ID]); stop that one first, or use its page");
    // To change it by command is refused for the same reason; to read it is not.
    let said = desk.fails(4, "person add --by AB EF --name 'Eva Fell' --may test");
    assert!(said.contains("is open in another program"), "{said}");
    assert!(desk.done("show").starts_with("Invented Laboratory"));
    assert_eq!(desk.json("journal verify")["intact"], true);
    drop(server);
    desk.done("person add --by AB EF --name 'Eva Fell' --may test");
}

#[test]
fn a_damaged_journal_is_served_for_reading_only() {
    let desk = Desk::founded();
    desk.damage_journal();
    let server = Server::start(&desk);
    let (status, page) = server.ask("GET /", "");
    assert!(status == 200 && page.contains("entry 2"), "{page}");
    let form = "request=add-person&code=EF&name=Eva+Fell&rights.0=test";
    let (status, page) = server.ask("POST /people", form);
    assert!(status == 422 && page.contains("Nothing can be recorded: "), "{page}");
}

#[test]
fn the_page_is_for_this_machine_only() {
    let desk = Desk::founded();
    insta::assert_snapshot!(desk.fails(2, "serve --listen here"), @r"stonewear: --listen: “here” is not an address; write it like 127.0.0.1:7640");
    let server = Server::start(&desk);
    let taken = desk.path().join("other");
    std::fs::create_dir(&taken).unwrap();
    let said = desk.fails(4, &format!("serve --dir other --listen {}", server.address));
    assert!(said.contains("cannot be listened on"), "{said}");
}
