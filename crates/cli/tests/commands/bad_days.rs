//! The bad days of a machine: a full disk, a quota, a disk that can only be read, a clock that was set
//! back, a write-ahead log that lost its tail. Whatever was acknowledged stays; pages can be read; an
//! entry is refused with what to do; and recording goes on by itself where it can.

use crate::harness::{Desk, PROGRAM};
use crate::serving::Server;
use std::fs::OpenOptions;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::Command;

/// A small disk of its own, which only root may mount.
struct SmallDisk(PathBuf);

impl SmallDisk {
    /// `None`, and why on stderr, where nothing may be mounted.
    fn at(path: PathBuf) -> Option<Self> {
        std::fs::create_dir(&path).unwrap();
        let mounted = run("mount", &["-t", "tmpfs", "-o", "size=3m", "none"], &path);
        if !mounted {
            let _ = writeln!(std::io::stderr(), "SKIPPED: this user may not mount a small disk");
        }
        mounted.then_some(Self(path))
    }

    /// Fills it to the last byte.
    fn fill(&self) {
        let mut ballast = std::fs::File::create(self.0.join("ballast")).unwrap();
        let mut size = 64 * 1024;
        while size > 0 {
            if ballast.write_all(&vec![1; size]).is_err() {
                size /= 2;
            }
        }
    }

    fn make_room(&self) {
        std::fs::remove_file(self.0.join("ballast")).unwrap();
    }

    fn becomes(&self, mode: &str) {
        assert!(run("mount", &["-o", &format!("remount,{mode}")], &self.0), "remount {mode}");
    }
}

impl Drop for SmallDisk {
    fn drop(&mut self) {
        // Lazily: a server that was just killed may still hold it for a moment.
        run("umount", &["--lazy"], &self.0);
    }
}

fn run(program: &str, words: &[&str], path: &Path) -> bool {
    let output = Command::new(program).args(words).arg(path).output();
    output.is_ok_and(|output| output.status.success())
}

/// Sends samples until one is refused: how many were taken, and the page of the refusal.
fn samples_until_refused(server: &Server) -> (u64, String) {
    for taken in 0..5000 {
        let (status, answer) = receive(server);
        if status != 303 {
            assert_eq!(status, 422, "{answer}");
            return (taken, answer);
        }
    }
    panic!("nothing stops it");
}

fn receive(server: &Server) -> (u16, String) {
    let long = "damp ".repeat(80).replace(' ', "+");
    let form = format!(
        "request=receive-sample&source=Invented+pit&material=crushed+stone&nominal_maximum_mm=19.0&condition={long}"
    );
    server.ask("POST /samples/new", &form)
}

fn facts(desk: &Desk, folder: &str) -> u64 {
    let verified = desk.json(&format!("journal verify --dir {folder}"));
    assert_eq!(verified["intact"], true, "{verified}");
    verified["facts"].as_u64().unwrap()
}

const FOUND: &str = "found --name 'Invented Laboratory' --address '1 Invented Road' \
                     --founder AB --founder-name 'Ada Brook'";

fn serve(desk: &Desk, folder: &str) -> Server {
    Server::run(desk.command(&format!("serve --listen 127.0.0.1:0 --dir {folder}")))
}

#[test]
fn on_a_full_disk_everything_can_be_read_and_recording_goes_on_when_there_is_room() {
    let desk = Desk::new();
    let Some(disk) = SmallDisk::at(desk.path().join("disk")) else { return };
    desk.done(&format!("{FOUND} --dir disk/laboratory"));
    let made = desk.json(
        "token new --dir disk/laboratory --by AB --person AB --scope read --name 'results screen'",
    );
    let token = made["secret"].as_str().unwrap();
    let server = serve(&desk, "disk/laboratory");
    let (mut taken, _) = (0, ());
    for _ in 0..3 {
        assert_eq!(receive(&server).0, 303);
        taken += 1;
    }
    disk.fill();
    let (more, refused) = samples_until_refused(&server);
    taken += more;
    assert!(refused.contains("the disk is full"), "{refused}");
    assert!(refused.contains("Invented pit"), "what was typed stays: {refused}");
    // The page says so before anybody types again, and still offers the form.
    let (status, page) = server.ask("GET /samples/new", "");
    assert!(status == 200 && page.contains("The disk is full."), "{page}");
    assert!(page.contains("Make room on the disk") && page.contains("<form"), "{page}");
    // Programs can read, too, although the use of their token cannot be noted.
    let head =
        format!("GET /api/v1/laboratory HTTP/1.1\r\nAuthorization: Bearer {token}\r\nX-Rest:");
    let (status, answer) = server.ask(&head, "");
    assert!(status == 200 && answer.contains("Make room"), "{answer}");
    assert_eq!(facts(&desk, "disk/laboratory"), 2 + taken);
    // Begun anew on the full disk: the same.
    server.kill();
    let server = serve(&desk, "disk/laboratory");
    assert_eq!(server.ask("GET /samples", "").0, 200);
    let (more, _) = samples_until_refused(&server);
    taken += more;
    disk.make_room();
    let (_, page) = server.ask("GET /samples/new", "");
    assert!(!page.contains("Nothing can be recorded"), "it goes on by itself: {page}");
    assert_eq!(receive(&server).0, 303);
    assert_eq!(facts(&desk, "disk/laboratory"), 2 + taken + 1);
}

#[test]
fn at_a_quota_nothing_is_lost_and_recording_goes_on_when_it_is_lifted() {
    let desk = Desk::new();
    desk.done(FOUND);
    // The largest file in blocks of 512 bytes; the signal that would end the program is ignored, as
    // where a quota says no.
    let limited =
        format!("trap '' XFSZ; ulimit -S -f 400; exec '{PROGRAM}' serve --listen 127.0.0.1:0");
    let mut command = Command::new("sh");
    command.args(["-c", &limited]).current_dir(desk.path());
    let server = Server::run(command);
    let (taken, refused) = samples_until_refused(&server);
    assert!(taken > 3, "{taken}");
    assert!(refused.contains("the disk does not take what is written"), "{refused}");
    let (status, page) = server.ask("GET /", "");
    assert!(status == 200 && page.contains("its quota and its cables"), "{page}");
    assert_eq!(facts(&desk, "laboratory"), 2 + taken);
    let process = server.process().to_string();
    let lifted = Command::new("prlimit").args(["--pid", &process, "--fsize=unlimited"]).status();
    assert!(lifted.unwrap().success());
    assert_eq!(receive(&server).0, 303);
    let (_, page) = server.ask("GET /", "");
    assert!(!page.contains("Nothing can be recorded"), "{page}");
    assert_eq!(facts(&desk, "laboratory"), 2 + taken + 1);
}

#[test]
fn on_a_disk_that_can_only_be_read_pages_are_served_without_forms() {
    let desk = Desk::new();
    let Some(disk) = SmallDisk::at(desk.path().join("disk")) else { return };
    desk.done(&format!("{FOUND} --dir disk/laboratory"));
    // Once as it was put away, once as a kill left it, with its write-ahead log.
    for is_killed in [false, true] {
        if is_killed {
            let server = serve(&desk, "disk/laboratory");
            assert_eq!(receive(&server).0, 303);
            server.kill();
        }
        disk.becomes("ro");
        let server = serve(&desk, "disk/laboratory");
        let (status, page) = server.ask("GET /samples/new", "");
        assert!(status == 200, "{page}");
        assert!(page.contains("The folder of the laboratory can only be read."), "{page}");
        assert!(page.contains("Let the program write in this folder"), "{page}");
        assert!(!page.contains("name=\"source\""), "no form is offered: {page}");
        let (status, page) = receive(&server);
        assert!(status == 422 && page.contains("can only be read"), "{page}");
        assert_eq!(facts(&desk, "disk/laboratory"), 2 + u64::from(is_killed));
        server.kill();
        disk.becomes("rw");
    }
    let server = serve(&desk, "disk/laboratory");
    assert_eq!(receive(&server).0, 303);
    assert_eq!(facts(&desk, "disk/laboratory"), 2 + 1 + 1);
}

/// Records a fact an hour from now, as a clock that ran ahead does.
fn ahead_of_time(desk: &Desk) -> jiff::Timestamp {
    use stonewear_runtime::{Clock, OpenLaboratory};
    let mut laboratory = OpenLaboratory::open(&desk.path().join("laboratory")).unwrap();
    let later = Clock::Machine.now() + jiff::SignedDuration::from_hours(1);
    laboratory.set_clock(Clock::Standing(later));
    let person = stonewear_lab::request::AddPerson {
        code: "EF".into(),
        name: "Eva Fell".into(),
        rights: vec!["test".into()],
    };
    laboratory.submit("AB", None, &person.into()).unwrap();
    later
}

#[test]
fn a_clock_that_went_back_gives_no_time_to_a_fact_until_somebody_says_which_is_right() {
    let desk = Desk::new();
    desk.done(FOUND);
    let later = ahead_of_time(&desk);
    let server = Server::start(&desk);
    let (status, page) = server.ask("GET /samples/new", "");
    assert!(status == 200 && page.contains("The clock of the machine shows"), "{page}");
    assert!(page.contains("Set the clock of the machine") && page.contains("<form"), "{page}");
    let (status, page) = receive(&server);
    assert!(status == 422 && page.contains(&format!("recorded at {later:.0}")), "{page}");
    server.kill();
    let said = desk.fails(4, "person add --by AB GH --name 'Gus Hill' --may test");
    assert!(said.contains("The clock of the machine shows"), "{said}");
    assert_eq!(facts(&desk, "laboratory"), 3);
    let mut command = desk.command("serve --listen 127.0.0.1:0");
    command.arg("--clock-is-right");
    let server = Server::run(command);
    assert_eq!(receive(&server).0, 303);
    server.kill();
    // The fact carries the time at which it was recorded, which is before the one before it.
    let journal = desk.done("journal export");
    let last: serde_json::Value = serde_json::from_str(journal.lines().last().unwrap()).unwrap();
    let at: jiff::Timestamp = last["at"].as_str().unwrap().parse().unwrap();
    assert!(at < later, "{at} {later}");
    // From then on nothing stands in the way any more.
    desk.done("person add --by AB GH --name 'Gus Hill' --may test");
    assert_eq!(facts(&desk, "laboratory"), 5);
}

#[test]
fn a_write_ahead_log_that_lost_its_tail_is_found_and_named() {
    for lost in [1, 4000, 9000] {
        let desk = Desk::new();
        desk.done(FOUND);
        let server = Server::start(&desk);
        for _ in 0..6 {
            assert_eq!(receive(&server).0, 303);
        }
        server.kill();
        let log = desk.path().join("laboratory/journal.sqlite-wal");
        let length = std::fs::metadata(&log).unwrap().len();
        OpenOptions::new().write(true).open(&log).unwrap().set_len(length - lost).unwrap();
        let verified = desk.run("journal verify --json");
        assert_eq!(verified.status, 1, "{}", verified.stderr);
        let said: serde_json::Value = serde_json::from_str(&verified.stdout).unwrap();
        let (there, at) = (said["facts"].as_u64().unwrap(), said["broken_at"].as_u64().unwrap());
        assert!(there < 8 && at == there + 1, "{said}");
        let what = format!("entry {at}: the end is cut off: entries {at} to 8 are missing");
        assert_eq!(said["what"], what.as_str());
        // What is left can be read; nothing is written over the gap.
        let server = Server::start(&desk);
        let (status, page) = server.ask("GET /samples", "");
        assert!(status == 200 && page.contains(&what), "{page}");
        let (status, page) = receive(&server);
        assert!(status == 422 && page.contains("Nothing can be recorded"), "{page}");
    }
}
