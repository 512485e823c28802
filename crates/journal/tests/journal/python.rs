//! Law 7: somebody who has only the published page and another language's standard library can
//! verify an export. The program printed on the page is run here.

use crate::export::exported;
use crate::support::{any_batches, append, memory};
use proptest::strategy::{Strategy, ValueTree};
use proptest::test_runner::TestRunner;
use std::path::{Path, PathBuf};
use std::process::Command;
use stonewear_journal::{MemoryStore, Store, verify_export};

fn docs() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../docs")
}

/// Runs the program over `text`: whether it agrees, and what it says.
fn python(text: &[u8], head: Option<&str>) -> (bool, String) {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("export.jsonl");
    std::fs::write(&file, text).unwrap();
    let output = Command::new("python3")
        .arg(docs().join("verify_journal.py"))
        .arg(&file)
        .args(head)
        .output()
        .expect("python3 runs: this test needs Python 3 (on Debian: apt-get install python3)");
    let said = [output.stdout, output.stderr].concat();
    (output.status.success(), String::from_utf8(said).unwrap())
}

#[test]
fn the_page_prints_the_program_and_it_is_short() {
    let program = std::fs::read_to_string(docs().join("verify_journal.py")).unwrap();
    let page = std::fs::read_to_string(docs().join("journal-format.md")).unwrap();
    assert!(page.contains(&format!("```python\n{program}```\n")), "page and program are the same");
    assert!(program.lines().count() <= 20, "{} lines", program.lines().count());
    assert!(page.contains(&stonewear_journal::Hash::GENESIS.to_string()));
}

#[test]
fn python_agrees_on_what_is_intact() {
    let mut runner = TestRunner::deterministic();
    let mut store = MemoryStore::default();
    for _ in 0..40 {
        let batches = any_batches().new_tree(&mut runner).unwrap().current();
        append(&mut store, &batches.concat());
    }
    let head = store.head().unwrap();
    assert!(head.position > 100);
    let text = exported(&store);
    let last = head.hash.to_string();
    for noted in [None, Some(last.as_str())] {
        let (agrees, said) = python(text.as_bytes(), noted);
        assert!(agrees, "{said}");
        assert_eq!(said.trim_end(), format!("intact: {} entries, {last}", head.position));
    }
}

#[test]
fn python_agrees_on_what_is_broken() {
    let store = memory(5);
    let text = exported(&store);
    let lines: Vec<&str> = text.split_inclusive('\n').collect();
    let swapped = [lines[0], lines[2], lines[1], lines[3], lines[4]].concat();
    let with = |from: &str, to: &str| {
        let line = lines[2].replace(from, to);
        [lines[0], lines[1], &line, lines[3], lines[4]].concat()
    };
    let cases = [
        (with("12.5", "12.6"), 3),
        (with("\"n\":2", "\"n\": 2"), 3),
        (with("\"n\":2", "\"n\":2.5"), 3),
        (with("\"n\":2", "\"n\":NaN"), 3),
        (with("\"by\":\"mk\"", "\"by\":\"mk\",\"by\":\"mk\""), 3),
        (with("weighed", "w\\ud800ighed"), 3),
        (lines[1..].concat(), 1),
        ([lines[0], lines[2]].concat(), 2),
        ([lines[0], lines[0], lines[1]].concat(), 2),
        (swapped, 2),
        (text.replace('\n', "\r\n"), 1),
        (format!("\u{feff}{text}"), 1),
        (format!("{text}\n"), 6),
        (text.trim_end().to_owned(), 5),
        ("garbage\n".into(), 1),
        (format!("{}\n", "[".repeat(100_000)), 1),
    ];
    for (damaged, line) in cases {
        let ours = verify_export(damaged.as_bytes(), None).unwrap().broken.unwrap();
        let (agrees, said) = python(damaged.as_bytes(), None);
        assert_eq!(ours.line, Some(line), "{damaged}");
        assert!(!agrees && said.starts_with(&format!("broken at line {line}:")), "{said}");
        assert!(!said.contains("Traceback"), "{said}");
    }
}

#[test]
fn python_finds_a_cut_tail_with_the_noted_head() {
    let store = memory(5);
    let text = exported(&store);
    let cut: String = text.split_inclusive('\n').take(3).collect();
    assert!(python(cut.as_bytes(), None).0);
    let (agrees, said) = python(cut.as_bytes(), Some(&store.head().unwrap().hash.to_string()));
    assert!(!agrees);
    assert!(said.starts_with("broken at line 3: the end is not"), "{said}");
}
