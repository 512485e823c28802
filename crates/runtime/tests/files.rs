//! Files attached, read back, and what happens when their bytes are not what they were.

#![allow(clippy::unwrap_used, reason = "a test that fails here says where")]

use std::path::Path;
use stonewear_lab::request::{FoundLaboratory, ReceiveSample};
use stonewear_runtime::{LaboratoryView, NewFile, OpenLaboratory, SubmitError};

const PHOTO: &[u8] = b"\x89PNG\r\n\x1A\n an invented picture";

fn opened(folder: &Path) -> OpenLaboratory {
    let mut laboratory = OpenLaboratory::open(folder).unwrap();
    let founding = FoundLaboratory {
        name: "Invented laboratory".into(),
        address: "1 Invented Street".into(),
        founder_code: "AB".into(),
        founder_name: "Ada Brook".into(),
        invented: "yes".into(),
        time_zone: String::new(),
    };
    laboratory.submit("", None, &founding.into()).unwrap();
    let sample = ReceiveSample {
        source: "Invented quarry".into(),
        material: "crushed stone".into(),
        nominal_maximum_mm: "19.0".into(),
        ..ReceiveSample::default()
    };
    laboratory.submit("AB", None, &sample.into()).unwrap();
    laboratory
}

fn photo<'a>(sample: &'a str, bytes: &'a [u8]) -> NewFile<'a> {
    NewFile { to: sample, step: "", name: "bag.png", bytes }
}

fn sample(laboratory: &OpenLaboratory) -> String {
    laboratory.lab().samples.keys().next().unwrap().to_string()
}

fn connection(folder: &Path) -> rusqlite::Connection {
    rusqlite::Connection::open(folder.join("journal.sqlite")).unwrap()
}

fn blobs(folder: &Path) -> i64 {
    let count = "SELECT count(*) FROM blob";
    connection(folder).query_row(count, [], |row| row.get(0)).unwrap()
}

/// Does something to the kept bytes, past every trigger, as a fault of a disk would.
fn tamper(folder: &Path, trigger: &str, statement: &str) {
    let statement = format!("DROP TRIGGER {trigger}; {statement}");
    connection(folder).execute_batch(&statement).unwrap();
}

/// Facts that name bytes are recorded only where the bytes are kept in the same step.
#[test]
fn a_request_that_comes_with_its_file_is_refused_without_it() {
    let root = tempfile::tempdir().unwrap();
    let mut laboratory = OpenLaboratory::open(&root.path().join("laboratory")).unwrap();
    let unkept = stonewear_lab::request::AttachFile {
        to: "S26-001".into(),
        name: "bag.png".into(),
        media_type: "image/png".into(),
        sha256: "0".repeat(64),
        bytes: "9".into(),
        ..Default::default()
    };
    let all = stonewear_lab::Request::empty_ones().into_iter();
    let with_file = all.filter(stonewear_lab::Request::comes_with_file);
    for request in with_file.chain([unkept.into()]) {
        let refused = laboratory.submit("AB", None, &request).unwrap_err().to_string();
        assert!(refused.contains("only together with its file"), "{refused}");
    }
}

#[test]
fn an_attached_file_comes_back_byte_for_byte_after_the_folder_is_closed() {
    let folder = tempfile::tempdir().unwrap();
    let mut laboratory = opened(folder.path());
    let code = sample(&laboratory);
    laboratory.attach("AB", None, &photo(&code, PHOTO)).unwrap();
    let attached = laboratory.lab().attachments_of(&code)[0].value.clone();
    assert_eq!((attached.media_type.as_str(), attached.bytes), ("image/png", PHOTO.len() as u64));
    let hash = attached.sha256;
    assert_eq!(laboratory.file(&hash).unwrap().as_deref(), Some(PHOTO));
    drop(laboratory);
    let laboratory = OpenLaboratory::open(folder.path()).unwrap();
    assert_eq!(laboratory.file(&hash).unwrap().as_deref(), Some(PHOTO));
    let view = LaboratoryView::open(folder.path()).unwrap();
    assert_eq!(view.file(&hash).unwrap().as_deref(), Some(PHOTO));
    for unknown in ["", "x", &"0".repeat(64), &hash.to_uppercase()] {
        assert_eq!(laboratory.file(unknown).unwrap(), None, "{unknown}");
    }
}

#[test]
fn a_file_that_is_refused_is_not_kept() {
    let folder = tempfile::tempdir().unwrap();
    let mut laboratory = opened(folder.path());
    let code = sample(&laboratory);
    let head = laboratory.head();
    for file in [
        photo("S00-000", PHOTO),
        photo(&code, b""),
        NewFile { name: "page.png", ..photo(&code, b"<script>alert(1)</script>") },
        NewFile { name: "../bag.png", ..photo(&code, PHOTO) },
    ] {
        let refused = laboratory.attach("AB", None, &file).unwrap_err();
        assert!(matches!(refused, SubmitError::Refused(_)), "{refused}");
    }
    assert!(laboratory.attach("ZZ", None, &photo(&code, PHOTO)).is_err());
    assert_eq!((blobs(folder.path()), laboratory.head()), (0, head));
}

#[test]
fn an_attachment_sent_twice_happens_once_and_bytes_are_kept_once() {
    let folder = tempfile::tempdir().unwrap();
    let mut laboratory = opened(folder.path());
    let code = sample(&laboratory);
    let first = laboratory.attach("AB", Some("key"), &photo(&code, PHOTO)).unwrap();
    let again = laboratory.attach("AB", Some("key"), &photo(&code, PHOTO)).unwrap();
    assert_eq!(first.positions, again.positions);
    let refused = laboratory.attach("AB", Some("other"), &photo(&code, PHOTO)).unwrap_err();
    assert!(refused.to_string().contains("attached here already"), "{refused}");
    assert_eq!((blobs(folder.path()), laboratory.lab().attachments_of(&code).len()), (1, 1));
}

#[test]
fn bytes_that_were_changed_or_lost_are_named_and_not_handed_out() {
    for (trigger, statement, wanted) in [
        (
            "blob_is_never_changed",
            "UPDATE blob SET bytes = x'89504e470d0a1a0a00'",
            "was changed after it was kept",
        ),
        ("blob_is_never_removed", "DELETE FROM blob", "(“bag.png”, entry 4) is missing"),
    ] {
        let folder = tempfile::tempdir().unwrap();
        let mut laboratory = opened(folder.path());
        let code = sample(&laboratory);
        laboratory.attach("AB", None, &photo(&code, PHOTO)).unwrap();
        let hash = laboratory.lab().attachments_of(&code)[0].value.sha256.clone();
        tamper(folder.path(), trigger, statement);
        let error = laboratory.file(&hash).unwrap_err().to_string();
        assert!(error.contains(&hash) && error.contains(wanted), "{error}");
        let view = LaboratoryView::open(folder.path()).unwrap();
        assert_eq!(view.file(&hash).unwrap_err().to_string(), error);
    }
}
