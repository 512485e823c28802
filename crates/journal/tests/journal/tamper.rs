//! Law 2: whatever is changed behind the journal's back is found, and the place is named.

use crate::doctored::{Doctored, Row};
use crate::support::{any_batches, append, memory};
use proptest::prelude::*;
use proptest::sample::Index;
use stonewear_journal::{Fault, Hash, Head, MemoryStore, verify};

fn found(store: &Doctored) -> (u64, Fault) {
    let verification = verify(store).unwrap();
    let broken = verification.broken.expect("the change is found");
    assert_eq!(verification.facts, verification.head.position);
    (broken.position, broken.fault)
}

/// A row whose hash is that of its bytes, as a forger would leave it.
fn rehash(row: &mut Row, from: &str, to: &str) {
    let text = std::str::from_utf8(&row.bytes).unwrap();
    assert!(text.contains(from), "{from} in {text}");
    row.bytes = text.replace(from, to).into_bytes();
    row.hash = Hash::of(&row.bytes);
}

#[test]
fn each_kind_of_change_is_named() {
    let intact = Doctored::of(&memory(6));
    let changed = |change: &dyn Fn(&mut Doctored)| {
        let mut store = intact.clone();
        change(&mut store);
        found(&store)
    };
    let renumbered = |change: &dyn Fn(&mut Vec<Row>)| {
        let mut store = intact.clone();
        change(&mut store.rows);
        found(&store.renumbered())
    };
    let misplaced = |expected, found| (expected, Fault::OutOfPlace { expected, found });

    // A missing entry, with and without the gap closed.
    assert_eq!(changed(&|s| drop(s.rows.remove(2))), misplaced(3, 4));
    assert_eq!(renumbered(&|rows| drop(rows.remove(2))), misplaced(3, 4));
    assert_eq!(changed(&|s| drop(s.rows.remove(0))), misplaced(1, 2));
    // Swapped entries.
    assert_eq!(renumbered(&|rows| rows.swap(1, 4)), misplaced(2, 5));
    // A doubled entry.
    assert_eq!(renumbered(&|rows| rows.insert(3, rows[2].clone())), misplaced(4, 3));
    assert_eq!(changed(&|s| s.rows.insert(3, s.rows[2].clone())), misplaced(4, 3));
    // A cut tail, also of everything.
    let cut = |from| (from, Fault::CutOff { from, until: 6 });
    assert_eq!(changed(&|s| s.rows.truncate(4)), cut(5));
    assert_eq!(changed(&|s| s.rows.clear()), cut(1));
    // A head that disagrees.
    let back = |s: &mut Doctored| s.head = Head { position: 4, hash: s.rows[3].hash };
    assert_eq!(changed(&back), (5, Fault::BehindHead { head: 4 }));
    assert_eq!(changed(&|s| s.head.hash = Hash::of(b"x")), (6, Fault::HeadHash));
    // Text or hash changed.
    assert_eq!(changed(&|s| s.rows[3].hash = s.rows[2].hash), (4, Fault::Changed));
    // A forger who computes hashes anew is found one entry on ...
    let forged = |s: &mut Doctored| rehash(&mut s.rows[3], "12.5", "11.5");
    assert_eq!(changed(&forged), (5, Fault::Previous));
    // ... or at the head.
    let forged = |s: &mut Doctored| rehash(&mut s.rows[5], "12.5", "11.5");
    assert_eq!(changed(&forged), (6, Fault::HeadHash));
    // The column that requests are found by.
    assert_eq!(changed(&|s| s.rows[3].request = "r9".into()), (4, Fault::Request));
}

#[test]
fn a_text_that_is_no_entry_is_refused_in_words() {
    for (from, to, words) in [
        ("{\"at\"", "[\"at\"", "invalid"),
        ("\"by\":", "\"of\":", "unknown field `of`"),
        ("\"position\":3", "\"position\":-3", "invalid value"),
        ("\"position\":3", "\"position\":3.0", "invalid type"),
        ("10:41:07.250Z", "10:41:07Z", "three decimals"),
        ("\"fact\":{", "\"fact\":[{", "expected"),
        ("\"request\":\"r1\"", "\"request\":null", "invalid type: null"),
        ("\"previous\":\"", "\"previous\":\"A", "64 hexadecimal digits"),
        ("\"position\":3", "\"position\":3,\"position\":3", "duplicate field"),
    ] {
        let mut store = Doctored::of(&memory(4));
        rehash(&mut store.rows[2], from, to);
        match found(&store) {
            (3, Fault::NotAnEntry(why)) => assert!(why.contains(words), "{why}"),
            other => panic!("{from} -> {to}: {other:?}"),
        }
    }
}

#[test]
fn the_words_of_a_break() {
    let mut store = Doctored::of(&memory(4));
    store.rows.remove(1);
    let verification = verify(&store).unwrap();
    assert_eq!(verification.broken_at(), Some(2));
    assert_eq!(verification.what().unwrap(), "entry 2: it is missing: entry 3 stands in its place");
}

proptest! {
    #[test]
    fn any_changed_byte_of_any_entry_is_found_there(
        batches in any_batches(), entry: Index, byte: Index, by in 1..=255_u8,
    ) {
        let mut memory = MemoryStore::default();
        append(&mut memory, &batches.concat());
        let mut store = Doctored::of(&memory);
        prop_assume!(!store.rows.is_empty());
        let row = entry.get_mut(&mut store.rows);
        *byte.get_mut(&mut row.bytes) ^= by;
        let position = row.position;
        prop_assert_eq!(found(&store), (position, Fault::Changed));
    }

    #[test]
    fn any_removed_swapped_or_doubled_entry_is_found_there(
        count in 2..9_u64, one: Index, other: Index, closed: bool,
    ) {
        let intact = Doctored::of(&memory(count));
        let (one, other) = (one.index(intact.rows.len()), other.index(intact.rows.len()));
        let lay = |store: Doctored| if closed { store.renumbered() } else { store };

        let mut removed = intact.clone();
        removed.rows.remove(one);
        prop_assert_eq!(found(&lay(removed)).0, one as u64 + 1);

        let mut doubled = intact.clone();
        doubled.rows.insert(one + 1, intact.rows[one].clone());
        prop_assert_eq!(found(&lay(doubled)).0, one as u64 + 2);

        prop_assume!(one != other);
        let mut swapped = intact;
        swapped.rows.swap(one, other);
        prop_assert_eq!(found(&swapped.renumbered()).0, one.min(other) as u64 + 1);
    }
}
