//! Damage of all sorts to a laboratory's files: named, never written over, never a panic.

#![allow(clippy::unwrap_used, reason = "a test that fails here says where")]

use rand::{RngExt, SeedableRng};
use std::path::Path;
use stonewear_lab::request::{AddPerson, FoundLaboratory};
use stonewear_runtime::{OpenError, OpenLaboratory, SubmitError, export, verify_folder};

fn person(code: &str) -> AddPerson {
    AddPerson { code: code.into(), name: format!("Person {code}"), rights: vec!["test".into()] }
}

/// A code of a person, by number: AAA, AAB, …
fn code(number: u32) -> String {
    let letter =
        |place: u32| char::from(b'A' + u8::try_from(number / 26_u32.pow(place) % 26).unwrap());
    [letter(2), letter(1), letter(0)].iter().collect()
}

fn laboratory(folder: &Path, people: u32) -> OpenLaboratory {
    let mut laboratory = OpenLaboratory::open(folder).unwrap();
    let founding = FoundLaboratory {
        name: "Invented laboratory".into(),
        address: "1 Invented Street".into(),
        founder_code: "AB".into(),
        founder_name: "Ada Brook".into(),
        invented: "no".into(),
        time_zone: String::new(),
    };
    laboratory.submit("", None, &founding.into()).unwrap();
    for number in 0..people {
        laboratory.submit("AB", None, &person(&code(number)).into()).unwrap();
    }
    laboratory
}

fn exported(folder: &Path) -> Vec<u8> {
    let mut text = Vec::new();
    let _ = export(folder, &mut text).unwrap();
    text
}

#[test]
fn flipped_bytes_anywhere_are_found_or_change_nothing_that_was_said() {
    let folder = tempfile::tempdir().unwrap();
    drop(laboratory(folder.path(), 60));
    let path = folder.path().join("journal.sqlite");
    let good = std::fs::read(&path).unwrap();
    let said = exported(folder.path());
    let mut chance = rand_xoshiro::Xoshiro256PlusPlus::seed_from_u64(7);
    let (mut named, mut unopened) = (0, 0);
    for _ in 0..120 {
        let mut bytes = good.clone();
        // A sector that went bad, or a single bit.
        let at = chance.random_range(0..bytes.len());
        let until = if chance.random() { at + 1 } else { bytes.len().min(at + 512) };
        bytes[at..until].iter_mut().for_each(|byte| *byte ^= 0x55);
        std::fs::write(&path, &bytes).unwrap();
        match OpenLaboratory::open_whatever_its_state(folder.path()) {
            Ok(mut open) => {
                let before = open.head();
                match open.damage().cloned() {
                    Some(damage) => {
                        named += 1;
                        assert!(damage.to_string().starts_with("entry "), "{damage}");
                        let refused = open.submit("AB", None, &person("ZZZ").into());
                        assert!(matches!(refused, Err(SubmitError::ReadOnly(_))), "{refused:?}");
                        assert_eq!(open.head(), before);
                        drop(open);
                        // What comes before the damage is what was written.
                        let mut text = Vec::new();
                        if export(folder.path(), &mut text).is_ok() {
                            assert!(said.starts_with(&text));
                        }
                    }
                    None => {
                        drop(open);
                        assert_eq!(exported(folder.path()), said, "byte {at} to {until}");
                    }
                }
            }
            Err(error) => {
                unopened += 1;
                let words = error.to_string();
                let is_named =
                    ["is not a journal", "damaged", "the journal cannot be used", "format"]
                        .iter()
                        .any(|named| words.contains(named));
                assert!(is_named, "{words}");
            }
        }
        // What SQLite put beside the damaged file.
        for ending in ["-wal", "-shm"] {
            let _ = std::fs::remove_file(folder.path().join(format!("journal.sqlite{ending}")));
        }
    }
    assert!(named > 25 && unopened > 0, "{named} named, {unopened} not opened");
    std::fs::write(&path, &good).unwrap();
    assert!(verify_folder(folder.path()).unwrap().intact());
}

#[test]
fn a_second_program_that_got_past_the_lock_is_followed() {
    let folder = tempfile::tempdir().unwrap();
    let mut first = laboratory(folder.path(), 2);
    // Somebody takes the lock for rubbish.
    std::fs::remove_file(folder.path().join("open.lock")).unwrap();
    let mut second = OpenLaboratory::open(folder.path()).unwrap();
    second.submit("AB", None, &person("NEW").into()).unwrap();
    // The first one decides anew, on what the second has recorded.
    let refused = first.submit("AB", None, &person("NEW").into()).unwrap_err();
    assert!(matches!(refused, SubmitError::Refused(_)), "{refused}");
    let receipt = first.submit("AB", None, &person("OLD").into()).unwrap();
    assert_eq!(receipt.positions, [6]);
    second.submit("AB", None, &person("LAST").into()).unwrap();
    assert_eq!(second.head().position, 7);
    assert!(second.verify().unwrap().intact());
    first.submit("AB", None, &person("ONE").into()).unwrap();
    let told = |lab: &stonewear_lab::Lab| serde_json::to_value(lab).unwrap();
    drop(second);
    let anew = OpenLaboratory::open(folder.path());
    assert!(anew.is_ok(), "the lock of the second went with it");
    assert_eq!(told(anew.unwrap().lab()), told(first.lab()));
}

#[test]
fn a_cut_end_is_seen_by_the_note_and_a_missing_note_says_nothing() {
    let folder = tempfile::tempdir().unwrap();
    drop(laboratory(folder.path(), 3));
    let journal = folder.path().join("journal.sqlite");
    let short = std::fs::read(&journal).unwrap();
    let mut open = OpenLaboratory::open(folder.path()).unwrap();
    open.submit("AB", None, &person("NEW").into()).unwrap();
    drop(open);
    // An old copy of the file is put back.
    std::fs::write(&journal, &short).unwrap();
    let error = OpenLaboratory::open(folder.path()).unwrap_err();
    assert!(matches!(error, OpenError::Damaged(_)), "{error}");
    assert!(error.to_string().contains("entries 6 to 6 are missing"), "{error}");
    assert_eq!(verify_folder(folder.path()).unwrap().broken_at(), Some(6));
    // The note is a witness, not part of the journal.
    std::fs::write(folder.path().join("journal.end"), "scribble").unwrap();
    assert!(OpenLaboratory::open(folder.path()).is_ok());
    std::fs::remove_file(folder.path().join("journal.end")).unwrap();
    assert!(OpenLaboratory::open(folder.path()).is_ok());
}

#[test]
fn another_entry_than_the_one_that_was_noted_is_seen() {
    let folder = tempfile::tempdir().unwrap();
    drop(laboratory(folder.path(), 3));
    let note = folder.path().join("journal.end");
    let text = std::fs::read_to_string(&note).unwrap();
    assert!(text.starts_with("00000000000000000005 "), "{text}");
    std::fs::write(&note, text.replace(&text[21..25], "0000")).unwrap();
    let error = OpenLaboratory::open(folder.path()).unwrap_err().to_string();
    assert!(error.contains("entry 5"), "{error}");
}
