//! PostgreSQL: many writers, what raw SQL can do and how that is found, and that others are told.

use crate::support::{append, database, draft, laboratory, open, postgres, some_drafts};
use serde_json::json;
use std::collections::BTreeSet;
use std::ops::ControlFlow;
use std::sync::mpsc;
use std::time::Duration;
use stonewear_cluster::cluster;
use stonewear_journal::postgres::{
    Follower, Heard, LaboratoryName, PostgresStore, ResultRow, admit, prepare,
};
use stonewear_journal::{Fault, Hash, Head, Store, StoreError, verify};

#[test]
fn a_second_writer_gets_a_conflict() {
    let name = laboratory();
    let (mut one, mut two) = (open(&name), open(&name));
    append(&mut one, &some_drafts(1));
    let late = two.append(Head::GENESIS, &some_drafts(1)).unwrap_err();
    assert!(matches!(late, StoreError::Conflict { .. }), "{late:?}");
    append(&mut two, &some_drafts(1));
    assert_eq!(verify(&one).unwrap().facts, 2);
}

#[test]
fn others_read_while_one_writes() {
    let name = laboratory();
    let mut writer = open(&name);
    // More than are fetched at once, so that the reading is still going on.
    let first = append(&mut writer, &some_drafts(1_700));
    let mut reader =
        PostgresStore::open_read_only(&database().address("bench").parse().unwrap(), &name)
            .unwrap();
    let (mut second, mut read) = (first, 0);
    let end = reader.read_from(1, &mut |raw| {
        if raw.position == 1 {
            second = append(&mut writer, &some_drafts(3));
        }
        read += 1;
        ControlFlow::Continue(())
    });
    assert_eq!((end.unwrap(), read), (first, 1_700), "entries and end are of one moment");
    assert_eq!(verify(&reader).unwrap().head, second);
    // Stopping early neither hangs nor harms what comes next.
    let end = reader.read_from(1, &mut |_| ControlFlow::Break(()));
    assert_eq!(end.unwrap(), second);
    let refused = reader.append(second, &some_drafts(1)).unwrap_err();
    assert!(matches!(refused, StoreError::ReadOnly), "{refused:?}");
    assert!(matches!(reader.put_blob(b"x"), Err(StoreError::ReadOnly)));
}

#[test]
fn a_request_with_any_letters_is_found() {
    let mut store = postgres();
    append(&mut store, &[draft("a\u{0}b", json!({})), draft("a\u{10ffff}", json!({}))]);
    assert_eq!(store.find_request("a\u{0}b").unwrap(), [1]);
    assert_eq!(store.find_requests("a").unwrap().len(), 2);
    assert_eq!(store.find_requests("a\u{10ffff}").unwrap().len(), 1);
    let too_long = store.append(store.head().unwrap(), &[draft(&"k".repeat(2_001), json!({}))]);
    assert!(too_long.is_err());
    assert_eq!(verify(&store).unwrap().facts, 2);
}

#[test]
fn thirty_two_writers_leave_no_gap_and_lose_nothing() {
    const WRITERS: usize = 32;
    const EACH: usize = 6;
    let name = laboratory();
    let acknowledged: Vec<(u64, Hash)> = std::thread::scope(|scope| {
        let writers: Vec<_> = (0..WRITERS)
            .map(|writer| {
                let name = &name;
                scope.spawn(move || {
                    let mut store = open(name);
                    let mut acknowledged = Vec::new();
                    for n in 0..EACH {
                        let drafts = [draft(&format!("w{writer}-{n}"), json!({"n": n}))];
                        loop {
                            let head = store.head().unwrap();
                            match store.append(head, &drafts) {
                                Ok(entries) => {
                                    acknowledged.push((entries[0].position, entries[0].hash));
                                    break;
                                }
                                Err(StoreError::Conflict { .. }) => {}
                                Err(error) => panic!("{error:?}"),
                            }
                        }
                    }
                    acknowledged
                })
            })
            .collect();
        writers.into_iter().flat_map(|writer| writer.join().unwrap()).collect()
    });
    let store = open(&name);
    let verification = verify(&store).unwrap();
    assert!(verification.intact(), "{:?}", verification.what());
    assert_eq!(verification.facts as usize, WRITERS * EACH);
    let places: BTreeSet<u64> = acknowledged.iter().map(|(position, _)| *position).collect();
    assert_eq!(places, (1..=verification.facts).collect(), "each place once, none left out");
    let mut hashes = Vec::new();
    let _ = store.read_from(1, &mut |raw| {
        hashes.push((raw.position, raw.hash));
        ControlFlow::Continue(())
    });
    assert!(acknowledged.iter().all(|one| hashes.contains(one)));
}

#[test]
fn turns_are_taken_one_after_the_other() {
    let name = laboratory();
    let (mut one, mut two) = (open(&name), open(&name));
    one.take_turn().unwrap();
    let (tell, told) = mpsc::channel();
    let waiting = std::thread::spawn(move || {
        two.take_turn().unwrap();
        tell.send(()).unwrap();
        two.end_turn().unwrap();
    });
    assert!(told.recv_timeout(Duration::from_millis(300)).is_err(), "it is not its turn");
    one.end_turn().unwrap();
    told.recv_timeout(Duration::from_secs(10)).unwrap();
    waiting.join().unwrap();
}

#[test]
fn others_are_told_when_it_is_committed_and_only_then() {
    let name = laboratory();
    let (tell, told) = mpsc::channel();
    let _follower =
        Follower::begin(&database().address("bench").parse().unwrap(), &name, move |heard| {
            let _ = tell.send(heard);
        })
        .unwrap();
    let next = || told.recv_timeout(Duration::from_secs(10)).unwrap();
    assert_eq!(next(), Heard::Listening);
    let mut store = open(&name);
    append(&mut store, &some_drafts(3));
    assert_eq!(next(), Heard::Position(3));
    // What is not appended is not told, nor is what is written as it stands.
    assert!(store.append(Head::GENESIS, &some_drafts(1)).is_err());
    store.try_writing().unwrap();
    append(&mut postgres(), &some_drafts(5));
    append(&mut store, &some_drafts(1));
    assert_eq!(next(), Heard::Position(4));
}

fn row(result: &str, loss: &str) -> ResultRow {
    ResultRow {
        result: result.into(),
        sample: "L26-001".into(),
        source: "Karsholm \u{0}quarry".into(),
        material: "greywacke".into(),
        method: "m".into(),
        grading: "10/14".into(),
        apparatus: None,
        reference: None,
        version: 1,
        loss_percent: Some(loss.into()),
        charted_percent: None,
        found_at: "2026-11-24T10:41:07.250Z".parse().unwrap(),
        released_at: None,
        in_doubt: false,
    }
}

#[test]
fn results_are_written_with_their_facts_or_not_at_all() {
    let name = laboratory();
    let mut store = open(&name);
    let losses = || {
        let mut client = database().client(None);
        let rows = client.query(
            "SELECT result || ' ' || loss_percent::text FROM stonewear.result WHERE laboratory = $1 \
             ORDER BY result",
            &[&name.as_str()],
        );
        rows.unwrap().iter().map(|row| row.get(0)).collect::<Vec<String>>()
    };
    let refused = store.append_with(
        Head { position: 1, hash: Hash::GENESIS },
        &some_drafts(1),
        &[row("R1", "14.8")],
    );
    assert!(refused.is_err());
    assert!(losses().is_empty());
    let entries = store.append_with(Head::GENESIS, &some_drafts(1), &[row("R1", "14.8")]).unwrap();
    assert_eq!(losses(), ["R1 14.8"]);
    let end = entries[0].head();
    store.append_with(end, &some_drafts(1), &[row("R1", "15.10"), row("R2", "9.0")]).unwrap();
    assert_eq!(losses(), ["R1 15.10", "R2 9.0"], "decimals stand as they were given");
    let broken = store.append_with(store.head().unwrap(), &some_drafts(1), &[row("R3", "much")]);
    assert!(broken.is_err());
    assert_eq!(verify(&store).unwrap().facts, 2, "a row that cannot be kept takes its facts along");
}

#[test]
fn slips_at_a_database_prompt_are_refused() {
    let name = laboratory();
    let mut store = open(&name);
    append(&mut store, &some_drafts(3));
    store.put_blob(b"picture").unwrap();
    let of = format!("WHERE laboratory = '{name}'");
    let mut client = database().client(None);
    for (statement, words) in [
        (format!("UPDATE stonewear.entry SET request = 'x' {of}"), "never changed"),
        (format!("DELETE FROM stonewear.entry {of}"), "never removed"),
        ("TRUNCATE stonewear.entry".into(), "never removed"),
        (
            format!(
                "INSERT INTO stonewear.entry SELECT laboratory, position + 2, hash, request, canonical \
                 FROM stonewear.entry {of} AND position = 3"
            ),
            "right behind the last",
        ),
        (
            format!(
                "INSERT INTO stonewear.entry SELECT laboratory, position + 1, hash, request, 'x' \
                 FROM stonewear.entry {of} AND position = 3"
            ),
            "check constraint",
        ),
        (format!("UPDATE stonewear.head SET position = 2 {of}"), "only grows"),
        (format!("DELETE FROM stonewear.head {of}"), "never removed"),
        (format!("UPDATE stonewear.blob SET bytes = 'x' {of}"), "never changed"),
        (format!("DELETE FROM stonewear.blob {of}"), "never removed"),
        (format!("DELETE FROM stonewear.laboratory {of}"), "violates foreign key"),
    ] {
        let error = client.batch_execute(&statement).expect_err(&statement);
        let said = error.as_db_error().unwrap().message().to_owned();
        assert!(said.contains(words), "{statement}: {said}");
    }
    assert!(verify(&store).unwrap().intact());
}

/// What the owner of the server can do, who is held by nothing.
#[test]
fn what_is_done_without_the_triggers_is_found() {
    let database = cluster().database();
    let owner = database.address("owner").parse().unwrap();
    prepare(&owner).unwrap();
    let role = database.role("bench", "");
    database.sql(
        "ALTER TABLE stonewear.entry DISABLE TRIGGER ALL, DROP CONSTRAINT entry_check, \
           DROP CONSTRAINT entry_position_check;
         ALTER TABLE stonewear.head DISABLE TRIGGER ALL, DROP CONSTRAINT head_position_check, \
           DROP CONSTRAINT head_hash_check;
         ALTER TABLE stonewear.blob DISABLE TRIGGER ALL, DROP CONSTRAINT blob_check",
    );
    let misplaced = |expected, found| (expected, Some(Fault::OutOfPlace { expected, found }));
    let zero = "decode(repeat('00', 32), 'hex')";
    let cases = [
        ("DELETE FROM stonewear.entry WHERE position = 2 AND".to_owned(), misplaced(2, 3)),
        (
            "DELETE FROM stonewear.entry WHERE position > 4 AND".into(),
            (5, Some(Fault::CutOff { from: 5, until: 6 })),
        ),
        (
            "DELETE FROM stonewear.entry WHERE".into(),
            (1, Some(Fault::CutOff { from: 1, until: 6 })),
        ),
        (
            "INSERT INTO stonewear.entry SELECT laboratory, 7, hash, request, canonical \
             FROM stonewear.entry WHERE position = 6 AND"
                .into(),
            misplaced(7, 6),
        ),
        (
            "INSERT INTO stonewear.entry SELECT laboratory, -4, hash, request, canonical \
             FROM stonewear.entry WHERE position = 1 AND"
                .into(),
            misplaced(1, 0),
        ),
        (
            "UPDATE stonewear.head SET position = 5 WHERE".into(),
            (6, Some(Fault::BehindHead { head: 5 })),
        ),
        (format!("UPDATE stonewear.head SET hash = {zero} WHERE"), (6, Some(Fault::HeadHash))),
        (
            format!("UPDATE stonewear.entry SET hash = {zero} WHERE position = 4 AND"),
            (4, Some(Fault::Changed)),
        ),
        (
            "UPDATE stonewear.entry SET request = 'x' WHERE position = 4 AND".into(),
            (4, Some(Fault::Request)),
        ),
        ("UPDATE stonewear.entry SET hash = 'x' WHERE position = 3 AND".into(), (3, None)),
        ("UPDATE stonewear.entry SET request = '\\xff' WHERE position = 3 AND".into(), (3, None)),
        ("UPDATE stonewear.head SET position = -1 WHERE".into(), (7, None)),
        ("DELETE FROM stonewear.head WHERE".into(), (7, None)),
    ];
    for (n, (statement, (position, fault))) in cases.iter().enumerate() {
        let name: LaboratoryName = format!("lab{n}").parse().unwrap();
        admit(&owner, &name, &role).unwrap();
        let address = database.address("bench").parse().unwrap();
        let mut store = PostgresStore::open(&address, &name).unwrap();
        append(&mut store, &some_drafts(6));
        database.sql(&format!("{statement} laboratory = '{name}'"));
        let broken = verify(&store).unwrap().broken.expect(statement);
        assert_eq!(broken.position, *position, "{statement}");
        match fault {
            Some(fault) => assert_eq!(broken.fault, *fault, "{statement}"),
            None => assert!(matches!(broken.fault, Fault::Unreadable(_)), "{:?}", broken.fault),
        }
    }

    let name: LaboratoryName = "files".parse().unwrap();
    admit(&owner, &name, &role).unwrap();
    let address = database.address("bench").parse().unwrap();
    let mut store = PostgresStore::open(&address, &name).unwrap();
    let hash = store.put_blob(b"picture").unwrap();
    assert_eq!(store.inspect().unwrap(), [""; 0]);
    database.sql("UPDATE stonewear.blob SET bytes = 'x' WHERE laboratory = 'files'");
    let changed = format!("the attached file {hash} was changed after it was kept");
    assert!(matches!(store.get_blob(hash), Err(StoreError::Damaged(what)) if what == changed));
    assert_eq!(store.inspect().unwrap(), [changed]);
}
