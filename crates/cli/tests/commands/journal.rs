//! `stonewear journal`: verified, exported, damaged.

use crate::harness::Desk;
use std::io::Read;
use std::path::Path;
use std::process::{Command, Stdio};

/// Verifies with the short script of the documentation: another language, no library of ours.
fn verified_elsewhere(export: &Path) -> (bool, String) {
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../docs/verify_journal.py");
    let output = Command::new("python3").arg(script).arg(export).output().unwrap();
    let text = [output.stdout, output.stderr].concat();
    (output.status.success(), String::from_utf8(text).unwrap().trim_end().to_owned())
}

fn exported(desk: &Desk) -> String {
    let text = desk.done("journal export");
    desk.write("export.jsonl", &text);
    text
}

#[test]
fn an_export_is_verified_by_the_program_and_by_a_script_in_another_language() {
    let desk = Desk::founded();
    let text = exported(&desk);
    let head = desk.json("journal verify")["head"].as_str().unwrap().to_owned();
    let verified = desk.json("journal verify export.jsonl");
    let whole = desk.json("journal verify --dir laboratory");
    for told in ["facts", "head", "intact", "broken_at", "what"] {
        assert_eq!(verified[told], whole[told], "{told}");
    }
    assert_eq!((verified["facts"].as_u64(), verified["intact"].as_bool()), (Some(3), Some(true)));
    assert_eq!(verified["broken_at"], serde_json::Value::Null);
    let (intact, said) = verified_elsewhere(&desk.path().join("export.jsonl"));
    assert_eq!((intact, said), (true, format!("intact: 3 entries, {head}")));
    // With --json nothing follows the lines.
    assert_eq!(desk.done("journal export --json"), text);
}

#[test]
fn one_changed_byte_is_found_at_its_place_by_both() {
    let desk = Desk::founded();
    let text = exported(&desk);
    let changed = text.replace("Ada Brook", "Ada Crook");
    assert_ne!(changed, text);
    let path = desk.write("changed.jsonl", &changed);
    let (intact, said) = verified_elsewhere(&path);
    assert!(!intact && said.starts_with("broken at line 2: "), "{said}");
    let verdict = desk.run("journal verify changed.jsonl --json");
    assert_eq!((verdict.status, verdict.stderr.as_str()), (1, ""));
    let verdict: serde_json::Value = serde_json::from_str(&verdict.stdout).unwrap();
    assert_eq!(
        (verdict["intact"].as_bool(), verdict["broken_at"].as_u64()),
        (Some(false), Some(2))
    );
    insta::assert_snapshot!(desk.told("journal verify changed.jsonl"), @r"
    BROKEN: line 2, entry 2: its text does not match its hash: one of the two was changed after it was written
    [exit status 1]
    ");
    // A missing line, and two that changed places.
    let lines: Vec<&str> = text.lines().collect();
    for (broken, at) in [(vec![lines[0], lines[2]], 2), (vec![lines[0], lines[2], lines[1]], 2)] {
        desk.write("broken.jsonl", &(broken.join("\n") + "\n"));
        let verdict = desk.run("journal verify broken.jsonl --json");
        let document: serde_json::Value = serde_json::from_str(&verdict.stdout).unwrap();
        assert_eq!((verdict.status, document["broken_at"].as_u64()), (1, Some(at)));
    }
}

#[test]
fn a_damaged_laboratory_takes_no_more_facts_and_names_the_place() {
    let desk = Desk::founded();
    desk.damage_journal();
    let verdict = desk.run("journal verify");
    assert_eq!(verdict.status, 1, "{}", verdict.stderr);
    assert!(verdict.stdout.starts_with("BROKEN: entry 2"), "{}", verdict.stdout);
    let said = desk.fails(4, "person add --by AB EF --name 'Eva Fell' --may test");
    assert!(said.starts_with("stonewear: the journal is damaged: entry 2"), "{said}");
    // What comes before the damage can still be had, with the warning.
    let export = desk.run("journal export");
    assert_eq!((export.status, export.stdout.lines().count()), (4, 1), "{}", export.stderr);
    assert!(
        export.stderr.contains("only what comes before the damage was exported"),
        "{}",
        export.stderr
    );
}

#[test]
fn a_reader_that_goes_away_is_no_failure() {
    let desk = Desk::new();
    desk.done("demo --dir D --found-only");
    let mut command = desk.command("journal export --dir D");
    let mut child = command.stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
    let mut stdout = child.stdout.take().unwrap();
    stdout.read_exact(&mut [0; 1]).unwrap();
    drop(stdout);
    let output = child.wait_with_output().unwrap();
    assert_eq!(
        (output.status.code(), String::from_utf8_lossy(&output.stderr).as_ref()),
        (Some(0), "")
    );
}

#[test]
fn what_cannot_be_verified_is_said() {
    let desk = Desk::founded();
    assert!(desk.fails(4, "journal verify none.jsonl").starts_with("stonewear: none.jsonl: "));
    assert!(
        desk.fails(2, "journal verify export.jsonl --dir laboratory")
            .contains("cannot be used with")
    );
}
