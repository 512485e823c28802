//! What can only be tested at the connection: durability settings, a full disk.

use super::SqliteStore;
use crate::{Draft, Head, Store, StoreError, verify};
use serde_json::json;
use std::time::Duration;

fn drafts(count: usize, size: usize) -> Vec<Draft> {
    let draft = |n: usize| Draft {
        at: "2026-11-24T10:41:07.250Z".parse().unwrap(),
        by: "mk".into(),
        request: format!("r{n}"),
        fact: json!({"text": "x".repeat(size)}),
    };
    (0..count).map(draft).collect()
}

fn pragma(store: &SqliteStore, name: &str) -> String {
    let value = |row: &rusqlite::Row<'_>| row.get::<_, rusqlite::types::Value>(0);
    format!("{:?}", store.connection.pragma_query_value(None, name, value).unwrap())
}

#[test]
fn what_is_committed_is_on_the_disk() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("journal.sqlite");
    let created = SqliteStore::create(&path).unwrap();
    let opened = SqliteStore::open(&path).unwrap();
    for store in [created, opened] {
        assert_eq!(pragma(&store, "journal_mode"), "Text(\"wal\")");
        assert_eq!(pragma(&store, "synchronous"), "Integer(2)", "2 is FULL");
        assert_eq!(pragma(&store, "checkpoint_fullfsync"), "Integer(1)");
    }
}

#[test]
fn a_full_disk_records_nothing_and_says_so() {
    let folder = tempfile::tempdir().unwrap();
    let mut store = SqliteStore::create(&folder.path().join("journal.sqlite")).unwrap();
    store.append(Head::GENESIS, &drafts(3, 10)).unwrap();
    let head = store.head().unwrap();

    // SQLite reports this limit exactly as it reports a disk without room.
    store.connection.pragma_update(None, "max_page_count", 40).unwrap();
    let error = store.append(head, &drafts(20, 50_000)).unwrap_err();
    assert!(matches!(error, StoreError::DiskFull), "{error:?}");
    assert!(error.to_string().contains("the disk is full: nothing was recorded"));
    assert!(matches!(store.put_blob(&[7; 1_000_000]), Err(StoreError::DiskFull)));
    assert_eq!(store.head().unwrap(), head);
    assert_eq!(store.find_request("r19").unwrap(), [0_u64; 0]);
    assert_eq!(verify(&store).unwrap().facts, 3);

    store.connection.pragma_update(None, "max_page_count", 1_000_000).unwrap();
    store.append(head, &drafts(20, 50_000)).unwrap();
    let verification = verify(&store).unwrap();
    assert!(verification.intact());
    assert_eq!(verification.facts, 23);
}

#[test]
fn a_journal_held_by_another_is_busy() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("journal.sqlite");
    let mut store = SqliteStore::create(&path).unwrap();
    store.connection.busy_timeout(Duration::from_millis(20)).unwrap();
    let other = SqliteStore::open(&path).unwrap();
    other.connection.execute_batch("BEGIN IMMEDIATE").unwrap();
    let held = store.append(Head::GENESIS, &drafts(1, 1)).unwrap_err();
    assert!(matches!(held, StoreError::Busy), "{held:?}");
    other.connection.execute_batch("ROLLBACK").unwrap();
    store.append(Head::GENESIS, &drafts(1, 1)).unwrap();
}

#[test]
fn a_journal_that_was_put_away_is_read_as_it_lies() {
    let folder = tempfile::tempdir().unwrap();
    // A name in which every character that means something in an address stands for itself.
    let path = folder.path().join("a?b#c%20d e&é.sqlite");
    let mut store = SqliteStore::create(&path).unwrap();
    store.append(Head::GENESIS, &drafts(3, 1)).unwrap();
    drop(store);
    let connection = super::open::connect_unchanging(&path).unwrap();
    let mut store = SqliteStore { connection };
    let verification = verify(&store).unwrap();
    assert!(verification.intact());
    assert_eq!(verification.facts, 3);
    let refused = store.append(verification.head, &drafts(1, 1));
    assert!(matches!(refused, Err(StoreError::ReadOnly)), "{refused:?}");
    drop(store);
    let names: Vec<_> = std::fs::read_dir(folder.path()).unwrap().collect();
    assert_eq!(names.len(), 1, "nothing is written beside it");
}

#[test]
fn a_trial_writes_to_the_disk_and_changes_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("journal.sqlite");
    let mut store = SqliteStore::create(&path).unwrap();
    store.append(Head::GENESIS, &drafts(3, 1)).unwrap();
    let head = store.head().unwrap();
    let log = folder.path().join("journal.sqlite-wal");
    let before = std::fs::metadata(&log).unwrap().len();
    store.try_writing().unwrap();
    assert!(std::fs::metadata(&log).unwrap().len() >= before + 8 * 4096, "it was written");
    assert_eq!(store.head().unwrap(), head);
    assert!(verify(&store).unwrap().intact());
    let mut store = SqliteStore::open_read_only(&path).unwrap();
    assert!(matches!(store.try_writing(), Err(StoreError::ReadOnly)));
}
