//! Laboratories to work with: in a database, in a folder, founded, of the demo.

use std::path::Path;
use std::sync::OnceLock;
use std::sync::atomic::{AtomicU32, Ordering};
use stonewear_cluster::{Database, cluster};
use stonewear_journal::postgres::{LaboratoryName, admit, prepare};
use stonewear_lab::Lab;
use stonewear_lab::request::{AddPerson, FoundLaboratory};
use stonewear_runtime::{Decided, OpenLaboratory, Place, SharedDatabase};
use tempfile::TempDir;

/// A prepared database with a role `bench` that laboratories are worked in by.
pub(crate) fn prepared() -> Database<'static> {
    let database = cluster().database();
    prepare(&database.address("owner").parse().unwrap()).unwrap();
    database.role("bench", "");
    database
}

/// One for all tests that ask for no more than a laboratory.
pub(crate) fn database() -> &'static Database<'static> {
    static DATABASE: OnceLock<Database<'static>> = OnceLock::new();
    DATABASE.get_or_init(prepared)
}

/// A new laboratory in the database that tests share.
pub(crate) fn laboratory() -> SharedDatabase {
    static NUMBER: AtomicU32 = AtomicU32::new(0);
    let name = format!("lab{}", NUMBER.fetch_add(1, Ordering::Relaxed));
    admitted(database(), &name, "bench")
}

/// A laboratory that a role is admitted to.
pub(crate) fn admitted(database: &Database<'_>, name: &str, role: &str) -> SharedDatabase {
    let laboratory: LaboratoryName = name.parse().unwrap();
    let owner = database.address("owner").parse().unwrap();
    admit(&owner, &laboratory, &database.whole_name(role)).unwrap();
    SharedDatabase { address: database.address(role).parse().unwrap(), laboratory }
}

/// A desk: a folder of its own for a laboratory in a database.
pub(crate) fn desk(at: &SharedDatabase) -> (TempDir, Place) {
    let folder = tempfile::tempdir().unwrap();
    let place = Place::in_database(folder.path(), at.clone());
    (folder, place)
}

pub(crate) fn founding() -> FoundLaboratory {
    FoundLaboratory {
        name: "Invented laboratory".into(),
        address: "1 Invented Street".into(),
        founder_code: "AB".into(),
        founder_name: "Ada Brook".into(),
        invented: "no".into(),
        time_zone: "America/Toronto".into(),
    }
}

/// A code of a person, by number: AAA, AAB, …
pub(crate) fn code(number: u32) -> String {
    let letter =
        |place: u32| char::from(b'A' + u8::try_from(number / 26_u32.pow(place) % 26).unwrap());
    [letter(2), letter(1), letter(0)].iter().collect()
}

pub(crate) fn person(number: u32) -> AddPerson {
    let code = code(number);
    AddPerson { name: format!("Person {code}"), code, rights: vec!["test".into()] }
}

/// Founds a laboratory and adds people.
pub(crate) fn found(place: &Place, people: u32) {
    let mut laboratory = OpenLaboratory::open(place).unwrap();
    laboratory.submit("", None, &founding().into()).unwrap();
    for number in 0..people {
        laboratory.submit("AB", None, &person(number).into()).unwrap();
    }
}

/// Another seed than the demo's own whose scenario the rules allow: by some, a day is missed.
pub(crate) fn another_seed() -> u64 {
    let (methods, procedures) =
        (stonewear_method::library::built_in_methods(), stonewear_procedure::built_in_procedures());
    let is_possible = |seed: &u64| stonewear_demo::scenario(*seed, &methods, &procedures).is_ok();
    (1..100).filter(|seed| *seed != stonewear_demo::SEED).find(is_possible).expect("one of many")
}

/// Records the demo laboratory of a seed, with its files.
pub(crate) fn demo(folder: &Path, seed: u64) {
    let mut laboratory = OpenLaboratory::open(folder).unwrap();
    let batches =
        stonewear_demo::scenario(seed, laboratory.methods(), laboratory.procedures()).unwrap();
    for (_, bytes) in stonewear_demo::files() {
        laboratory.keep_file(&bytes).unwrap();
    }
    let decided: Vec<Decided<'_>> = batches
        .iter()
        .map(|batch| Decided { at: batch.at, by: &batch.by, key: &batch.key, facts: &batch.facts })
        .collect();
    laboratory.record(&decided).unwrap();
}

pub(crate) fn bytes(lab: &Lab) -> Vec<u8> {
    serde_json::to_vec(lab).unwrap()
}

/// The journal as everybody can read it.
pub(crate) fn exported(place: impl Into<Place>) -> String {
    let mut text = Vec::new();
    assert!(stonewear_runtime::export(place, &mut text).unwrap().intact());
    String::from_utf8(text).unwrap()
}
