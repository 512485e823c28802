//! Work in a database: as in a folder, and by many at once.

use crate::support::{admitted, bytes, desk, found, founding, laboratory, person, prepared};
use std::collections::BTreeSet;
use std::sync::mpsc;
use std::time::Duration;
use stonewear_cluster::Cluster;
use stonewear_journal::postgres::{LaboratoryName, admit, prepare};
use stonewear_runtime::{
    Heard, Hindrance, LaboratoryView, OpenError, OpenLaboratory, Place, SharedDatabase,
    SubmitError, verify_folder, verify_whole,
};

#[test]
fn a_laboratory_in_a_database_is_worked_with_as_one_in_a_folder() {
    let shared = laboratory();
    let (_desk, place) = desk(&shared);
    let before = {
        let mut laboratory = OpenLaboratory::open(&place).unwrap();
        let receipt = laboratory.submit("", Some("key-1"), &founding().into()).unwrap();
        assert_eq!(receipt.positions, [1, 2]);
        laboratory.submit("AB", None, &person(0).into()).unwrap();
        // Sent twice, it happens once.
        let again = laboratory.submit("", Some("key-1"), &founding().into()).unwrap();
        assert_eq!(again.positions, [1, 2]);
        assert!(laboratory.sign("a test").unwrap());
        (bytes(laboratory.lab()), laboratory.head())
    };
    let laboratory = OpenLaboratory::open(&place).unwrap();
    assert_eq!((bytes(laboratory.lab()), laboratory.head()), before);
    let verified = verify_whole(&place, None).unwrap();
    assert!(verified.is_good(), "{verified:?}");
    assert_eq!(verified.signatures.until, 3);

    // Another machine reads it, and has no folder for it yet.
    let elsewhere = Place::in_database("/nonexistent/stonewear", shared.clone());
    assert_eq!(bytes(LaboratoryView::open(&elsewhere).unwrap().lab()), before.0);
    let refused = OpenLaboratory::open(&place).unwrap_err();
    assert!(matches!(refused, OpenError::InUse { .. }), "a folder is one program's: {refused}");
}

#[test]
fn a_folder_with_a_journal_of_its_own_is_not_mixed_up_with_a_database() {
    let shared = laboratory();
    let folder = tempfile::tempdir().unwrap();
    found(&Place::from(folder.path()), 5);
    let place = Place::in_database(folder.path(), shared.clone());
    let refused = OpenLaboratory::open(&place).unwrap_err().to_string();
    assert!(refused.contains("stonewear journal push"), "{refused}");
    // To read it is no mixing; what is noted beside the file is of the file.
    let (_desk, other) = desk(&shared);
    found(&other, 0);
    assert_eq!(LaboratoryView::open(&place).unwrap().lab().position, 2);
    assert!(verify_folder(&place).unwrap().intact());
}

#[test]
fn an_end_that_the_database_lost_is_missed() {
    let database = prepared();
    let shared = admitted(&database, "one", "bench");
    let (_desk, place) = desk(&shared);
    found(&place, 3);
    // As after its owner restored it from an older copy.
    database.sql(
        "ALTER TABLE stonewear.entry DISABLE TRIGGER ALL; ALTER TABLE stonewear.head DISABLE TRIGGER ALL;
         DELETE FROM stonewear.entry WHERE position > 3;
         UPDATE stonewear.head SET position = 3, \
           hash = (SELECT hash FROM stonewear.entry WHERE position = 3)",
    );
    let damage = OpenLaboratory::open(&place).unwrap_err().to_string();
    assert!(damage.contains("entries 4 to 5 are missing"), "{damage}");
}

/// The state of the laboratory decides, so writers that race must each decide on what the others wrote.
#[test]
fn thirty_two_writers_at_thirty_two_servers_leave_no_gap_and_lose_nothing() {
    const WRITERS: u32 = 32;
    const EACH: u32 = 3;
    let shared = laboratory();
    let (_first, place) = desk(&shared);
    found(&place, 0);
    let acknowledged: Vec<(u64, String)> = std::thread::scope(|scope| {
        let writers: Vec<_> = (0..WRITERS)
            .map(|writer| {
                let shared = &shared;
                scope.spawn(move || {
                    let (_desk, place) = desk(shared);
                    let mut laboratory = OpenLaboratory::open(&place).unwrap();
                    let mut acknowledged = Vec::new();
                    for n in 0..EACH {
                        let person = person(writer * EACH + n);
                        let receipt =
                            laboratory.submit("AB", None, &person.clone().into()).unwrap();
                        acknowledged.push((receipt.positions[0], person.code));
                        // All want the same code: one gets it, the others are refused by the rules.
                        let mut same = crate::support::person(9_000 + n);
                        same.name = format!("Wanted by {writer}");
                        match laboratory.submit("AB", None, &same.into()) {
                            Ok(receipt) => acknowledged.push((receipt.positions[0], String::new())),
                            Err(SubmitError::Refused(_)) => {}
                            Err(error) => panic!("{error}"),
                        }
                    }
                    acknowledged
                })
            })
            .collect();
        writers.into_iter().flat_map(|writer| writer.join().unwrap()).collect()
    });
    assert!(verify_whole(&place, None).unwrap().journal.intact());
    let view = LaboratoryView::open(&place).unwrap();
    let lab = view.lab();
    assert_eq!(lab.position, u64::from(2 + WRITERS * EACH + EACH));
    let places: BTreeSet<u64> = acknowledged.iter().map(|(position, _)| *position).collect();
    assert_eq!(places, (3..=lab.position).collect(), "each place once, none left out");
    let known = |code: &String| code.is_empty() || lab.people.contains_key(code.as_str());
    assert!(acknowledged.iter().all(|(_, code)| known(code)));
}

#[test]
fn what_one_records_the_others_follow() {
    let shared = laboratory();
    let ((_a, here), (_b, there)) = (desk(&shared), desk(&shared));
    found(&here, 0);
    let mut one = OpenLaboratory::open(&here).unwrap();
    let mut two = OpenLaboratory::open(&there).unwrap();
    let (tell, told) = mpsc::channel();
    let _follower = two.follow(move |heard| drop(tell.send(heard))).unwrap().unwrap();
    let next = || told.recv_timeout(Duration::from_secs(20)).unwrap();
    assert_eq!(next(), Heard::Listening);
    one.submit("AB", None, &person(0).into()).unwrap();
    assert_eq!(next(), Heard::Position(3));
    assert!(!two.lab().people.contains_key("AAA"));
    assert!(two.catch_up().unwrap());
    assert!(!two.catch_up().unwrap(), "there is no more");
    assert_eq!(bytes(two.lab()), bytes(one.lab()));
    // Who has not heard yet decides on what stands there all the same.
    two.submit("AB", None, &person(1).into()).unwrap();
    let refused = one.submit("AB", None, &person(1).into());
    assert!(matches!(refused, Err(SubmitError::Refused(_))), "{refused:?}");
    assert_eq!(bytes(two.lab()), bytes(one.lab()));
    // A file is this program's alone: there is nobody to follow.
    let folder = tempfile::tempdir().unwrap();
    assert!(OpenLaboratory::open(folder.path()).unwrap().follow(|_| {}).unwrap().is_none());
}

#[test]
fn a_database_that_is_away_is_named_and_recording_goes_on_when_it_is_back() {
    let cluster = Cluster::start();
    let database = cluster.database();
    let owner = database.address("owner").parse().unwrap();
    prepare(&owner).unwrap();
    let name: LaboratoryName = "one".parse().unwrap();
    admit(&owner, &name, &database.role("bench", "")).unwrap();
    let address = database.address("bench").parse().unwrap();
    let (_desk, place) = desk(&SharedDatabase { address, laboratory: name });
    found(&place, 1);
    let mut laboratory = OpenLaboratory::open(&place).unwrap();
    cluster.stop();
    let away = laboratory.submit("AB", None, &person(1).into()).unwrap_err().to_string();
    assert!(away.starts_with("it was not recorded: the database cannot be reached"), "{away}");
    assert!(matches!(laboratory.hindrance(), Some(Hindrance::DatabaseAway(_))));
    assert!(laboratory.lab().people.contains_key("AAA"), "what was read can be seen");
    assert!(!laboratory.lab().people.contains_key("AAB"));
    cluster.start_again();
    let receipt = laboratory.submit("AB", None, &person(1).into()).unwrap();
    assert_eq!(receipt.positions, [4]);
    assert_eq!(laboratory.hindrance(), None);
}
