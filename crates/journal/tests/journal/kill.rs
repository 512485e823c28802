//! Law 3: what was acknowledged survives `kill -9`.

use crate::support::{draft, some_drafts};
use serde_json::json;
use std::io::{BufRead, BufReader, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::Duration;
use stonewear_journal::{Entry, SqliteStore, Store, verify};

/// Names the journal to the child.
const JOURNAL: &str = "STONEWEAR_TEST_JOURNAL";

/// Not a test of its own: the process that the test below kills. Appends batches of one to
/// several facts without end and says each position once it is acknowledged.
#[test]
#[ignore = "the child of the test beside it"]
fn appends_until_killed() {
    let Some(path) = std::env::var_os(JOURNAL).map(PathBuf::from) else { return };
    let mut store = SqliteStore::open(&path).unwrap();
    let mut out = std::io::stdout().lock();
    for round in 0_u64.. {
        let mut drafts = some_drafts(round % 7);
        // Now and then a long one, so that a kill falls within the writing of many pages.
        drafts.push(draft("long", json!({"text": "x".repeat(1 << (round % 17))})));
        let head = store.head().unwrap();
        let entries = store.append(head, &drafts).unwrap();
        let Entry { position, hash, .. } = entries.last().unwrap();
        writeln!(out, "acknowledged {position} {hash}").unwrap();
        out.flush().unwrap();
    }
}

fn start(path: &Path) -> Child {
    Command::new(std::env::current_exe().unwrap())
        .args(["--exact", "kill::appends_until_killed", "--ignored", "--nocapture"])
        .env(JOURNAL, path)
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .unwrap()
}

#[test]
fn nothing_acknowledged_is_lost_to_a_kill() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("journal.sqlite");
    drop(SqliteStore::create(&path).unwrap());
    let mut before = 0;
    for round in 0..16_u64 {
        let mut child = start(&path);
        let mut lines = BufReader::new(child.stdout.take().unwrap()).lines().map(Result::unwrap);
        // Once it is at work, a delay of another length each time; the machine adds its own.
        let mut last = lines.find(|line| line.contains("acknowledged "));
        assert!(last.is_some(), "the child appends");
        std::thread::sleep(Duration::from_micros(round * round * 331));
        child.kill().unwrap();
        child.wait().unwrap();
        // What it said before it was killed; a line cut short by the kill was not said.
        last = lines.filter(|line| line.starts_with("acknowledged ")).last().or(last);
        let last = last.unwrap();
        let words: Vec<&str> = last.split_once("acknowledged ").unwrap().1.split(' ').collect();
        let position: u64 = words[0].parse().unwrap();
        assert!(position > before);

        let store = SqliteStore::open_read_only(&path).unwrap();
        let verification = verify(&store).unwrap();
        assert!(verification.intact(), "{:?}", verification.what());
        assert!(verification.facts >= position, "{position} was acknowledged");
        let mut hash = None;
        let end = store.read_from(position, &mut |raw| {
            hash = Some(raw.hash.to_string());
            std::ops::ControlFlow::Break(())
        });
        assert_eq!(end.unwrap(), verification.head);
        assert_eq!(hash.as_deref(), words.get(1).copied());
        before = verification.facts;
    }
}
