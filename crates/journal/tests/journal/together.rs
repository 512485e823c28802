//! Law: a journal read on all cores is read as one that is read entry by entry.

use crate::doctored::Doctored;
use crate::support::{append, draft};
use proptest::prelude::*;
use serde_json::json;
use std::ops::ControlFlow;
use std::sync::LazyLock;
use stonewear_journal::{Hash, Head, MemoryStore, Verification, replay, replay_read};

/// Several times what one core reads at once.
static LARGE: LazyLock<Doctored> = LazyLock::new(|| {
    let long = "sieved by hand, ".repeat(30);
    let one = |n: u64| draft(&format!("r{n}"), json!({"type": "weighed", "n": n, "note": long}));
    let mut store = MemoryStore::default();
    append(&mut store, &(0..3_000).map(one).collect::<Vec<_>>());
    Doctored::of(&store)
});

/// What was seen, one by one, until a place; and what came of it.
fn one_by_one(store: &Doctored, after: Head, until: u64) -> (Vec<(Head, String)>, Verification) {
    let mut seen = Vec::new();
    let verification = replay(store, after, &mut |entry| {
        seen.push((entry.head(), entry.fact.get().to_owned()));
        if entry.position == until { ControlFlow::Break(()) } else { ControlFlow::Continue(()) }
    });
    (seen, verification.unwrap())
}

fn together(store: &Doctored, after: Head, until: u64) -> (Vec<(Head, String)>, Verification) {
    let mut seen = Vec::new();
    let make = |entry: &stonewear_journal::EntryRef<'_>| entry.fact.get().to_owned();
    let verification = replay_read(store, after, &make, &mut |head, fact| {
        seen.push((head, fact));
        if head.position == until { ControlFlow::Break(()) } else { ControlFlow::Continue(()) }
    });
    (seen, verification.unwrap())
}

#[test]
fn a_large_journal_is_seen_whole_and_in_order() {
    let (seen, verification) = together(&LARGE, Head::GENESIS, u64::MAX);
    assert!(verification.intact());
    assert_eq!((seen.len(), verification.head), (3_000, LARGE.head));
    assert_eq!((seen, verification), one_by_one(&LARGE, Head::GENESIS, u64::MAX));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]
    #[test]
    fn whatever_was_changed_is_found_as_one_by_one(
        place in 0..3_000_usize, other in 0..3_000_usize, change in 0..9, until in 1..4_000_u64, after in 0..200_usize,
    ) {
        let mut store = LARGE.clone();
        match change {
            0 => drop(store.rows.remove(place)),
            1 => store.rows.swap(place, other),
            2 => store.rows.insert(place, LARGE.rows[other].clone()),
            3 => store.rows.truncate(place),
            4 => store.rows[place].hash = Hash::of(b"another"),
            5 => store.rows[place].request = "another".into(),
            6 => {
                let text = String::from_utf8(store.rows[place].bytes.clone()).unwrap();
                let row = &mut store.rows[place];
                row.bytes = text.replace("by hand", "by foot").into_bytes();
                row.hash = Hash::of(&row.bytes);
            }
            7 => store.rows[place].bytes.truncate(40),
            _ => {}
        }
        let after = after.checked_sub(1).map_or(Head::GENESIS, |at| {
            let row = &LARGE.rows[at];
            Head { position: row.position, hash: row.hash }
        });
        prop_assert_eq!(together(&store, after, until), one_by_one(&store, after, until));
    }
}
