//! The suite that every store passes, and the laws over any drafts.

use crate::support::{any_batches, append, draft, postgres, some_drafts, sqlite};
use proptest::prelude::*;
use serde::Deserialize;
use serde_json::json;
use std::ops::ControlFlow;
use stonewear_journal::{DraftError, Hash, Head, MemoryStore, Store, StoreError, replay, verify};

#[test]
fn memory_store_passes_the_suite() {
    suite(MemoryStore::default);
}

#[test]
fn sqlite_store_passes_the_suite() {
    let mut folders = Vec::new();
    suite(|| {
        let (folder, store) = sqlite();
        folders.push(folder);
        store
    });
}

#[test]
fn postgres_store_passes_the_suite() {
    suite(postgres);
}

/// All that is asked of a store. A further store adds one line above.
fn suite<S: Store>(mut new: impl FnMut() -> S) {
    an_empty_journal(new());
    appending_and_reading(new());
    a_batch_is_whole_or_not_at_all(new());
    what_cannot_be_made_ends_it(new());
    the_head_must_be_as_expected(new());
    requests_are_found(new());
    reading_from_a_place_and_stopping(new());
    facts_are_read_into_the_callers_own_type(new());
    blobs_are_kept(new());
}

fn an_empty_journal(mut store: impl Store) {
    assert_eq!(store.head().unwrap(), Head::GENESIS);
    assert_eq!(store.find_request("r0").unwrap(), [0_u64; 0]);
    assert_eq!(store.append(Head::GENESIS, &[]).unwrap(), []);
    let verification = verify(&store).unwrap();
    assert!(verification.intact());
    assert_eq!((verification.facts, verification.head), (0, Head::GENESIS));
}

fn appending_and_reading(mut store: impl Store) {
    let mut appended = store.append(Head::GENESIS, &some_drafts(3)).unwrap();
    let head = store.head().unwrap();
    assert_eq!(head, appended[2].head());
    appended.extend(store.append(head, &[draft("late", json!({"é": "\u{0}\"\\"}))]).unwrap());

    let mut read = Vec::new();
    let end = store.read_from(1, &mut |raw| {
        read.push((raw.position, raw.hash, raw.request.to_owned(), raw.bytes.to_vec()));
        ControlFlow::Continue(())
    });
    let expected: Vec<_> = appended
        .iter()
        .map(|e| (e.position, e.hash, e.request.clone(), e.canonical_bytes().to_vec()))
        .collect();
    assert_eq!(read, expected);
    assert_eq!(end.unwrap(), appended[3].head());
    assert!(verify(&store).unwrap().intact());
}

fn a_batch_is_whole_or_not_at_all(mut store: impl Store) {
    let head = append(&mut store, &some_drafts(2));
    let mut bad = some_drafts(3);
    bad[2].fact = json!({"loss": 17.3});
    let error = store.append(head, &bad).unwrap_err();
    let number = DraftError::Number("17.3".into());
    assert!(matches!(&error, StoreError::Draft { index: 2, source } if *source == number));
    let words = error.to_string();
    assert!(words.starts_with("fact 3 of the request cannot be recorded: the number 17.3"));
    assert_eq!(store.head().unwrap(), head);
    assert_eq!(verify(&store).unwrap().facts, 2);
}

fn the_head_must_be_as_expected(mut store: impl Store) {
    let head = append(&mut store, &some_drafts(2));
    let elsewhere = Head { position: 2, hash: Hash::of(b"another journal") };
    for expected in [Head::GENESIS, elsewhere, Head { position: 3, hash: head.hash }] {
        for drafts in [some_drafts(1), Vec::new()] {
            match store.append(expected, &drafts) {
                Err(StoreError::Conflict { expected: e, found }) => {
                    assert_eq!((e, found), (expected, head));
                }
                other => panic!("{other:?}"),
            }
        }
    }
    assert_eq!(store.head().unwrap(), head);
}

fn requests_are_found(mut store: impl Store) {
    append(&mut store, &some_drafts(5));
    append(&mut store, &[draft("r0", json!({"again": true}))]);
    assert_eq!(store.find_request("r0").unwrap(), [1, 2, 6]);
    assert_eq!(store.find_request("r2").unwrap(), [5]);
    assert_eq!(store.find_request("r").unwrap(), [0_u64; 0]);
    assert_eq!(store.find_request("R0").unwrap(), [0_u64; 0]);
    let found = |beginning: &str| -> Vec<u64> {
        store.find_requests(beginning).unwrap().into_iter().map(|(position, _)| position).collect()
    };
    assert_eq!(found("r0"), [1, 2, 6]);
    assert_eq!(store.find_requests("r2").unwrap(), [(5, "r2".to_owned())]);
    assert_eq!(found("r"), [1, 2, 3, 4, 5, 6]);
    assert!(found("R").is_empty() && found("r00").is_empty(), "no key begins so");
}

fn reading_from_a_place_and_stopping(mut store: impl Store) {
    let middle = append(&mut store, &some_drafts(3));
    let end = append(&mut store, &some_drafts(4));
    let positions = |from, until| {
        let mut read = Vec::new();
        let head = store.read_from(from, &mut |raw| {
            read.push(raw.position);
            if raw.position == until { ControlFlow::Break(()) } else { ControlFlow::Continue(()) }
        });
        assert_eq!(head.unwrap(), end);
        read
    };
    assert_eq!(positions(0, 2), [1, 2]);
    assert_eq!(positions(6, 99), [6, 7]);
    assert_eq!(positions(8, 99), [0_u64; 0]);
    assert_eq!(positions(u64::MAX, 99), [0_u64; 0]);

    let mut read = Vec::new();
    let tail = replay(&store, middle, &mut |entry| {
        read.push(entry.position);
        ControlFlow::Continue(())
    });
    let tail = tail.unwrap();
    assert!(tail.intact());
    assert_eq!((tail.facts, tail.head, read), (4, end, vec![4, 5, 6, 7]));

    let stopped = replay(&store, Head::GENESIS, &mut |entry| {
        if entry.position == 3 { ControlFlow::Break(()) } else { ControlFlow::Continue(()) }
    });
    let stopped = stopped.unwrap();
    assert!(stopped.intact(), "stopping early is no break: {stopped:?}");
    assert_eq!((stopped.facts, stopped.head), (3, middle));
}

fn facts_are_read_into_the_callers_own_type(mut store: impl Store) {
    #[derive(Debug, PartialEq, Deserialize)]
    struct Weighed {
        n: u64,
        mass: String,
    }
    append(&mut store, &some_drafts(2));
    let mut read = Vec::new();
    let verification = replay(&store, Head::GENESIS, &mut |entry| {
        assert_eq!((&*entry.by, &*entry.request), ("mk", "r0"));
        assert_eq!(entry.at.to_string(), "2026-11-24T10:41:07.250Z");
        assert_eq!(Hash::of(entry.canonical_bytes()), entry.hash);
        read.push(serde_json::from_str::<Weighed>(entry.fact.get()).unwrap());
        ControlFlow::Continue(())
    });
    assert!(verification.unwrap().intact());
    let weighed = |n| Weighed { n, mass: "12.5".into() };
    assert_eq!(read, [weighed(0), weighed(1)]);
}

fn blobs_are_kept(mut store: impl Store) {
    for bytes in [&b""[..], b"a picture", &[0, 255, 10]] {
        let hash = store.put_blob(bytes).unwrap();
        assert_eq!(hash, Hash::of(bytes));
        assert_eq!(store.put_blob(bytes).unwrap(), hash, "the same again");
        assert_eq!(store.get_blob(hash).unwrap().as_deref(), Some(bytes));
    }
    assert_eq!(store.get_blob(Hash::of(b"never kept")).unwrap(), None);
    assert_eq!(store.head().unwrap(), Head::GENESIS, "a blob is no fact");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    /// Law 1 of the journal: however the facts are cut into batches and wherever they are kept,
    /// the journal is the same and intact.
    #[test]
    fn any_batches_make_the_same_journal_in_every_store(batches in any_batches()) {
        let (_folder, mut file) = sqlite();
        let mut shared = postgres();
        let (mut memory, mut whole) = (MemoryStore::default(), MemoryStore::default());
        for batch in &batches {
            append(&mut memory, batch);
            append(&mut file, batch);
            append(&mut shared, batch);
        }
        append(&mut whole, &batches.concat());

        let verified = verify(&memory).unwrap();
        prop_assert!(verified.intact(), "{:?}", verified.what());
        prop_assert_eq!(verified.facts, batches.concat().len() as u64);
        prop_assert_eq!(&verify(&file).unwrap(), &verified);
        prop_assert_eq!(&verify(&shared).unwrap(), &verified);
        prop_assert_eq!(&verify(&whole).unwrap(), &verified);
    }

    /// What is read is what was written.
    #[test]
    fn any_draft_is_read_back(batches in any_batches()) {
        let drafts = batches.concat();
        let mut store = MemoryStore::default();
        append(&mut store, &drafts);
        let mut read = Vec::new();
        let _ = replay(&store, Head::GENESIS, &mut |entry| {
            read.push(stonewear_journal::Draft {
                at: entry.at,
                by: entry.by.into_owned(),
                request: entry.request.into_owned(),
                fact: serde_json::from_str(entry.fact.get()).unwrap(),
            });
            ControlFlow::Continue(())
        }).unwrap();
        prop_assert_eq!(read, drafts);
    }
}

fn what_cannot_be_made_ends_it(mut store: impl Store) {
    let head = append(&mut store, &some_drafts(2));
    let mut drafts = some_drafts(2).into_iter().map(Ok).chain([Err(StoreError::Busy)]);
    assert!(matches!(store.append_each(head, &mut drafts), Err(StoreError::Busy)));
    assert_eq!(store.head().unwrap(), head);
    assert_eq!(verify(&store).unwrap().facts, 2);
}
