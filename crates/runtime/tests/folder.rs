//! A laboratory's folder opened, used, opened again, and damaged.

#![allow(clippy::unwrap_used, reason = "a test that fails here says where")]

use std::path::Path;
use stonewear_lab::fact::Fact;
use stonewear_lab::request::{AddPerson, FoundLaboratory};
use stonewear_runtime::{
    LaboratoryView, OpenError, OpenLaboratory, SubmitError, export, verify_folder,
};

fn founding() -> FoundLaboratory {
    FoundLaboratory {
        name: "Invented laboratory".into(),
        address: "1 Invented Street".into(),
        founder_code: "AB".into(),
        founder_name: "Ada Brook".into(),
        invented: "yes".into(),
        time_zone: "America/Toronto".into(),
    }
}

fn person(code: &str) -> AddPerson {
    AddPerson { code: code.into(), name: format!("Person {code}"), rights: vec!["test".into()] }
}

/// A folder with a founded laboratory and three more people, closed again.
fn folder() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let mut laboratory = OpenLaboratory::open(folder.path()).unwrap();
    laboratory.submit("", None, &founding().into()).unwrap();
    for code in ["CD", "EF", "GH"] {
        laboratory.submit("AB", None, &person(code).into()).unwrap();
    }
    folder
}

fn bytes(lab: &stonewear_lab::Lab) -> Vec<u8> {
    serde_json::to_vec(lab).unwrap()
}

#[test]
fn what_was_acknowledged_is_there_when_the_folder_is_opened_again() {
    let folder = tempfile::tempdir().unwrap();
    let before = {
        let mut laboratory = OpenLaboratory::open(folder.path()).unwrap();
        let receipt = laboratory.submit("", None, &founding().into()).unwrap();
        assert_eq!(receipt.positions, [1, 2]);
        laboratory.submit("AB", None, &person("CD").into()).unwrap();
        (bytes(laboratory.lab()), laboratory.head())
    };
    let laboratory = OpenLaboratory::open(folder.path()).unwrap();
    assert_eq!((bytes(laboratory.lab()), laboratory.head()), before);
    assert_eq!(laboratory.lab().people["AB"].since.by.as_str(), "AB", "the founder is who asked");
}

#[test]
fn a_second_program_is_refused_but_may_read() {
    let folder = folder();
    let first = OpenLaboratory::open(folder.path()).unwrap();
    let refused = OpenLaboratory::open(folder.path()).unwrap_err();
    assert!(matches!(refused, OpenError::InUse { .. }));
    assert!(refused.to_string().contains(&format!("process {}", std::process::id())), "{refused}");
    let view = LaboratoryView::open(folder.path()).unwrap();
    assert_eq!(bytes(view.lab()), bytes(first.lab()));
}

#[test]
fn a_request_sent_twice_happens_once() {
    let folder = folder();
    let mut laboratory = OpenLaboratory::open(folder.path()).unwrap();
    let first = laboratory.submit("AB", Some("key-1"), &person("IJ").into()).unwrap();
    let again = laboratory.submit("AB", Some("key-1"), &person("IJ").into()).unwrap();
    assert_eq!((&again.facts, &again.positions), (&first.facts, &first.positions));
    assert!(matches!(&again.facts[..], [Fact::PersonAdded { .. }]));
    assert_eq!(laboratory.lab().position, 6);
}

#[test]
fn a_refused_request_leaves_no_trace() {
    let folder = folder();
    let mut laboratory = OpenLaboratory::open(folder.path()).unwrap();
    let head = laboratory.head();
    let refused = laboratory.submit("CD", None, &person("IJ").into()).unwrap_err();
    assert!(matches!(refused, SubmitError::Refused(_)));
    assert_eq!(laboratory.head(), head);
}

/// Changes one byte of a stored entry, past every lock and trigger, as a fault of a disk would.
fn damage(folder: &Path, position: i64) {
    let connection = rusqlite::Connection::open(folder.join("journal.sqlite")).unwrap();
    let triggers: Vec<String> = connection
        .prepare("SELECT name FROM sqlite_master WHERE type = 'trigger'")
        .unwrap()
        .query_map([], |row| row.get(0))
        .unwrap()
        .collect::<Result<_, _>>()
        .unwrap();
    for trigger in triggers {
        connection.execute_batch(&format!("DROP TRIGGER {trigger}")).unwrap();
    }
    let mut stored: Vec<u8> = connection
        .query_row("SELECT canonical FROM entry WHERE position = ?1", [position], |row| row.get(0))
        .unwrap();
    let at = stored.windows(6).position(|window| window == b"Person").unwrap();
    stored[at] = b'p';
    connection
        .execute("UPDATE entry SET canonical = ?1 WHERE position = ?2", (stored, position))
        .unwrap();
}

#[test]
fn a_damaged_journal_is_opened_for_reading_up_to_the_damage() {
    let folder = folder();
    damage(folder.path(), 4);
    assert_eq!(verify_folder(folder.path()).unwrap().broken_at(), Some(4));
    assert!(matches!(OpenLaboratory::open(folder.path()), Err(OpenError::Damaged(_))));
    let mut laboratory = OpenLaboratory::open_whatever_its_state(folder.path()).unwrap();
    assert_eq!(laboratory.damage().unwrap().position, 4);
    assert!(laboratory.damage().unwrap().to_string().contains("entry 4"));
    // What comes before is shown, nothing is added.
    assert_eq!(
        laboratory.lab().people.keys().map(stonewear_lab::PersonCode::as_str).collect::<Vec<_>>(),
        ["AB", "CD"]
    );
    let refused = laboratory.submit("AB", None, &person("IJ").into()).unwrap_err();
    assert!(
        refused.to_string().contains("nothing can be recorded: the journal is damaged: entry 4"),
        "{refused}"
    );
}

#[test]
fn an_export_holds_one_line_a_fact() {
    let folder = folder();
    let mut lines = Vec::new();
    let outcome = export(folder.path(), &mut lines).unwrap();
    assert_eq!((outcome.intact(), outcome.facts), (true, 5));
    assert_eq!(String::from_utf8(lines).unwrap().lines().count(), 5);
}

#[test]
fn a_broken_method_file_of_the_laboratory_is_named_with_its_line() {
    let folder = folder();
    std::fs::create_dir(folder.path().join("methods")).unwrap();
    std::fs::write(folder.path().join("methods/ours.toml"), "id = \"ours\"\nedition = 5\n")
        .unwrap();
    let error = OpenLaboratory::open(folder.path()).unwrap_err().to_string();
    assert!(error.contains("ours.toml") && error.contains('2'), "{error}");
}

#[test]
fn a_folder_without_a_laboratory_is_not_read_as_an_empty_one() {
    let folder = tempfile::tempdir().unwrap();
    let error = LaboratoryView::open(folder.path()).unwrap_err();
    assert!(matches!(error, OpenError::NotThere(_)), "{error}");
}
