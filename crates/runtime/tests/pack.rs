//! A laboratory packed, sent and unpacked: the same hash for hash, or named what is wrong.

#![allow(clippy::unwrap_used, reason = "a test that fails here says where")]

use std::fs;
use std::path::{Path, PathBuf};
use stonewear_lab::request::{FoundLaboratory, ReceiveSample};
use stonewear_runtime::{
    LaboratoryView, NewFile, OpenLaboratory, PackError, pack, unpack, verify_file, verify_folder,
};
use tempfile::TempDir;

const PHOTO: &[u8] = b"\x89PNG\r\n\x1A\n an invented picture";

/// More samples than go into one transaction of unpacking.
const SAMPLES: usize = 1100;

/// A laboratory with samples, a file attached to the first, and a method file of its own.
fn laboratory(root: &TempDir) -> PathBuf {
    let dir = root.path().join("laboratory");
    let mut laboratory = OpenLaboratory::open(&dir).unwrap();
    let founding = FoundLaboratory {
        name: "Invented laboratory".into(),
        address: "1 Invented Street".into(),
        founder_code: "AB".into(),
        founder_name: "Ada Brook".into(),
        invented: "yes".into(),
        time_zone: String::new(),
    };
    laboratory.submit("", None, &founding.into()).unwrap();
    for number in 0..SAMPLES {
        let sample = ReceiveSample {
            source: format!("Invented quarry, face {number}"),
            material: "crushed “stone” \u{1F6A7}".into(),
            nominal_maximum_mm: "19.0".into(),
            ..ReceiveSample::default()
        };
        laboratory.submit("AB", Some(&format!("key-{number}")), &sample.into()).unwrap();
    }
    let first = laboratory.lab().samples.keys().next().unwrap().to_string();
    let photo = NewFile { to: &first, step: "", name: "bag.png", bytes: PHOTO };
    laboratory.attach("AB", None, &photo).unwrap();
    let text = include_str!("../../../methods/astm-d6928.toml");
    fs::create_dir_all(dir.join("methods")).unwrap();
    fs::write(dir.join("methods/own.toml"), text).unwrap();
    dir
}

fn packed() -> (TempDir, PathBuf, PathBuf) {
    let root = tempfile::tempdir().unwrap();
    let dir = laboratory(&root);
    let into = root.path().join("pack");
    pack(&dir, &into).unwrap();
    (root, dir, into)
}

#[test]
fn a_packed_laboratory_comes_back_hash_for_hash() {
    let (root, dir, into) = packed();
    let back = root.path().join("back");
    let unpacked = unpack(&into, &back).unwrap();
    assert_eq!((unpacked.files, unpacked.methods), (1, 1));
    let (before, after) = (verify_folder(&dir).unwrap(), verify_folder(&back).unwrap());
    assert_eq!(before, after);
    assert_eq!(unpacked.head, before.head.hash);
    let (old, new) = (LaboratoryView::open(&dir).unwrap(), LaboratoryView::open(&back).unwrap());
    assert_eq!(old.lab(), new.lab());
    assert_eq!(
        fs::read(dir.join("methods/own.toml")).unwrap(),
        fs::read(back.join("methods/own.toml")).unwrap()
    );
    let sha256 = new.lab().attachments.values().flatten().next().unwrap().value.sha256.clone();
    assert_eq!(new.file(&sha256).unwrap().as_deref(), Some(PHOTO));
    // Packed again it is the same, file for file.
    let again = root.path().join("again");
    pack(&back, &again).unwrap();
    for name in ["journal.jsonl", "FORMAT.md", "verify_journal.py", "methods/own.toml"] {
        assert_eq!(
            fs::read(into.join(name)).unwrap(),
            fs::read(again.join(name)).unwrap(),
            "{name}"
        );
    }
}

/// A request that was answered before is known in the new place, too.
#[test]
fn what_was_asked_once_is_not_recorded_twice_after_the_move() {
    let (root, _, into) = packed();
    let back = root.path().join("back");
    let facts = unpack(&into, &back).unwrap().facts;
    let mut laboratory = OpenLaboratory::open(&back).unwrap();
    let again = ReceiveSample { source: "another".into(), ..ReceiveSample::default() };
    let receipt = laboratory.submit("AB", Some("key-7"), &again.into()).unwrap();
    assert_eq!(receipt.facts.len(), 1);
    drop(laboratory);
    assert_eq!(verify_folder(&back).unwrap().facts, facts);
}

/// The pack explains itself: the verifier in it needs nothing of ours.
#[test]
fn the_verifier_in_the_pack_agrees() {
    let (_root, _, into) = packed();
    let said = std::process::Command::new("python3")
        .arg(into.join("verify_journal.py"))
        .arg(into.join("journal.jsonl"))
        .output()
        .unwrap();
    let head = verify_file(&into.join("journal.jsonl")).unwrap().head.hash.to_string();
    let words = String::from_utf8(said.stdout).unwrap();
    assert!(said.status.success() && words.contains(&head), "{words}");
}

fn refused(from: &Path, root: &TempDir) -> String {
    let back = root.path().join("back");
    let said = unpack(from, &back).unwrap_err().to_string();
    assert!(!back.exists(), "something was unpacked");
    let left: Vec<_> = fs::read_dir(root.path())
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .filter(|name| name.contains("partial"))
        .collect();
    assert!(left.is_empty(), "{left:?}");
    said
}

#[test]
fn a_changed_word_is_found_and_named() {
    let (root, _, into) = packed();
    let path = into.join("journal.jsonl");
    let text = fs::read_to_string(&path).unwrap();
    fs::write(&path, text.replacen("face 40\"", "face 41\"", 1)).unwrap();
    let said = refused(&into, &root);
    assert!(said.contains("journal.jsonl: line 43, entry 43"), "{said}");
    assert!(said.contains("nothing was unpacked"), "{said}");
}

#[test]
fn an_attached_file_that_is_missing_or_another_is_named() {
    let (root, _, into) = packed();
    let file = fs::read_dir(into.join("files")).unwrap().next().unwrap().unwrap().path();
    fs::write(&file, b"another picture").unwrap();
    let said = refused(&into, &root);
    assert!(said.contains("“bag.png”") && said.contains("is not what the fact names"), "{said}");
    fs::remove_file(&file).unwrap();
    let said = refused(&into, &root);
    assert!(said.contains("“bag.png”") && said.contains("is missing"), "{said}");
}

#[test]
fn nothing_is_packed_or_unpacked_over_something() {
    let (_root, dir, into) = packed();
    let said = unpack(&into, &dir).unwrap_err();
    assert!(matches!(said, PackError::NotEmpty(ref there) if *there == dir), "{said}");
    assert!(matches!(pack(&dir, &into).unwrap_err(), PackError::NotEmpty(_)));
    assert!(verify_folder(&dir).unwrap().intact());
}
