//! Journals carried between folder and database: the same hash for hash, also after it broke off; never
//! where the two went on differently.

use crate::support::{code, database, demo, desk, exported, found, laboratory, person};
use std::path::Path;
use stonewear_lab::request::ReceiveSample;
use stonewear_runtime::{
    CarryError, LaboratoryView, NewFile, OpenLaboratory, Place, pull, push, verify_whole,
};

/// Adds people by number.
fn add(place: impl Into<Place>, people: std::ops::Range<u32>) {
    let mut laboratory = OpenLaboratory::open(place).unwrap();
    for number in people {
        laboratory.submit("AB", None, &person(number).into()).unwrap();
    }
}

#[test]
fn a_whole_laboratory_goes_there_and_back_the_same() {
    let shared = laboratory();
    let here = tempfile::tempdir().unwrap();
    demo(here.path(), stonewear_demo::SEED);
    let text = exported(here.path());
    let carried = push(here.path(), &shared, 300).unwrap();
    assert_eq!(carried.facts as usize, text.lines().count());
    assert!(carried.files > 0 && carried.lacking.is_empty(), "{carried:?}");
    let (_desk, place) = desk(&shared);
    assert_eq!(exported(&place), text);
    assert!(verify_whole(&place, None).unwrap().is_good(), "with every file that a fact names");

    // Once more, there is nothing to do.
    let again = push(here.path(), &shared, 300).unwrap();
    assert_eq!((again.facts, again.files, again.beyond), (0, 0, 0));
    assert_eq!(again.head, carried.head);

    let back = tempfile::tempdir().unwrap();
    let carried = pull(&back.path().join("laboratory"), &shared, 300).unwrap();
    assert_eq!(carried.facts as usize, text.lines().count());
    let back = back.path().join("laboratory");
    assert_eq!(exported(&back), text);
    assert!(verify_whole(&back, None).unwrap().is_good());

    // Its results stand in rows: as many as the laboratory has, each as it stands there.
    let view = LaboratoryView::open(&back).unwrap();
    let rows = database().client(None).query(
        "SELECT result, loss_percent::text, in_doubt, reference FROM stonewear.result \
         WHERE laboratory = $1 ORDER BY result",
        &[&shared.laboratory.as_str()],
    );
    let rows = rows.unwrap();
    assert_eq!(rows.len(), view.lab().results.len());
    let (mut doubted, mut references) = (0, 0);
    for row in &rows {
        let result = &view.lab().results[row.get::<_, &str>(0)];
        let loss = result.current().unwrap().value.loss_percent.map(|loss| loss.to_string());
        assert_eq!(row.get::<_, Option<String>>(1), loss, "{}", result.code);
        let is_open = view.lab().doubts_of(&result.code).any(|one| one.is_open_for(&result.code));
        assert_eq!(row.get::<_, bool>(2), is_open);
        doubted += usize::from(is_open);
        references += usize::from(row.get::<_, Option<String>>(3).is_some());
    }
    assert!(references >= 20, "{references} of reference aggregate, {doubted} in doubt");
}

#[test]
fn both_ways_only_what_is_missing_is_carried() {
    let shared = laboratory();
    let here = tempfile::tempdir().unwrap();
    found(&Place::from(here.path()), 2);
    assert_eq!(push(here.path(), &shared, 500).unwrap().facts, 4);
    let (_desk, place) = desk(&shared);
    add(&place, 2..5);
    let behind = push(here.path(), &shared, 500).unwrap();
    assert_eq!((behind.facts, behind.beyond), (0, 3), "it is the folder that lacks something");
    assert_eq!(pull(here.path(), &shared, 2).unwrap().facts, 3);
    assert_eq!(exported(here.path()), exported(&place));
    add(here.path(), 5..7);
    assert_eq!(push(here.path(), &shared, 1).unwrap().facts, 2);
    assert_eq!(exported(here.path()), exported(&place));
    // Opened after it was pulled, the end that is noted beside the file is the right one.
    assert!(verify_whole(here.path(), None).unwrap().is_good());
}

#[test]
fn a_fork_is_refused_and_named() {
    let shared = laboratory();
    let here = tempfile::tempdir().unwrap();
    found(&Place::from(here.path()), 3);
    push(here.path(), &shared, 500).unwrap();
    let (_desk, place) = desk(&shared);
    add(&place, 10..14);
    add(here.path(), 20..22);
    let (text, shared_text) = (exported(here.path()), exported(&place));
    let hash = |text: &str, position: usize| {
        let line: serde_json::Value =
            serde_json::from_str(text.lines().nth(position - 1).unwrap()).unwrap();
        line["hash"].as_str().unwrap().to_owned()
    };
    for outcome in [push(here.path(), &shared, 500), pull(here.path(), &shared, 500)] {
        let error = outcome.unwrap_err();
        assert!(matches!(error, CarryError::Fork { position: 6, .. }), "{error:?}");
        let said = error.to_string();
        assert!(said.contains(&hash(&text, 6)) && said.contains(&hash(&shared_text, 6)), "{said}");
        assert!(said.contains("Up to entry 5 they are the same"), "{said}");
    }
    assert_eq!((exported(here.path()), exported(&place)), (text, shared_text), "nothing changed");

    let other = tempfile::tempdir().unwrap();
    found(&Place::from(other.path()), 0);
    let error = push(other.path(), &shared, 500).unwrap_err();
    assert!(matches!(error, CarryError::Strangers { .. }), "{error:?}");
    assert!(error.to_string().contains("journals of two laboratories"));
}

fn damage(folder: &Path) {
    let journal = rusqlite::Connection::open(folder.join("journal.sqlite")).unwrap();
    journal
        .execute_batch(
            "DROP TRIGGER entry_is_never_changed; \
             UPDATE entry SET canonical = CAST(replace(CAST(canonical AS TEXT), 'Ada', 'Eda') AS BLOB) \
             WHERE position = 2",
        )
        .unwrap();
}

#[test]
fn what_is_damaged_is_not_carried() {
    let shared = laboratory();
    let here = tempfile::tempdir().unwrap();
    found(&Place::from(here.path()), 1);
    damage(here.path());
    let error = push(here.path(), &shared, 500).unwrap_err();
    assert!(
        matches!(&error, CarryError::Damaged { what, .. } if what.contains("entry 2")),
        "{error}"
    );
    let (_desk, place) = desk(&shared);
    assert_eq!(exported(&place), "");
    // Nor is anything carried into what is damaged.
    found(&place, 4);
    let error = pull(here.path(), &shared, 500).unwrap_err();
    assert!(
        matches!(&error, CarryError::Damaged { which, .. } if which.contains("tmp")),
        "{error}"
    );
}

#[test]
fn a_file_that_is_missing_is_named_and_the_rest_is_carried() {
    let shared = laboratory();
    let here = tempfile::tempdir().unwrap();
    found(&Place::from(here.path()), 0);
    {
        let mut laboratory = OpenLaboratory::open(here.path()).unwrap();
        let sample = ReceiveSample {
            source: "Invented quarry".into(),
            material: "crushed stone".into(),
            nominal_maximum_mm: "19.0".into(),
            ..ReceiveSample::default()
        };
        laboratory.submit("AB", None, &sample.into()).unwrap();
        let sample = laboratory.lab().samples.keys().next().unwrap().to_string();
        for (name, bytes) in
            [("one.png", &b"\x89PNG\r\n\x1A\n one"[..]), ("two.png", b"\x89PNG\r\n\x1A\n two")]
        {
            let file = NewFile { to: &sample, step: "", name, bytes };
            laboratory.attach("AB", None, &file).unwrap();
        }
    }
    let journal = rusqlite::Connection::open(here.path().join("journal.sqlite")).unwrap();
    journal
        .execute_batch(
            "DROP TRIGGER blob_is_never_removed; DELETE FROM blob WHERE substr(bytes, -3) = CAST('one' AS BLOB)",
        )
        .unwrap();
    let carried = push(here.path(), &shared, 500).unwrap();
    assert_eq!((carried.facts, carried.files, carried.lacking.len()), (5, 1, 1));
    assert!(carried.lacking[0].contains("one.png"), "{carried:?}");
}

#[test]
fn what_broke_off_goes_on_where_it_ended() {
    let shared = laboratory();
    let here = tempfile::tempdir().unwrap();
    found(&Place::from(here.path()), 40);
    // The server refuses the thirtieth entry, as if it had gone away in the middle.
    database().sql(&format!(
        "CREATE FUNCTION stop_{0}() RETURNS trigger LANGUAGE plpgsql AS \
           $$ BEGIN RAISE EXCEPTION 'broken off' USING ERRCODE = '53100'; END $$;
         CREATE TRIGGER stop_{0} BEFORE INSERT ON stonewear.entry FOR EACH ROW \
           WHEN (NEW.laboratory = '{0}' AND NEW.position = 30) EXECUTE FUNCTION stop_{0}()",
        shared.laboratory
    ));
    let error = push(here.path(), &shared, 7).unwrap_err();
    assert!(matches!(error, CarryError::BrokenOff { done: 28, .. }), "{error:?}");
    assert!(error.to_string().contains("carry again"), "{error}");
    database().sql(&format!("DROP TRIGGER stop_{} ON stonewear.entry", shared.laboratory));
    assert_eq!(push(here.path(), &shared, 7).unwrap().facts, 14);
    let (_desk, place) = desk(&shared);
    assert_eq!(exported(&place), exported(here.path()));
    assert!(LaboratoryView::open(&place).unwrap().lab().people.contains_key(code(39).as_str()));
}
