//! Requests that are kept together: as if they had come one after the other, or not at all.

#![allow(clippy::unwrap_used, reason = "a test that fails here says where")]

use std::path::Path;
use stonewear_lab::Request;
use stonewear_lab::request::{AddPerson, FoundLaboratory, ReceiveSample};
use stonewear_runtime::{Asked, OpenLaboratory, Receipt, SubmitError, verify_folder};

fn founded(folder: &Path) -> OpenLaboratory {
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
    laboratory
}

fn sample(source: &str) -> Request {
    ReceiveSample {
        source: source.into(),
        material: "granite".into(),
        nominal_maximum_mm: "19.0".into(),
        ..ReceiveSample::default()
    }
    .into()
}

fn person(code: &str) -> Request {
    AddPerson { code: code.into(), name: format!("Person {code}"), rights: vec!["test".into()] }
        .into()
}

fn asked(by: &str, key: &str, request: Request) -> Asked {
    Asked { by: by.into(), key: key.into(), request }
}

/// What a person is told, without what differs from run to run.
fn told(outcome: &Result<Receipt, SubmitError>) -> String {
    match outcome {
        Ok(receipt) => format!("{:?} {:?}", receipt.positions, receipt.facts),
        Err(error) => error.to_string(),
    }
}

fn mixed() -> Vec<Asked> {
    vec![
        asked("AB", "one", sample("Quarry one")),
        asked("AB", "two", person("CD")),
        // Whoever was added by the request before may ask.
        asked("CD", "three", sample("Quarry two")),
        asked("AB", "four", person("CD")),
        asked("ZZ", "five", sample("Quarry three")),
        asked("AB", "one", sample("Quarry one")),
        asked("AB", "six", sample("")),
        asked("AB", "seven", sample("Quarry four")),
    ]
}

#[test]
fn together_they_become_what_they_would_have_become_one_by_one() {
    let (one_folder, together_folder) =
        (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let mut one_by_one = founded(one_folder.path());
    let mut together = founded(together_folder.path());
    let expected: Vec<_> = mixed()
        .iter()
        .map(|one| told(&one_by_one.submit(&one.by, Some(&one.key), &one.request)))
        .collect();
    let outcomes = together.submit_together(&mixed()).unwrap();
    assert_eq!(outcomes.iter().map(told).collect::<Vec<_>>(), expected);
    assert_eq!(outcomes.iter().filter(|outcome| outcome.is_ok()).count(), 5);
    assert_eq!(together.head().position, one_by_one.head().position);
    // Each is told where its own last fact stands.
    let last = outcomes.last().unwrap().as_ref().unwrap();
    assert_eq!(last.head, together.head().hash.to_string());
    assert_ne!(outcomes[0].as_ref().unwrap().head, last.head);
    // Sent once more, each is answered as it was.
    let again = together.submit_together(&mixed()[..3]);
    assert!(again.is_none(), "nothing is new, so each is taken by itself");
    // What is read again from the disk is what stood in memory.
    let (samples, people) = (together.lab().samples.clone(), together.lab().people.clone());
    drop(together);
    assert!(verify_folder(together_folder.path()).unwrap().intact());
    let read = OpenLaboratory::open(together_folder.path()).unwrap();
    assert_eq!((&read.lab().samples, &read.lab().people), (&samples, &people));
}

#[test]
fn what_the_disk_refuses_is_in_no_mind() {
    let folder = tempfile::tempdir().unwrap();
    let mut laboratory = founded(folder.path());
    laboratory.submit("AB", None, &sample("Quarry zero")).unwrap();
    let (before, head) = (laboratory.lab().clone(), laboratory.head());
    let now = laboratory.last_at();
    // Another program holds the journal, so nothing can be appended.
    let other = rusqlite::Connection::open(folder.path().join("journal.sqlite")).unwrap();
    other.execute_batch("BEGIN IMMEDIATE").unwrap();
    assert!(laboratory.submit_together(&mixed()).is_none());
    assert_eq!((laboratory.lab(), laboratory.head()), (&before, head));
    assert_eq!(laboratory.last_at(), now);
    assert!(laboratory.damage().is_none());
    other.execute_batch("ROLLBACK").unwrap();
    // And then it is taken.
    let outcomes = laboratory.submit_together(&mixed()).unwrap();
    assert_eq!(outcomes.iter().filter(|outcome| outcome.is_ok()).count(), 5);
    assert!(verify_folder(folder.path()).unwrap().intact());
}
