//! A server that goes away, and a line that is lost: what was acknowledged is there, nothing is there
//! twice, and work goes on.

use crate::support::{admitted, append, draft, prepared, some_drafts};
use serde_json::json;
use std::ops::ControlFlow;
use std::sync::atomic::{AtomicU32, Ordering};
use std::sync::mpsc;
use std::time::{Duration, Instant};
use stonewear_cluster::Cluster;
use stonewear_journal::postgres::{
    DatabaseAddress, Follower, Heard, LaboratoryName, PostgresStore, admit, prepare,
};
use stonewear_journal::{Hash, Store, StoreError, verify};

#[test]
fn a_server_that_comes_back_is_worked_with_again() {
    let cluster = Cluster::start();
    let database = cluster.database();
    let owner = database.address("owner").parse().unwrap();
    prepare(&owner).unwrap();
    let name: LaboratoryName = "one".parse().unwrap();
    admit(&owner, &name, &database.role("bench", "")).unwrap();
    let address: DatabaseAddress = database.address("bench").parse().unwrap();
    let mut store = PostgresStore::open(&address, &name).unwrap();
    let (tell, told) = mpsc::channel();
    let follower = Follower::begin(&address, &name, move |heard| drop(tell.send(heard))).unwrap();
    let next = || told.recv_timeout(Duration::from_secs(20)).unwrap();
    assert_eq!(next(), Heard::Listening);
    let head = append(&mut store, &some_drafts(3));
    assert_eq!(next(), Heard::Position(3));

    cluster.stop();
    let away = store.append(head, &some_drafts(1)).unwrap_err();
    assert!(matches!(away, StoreError::Unreachable(_)), "{away:?}");
    assert!(matches!(store.head(), Err(StoreError::Unreachable(_))));
    assert!(matches!(next(), Heard::Lost(_)));
    cluster.start_again();
    assert_eq!(append(&mut store, &some_drafts(1)).position, 4);
    loop {
        match next() {
            Heard::Lost(_) => {}
            heard => {
                assert_eq!(heard, Heard::Listening, "whoever hears this looks what came meanwhile");
                break;
            }
        }
    }
    append(&mut store, &some_drafts(1));
    // Where it listened again before the first of the two was appended, it hears of both.
    let heard = match next() {
        Heard::Position(4) => next(),
        heard => heard,
    };
    assert_eq!(heard, Heard::Position(5));

    // A crash between two appends is not even noticed.
    cluster.restart();
    append(&mut store, &some_drafts(1));
    assert_eq!(verify(&store).unwrap().facts, 6);
    let begun = Instant::now();
    drop(follower);
    assert!(begun.elapsed() < Duration::from_secs(20), "a follower ends when it is dropped");

    database.sql("ALTER SYSTEM SET fsync = off");
    cluster.restart();
    let refused = PostgresStore::open(&address, &name).unwrap_err().to_string();
    assert!(refused.contains("fsync"), "{refused}");
}

#[test]
fn lines_that_are_cut_at_any_moment_lose_and_double_nothing() {
    // Enough to meet every moment of an append; then the writers are let finish, on any machine.
    const CUTS: u32 = 80;
    const WRITERS: u32 = 3;
    // Of its own, since every line to it is cut.
    let database = prepared();
    let name: LaboratoryName = "one".parse().unwrap();
    admitted(&database, &name, "bench");
    let address: DatabaseAddress = database.address("bench").parse().unwrap();
    let open = || loop {
        match PostgresStore::open(&address, &name) {
            Ok(store) => return store,
            Err(StoreError::Unreachable(_)) => {}
            Err(error) => panic!("{error:?}"),
        }
    };
    let finished = AtomicU32::new(0);
    let acknowledged: Vec<(u64, Hash, String)> = std::thread::scope(|scope| {
        let writers: Vec<_> = (0..WRITERS)
            .map(|writer| {
                let (open, finished) = (&open, &finished);
                scope.spawn(move || {
                    let mut store = open();
                    let mut acknowledged = Vec::new();
                    for n in 0..60 {
                        let key = format!("w{writer}-{n}");
                        let drafts = [draft(&key, json!({"text": "x".repeat(40 << (n % 9))}))];
                        loop {
                            // A request whose answer was lost is asked for by its key, as every caller does.
                            if let Ok(found) = store.find_request(&key)
                                && !found.is_empty()
                            {
                                break;
                            }
                            let Ok(head) = store.head() else { continue };
                            match store.append(head, &drafts) {
                                Ok(entries) => {
                                    let entry = &entries[0];
                                    acknowledged.push((entry.position, entry.hash, key));
                                    break;
                                }
                                Err(StoreError::Conflict { .. } | StoreError::Unreachable(_)) => {}
                                Err(error) => panic!("{error:?}"),
                            }
                        }
                    }
                    finished.fetch_add(1, Ordering::Relaxed);
                    acknowledged
                })
            })
            .collect();
        let cutter = scope.spawn(|| {
            let mut client = database.client(None);
            let mut cut = 0;
            while cut < u64::from(CUTS) && finished.load(Ordering::Relaxed) < WRITERS {
                cut += client
                    .execute(
                        "SELECT pg_terminate_backend(pid) FROM pg_stat_activity \
                         WHERE datname = current_database() AND application_name = 'stonewear' \
                         AND query LIKE '%stonewear.%' AND random() < 0.4",
                        &[],
                    )
                    .unwrap();
                std::thread::sleep(Duration::from_millis(10));
            }
            cut
        });
        let acknowledged = writers.into_iter().flat_map(|one| one.join().unwrap()).collect();
        assert!(cutter.join().unwrap() > 10, "lines were cut");
        acknowledged
    });
    let store = open();
    let verification = verify(&store).unwrap();
    assert!(verification.intact(), "{:?}", verification.what());
    assert_eq!(verification.facts, 180, "every request once");
    let mut stands = Vec::new();
    let _ = store.read_from(1, &mut |raw| {
        stands.push((raw.position, raw.hash, raw.request.to_owned()));
        ControlFlow::Continue(())
    });
    for one in &acknowledged {
        assert!(stands.contains(one), "{one:?} was acknowledged");
    }
}
