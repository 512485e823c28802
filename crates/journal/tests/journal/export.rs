//! The export: its text, what is found in a damaged one, and that it is read line by line.

use crate::support::{any_batches, append, memory};
use proptest::prelude::*;
use proptest::sample::Index;
use std::io::{self, BufReader, Read, Write};
use std::ops::ControlFlow;
use stonewear_journal::{
    Break, ExportError, Fault, Head, MAX_ENTRY_BYTES, MemoryStore, Store, Verification, export,
    read_export, verify, verify_export,
};

/// The export of `store`.
pub(crate) fn exported(store: &MemoryStore) -> String {
    let mut out = Vec::new();
    assert!(export(store, &mut out).unwrap().intact());
    String::from_utf8(out).unwrap()
}

fn read(text: impl AsRef<[u8]>) -> Verification {
    verify_export(text.as_ref(), None).unwrap()
}

#[test]
fn a_line_is_the_entry_with_its_hash() {
    let store = memory(2);
    let text = exported(&store);
    let lines: Vec<&str> = text.lines().collect();
    let head = store.head().unwrap();
    let (start, rest) = lines[1].split_once(&format!("\"hash\":\"{}\",", head.hash)).unwrap();
    let mut last = String::new();
    let _ = store.read_from(2, &mut |raw| {
        last = String::from_utf8(raw.bytes.to_vec()).unwrap();
        ControlFlow::Continue(())
    });
    assert_eq!(format!("{start}{rest}"), last);
    assert!(start.ends_with("\"type\":\"weighed\"},"), "{start}");
    assert!(text.ends_with('\n'));
}

#[test]
fn damage_is_named_by_line_and_position() {
    let text = exported(&memory(4));
    let lines: Vec<&str> = text.split_inclusive('\n').collect();
    let line = |n: usize| lines[n - 1];
    let with = |from: &str, to: &str| {
        let changed = line(3).replace(from, to);
        assert_ne!(changed, line(3));
        [line(1), line(2), &changed, line(4)].concat()
    };
    let misplaced = |expected, found| Fault::OutOfPlace { expected, found };
    let in_order = r#"{"at":"2026-11-24T10:41:07.250Z","by":"mk","#;
    let turned = r#"{"by":"mk","at":"2026-11-24T10:41:07.250Z","#;
    let cases = [
        (format!("\u{feff}{text}"), 1, Fault::ByteOrderMark),
        (text.replace('\n', "\r\n"), 1, Fault::CarriageReturn),
        (format!("{text}\n"), 5, Fault::BlankLine),
        (format!("{text}  \t\n"), 5, Fault::BlankLine),
        (text.trim_end().to_owned(), 4, Fault::UnendedLine),
        (text[..text.len() - 30].to_owned(), 4, Fault::UnendedLine),
        (with("12.5", "12.6"), 3, Fault::Changed),
        (with("\"n\":2", "\"n\": 2"), 3, Fault::NotCanonical),
        (with("weighed", "w\\u0065ighed"), 3, Fault::NotCanonical),
        (with(in_order, turned), 3, Fault::NotCanonical),
        ([line(1), line(3), line(4)].concat(), 2, misplaced(2, 3)),
        ([line(1), line(3), line(2), line(4)].concat(), 2, misplaced(2, 3)),
        ([line(1), line(1), line(2)].concat(), 2, misplaced(2, 1)),
    ];
    for (damaged, position, fault) in cases {
        let expected = Break { position, line: Some(position), fault };
        assert_eq!(read(&damaged).broken, Some(expected), "{damaged}");
    }
    assert_eq!(
        read(with("12.5", "12.6")).what().unwrap(),
        "line 3, entry 3: its text does not match its hash: one of the two was changed after it \
         was written"
    );
}

#[test]
fn other_files_are_refused_in_words() {
    let line = exported(&memory(1));
    for (text, words) in [
        ("not JSON\n".to_owned(), "expected"),
        ("{}\n".into(), "missing field `at` (column 2)"),
        ("[]\n".into(), "invalid"),
        ("null\n".into(), "invalid type: null"),
        (format!("{}\n", "[".repeat(100_000)), "invalid"),
        (line.replace("\"n\":0", "\"n\":0.5"), "the number 0.5 cannot stand in a fact"),
        (line.replace("\"n\":0", &format!("\"n\":{}", "[".repeat(9_999))), "expected"),
        (line.replace("\"hash\":", "\"sum\":"), "unknown field `sum`"),
        (line.replace("\"type\":", "\"a\":{\"b\":[1e400]},\"type\":"), "number out of range"),
    ] {
        match read(&text).broken.map(|broken| (broken.position, broken.fault)) {
            Some((1, Fault::NotAnEntry(why))) => assert!(why.contains(words), "{why}"),
            other => panic!("{other:?}"),
        }
    }
    let not_text = [b"{\"at\":\"\xff\"}\n".as_slice(), line.as_bytes()].concat();
    assert!(matches!(read(not_text).broken.unwrap().fault, Fault::NotAnEntry(_)));
}

#[test]
fn a_file_without_line_feeds_does_not_fill_the_memory() {
    // As endless as a device; a reader that took it whole would never return.
    let endless = BufReader::new(io::repeat(b'{'));
    assert_eq!(verify_export(endless, None).unwrap().broken.unwrap().fault, Fault::LongLine);
    let long = io::repeat(b'x').take(MAX_ENTRY_BYTES as u64 + 1_000).chain(&b"\n"[..]);
    let broken = verify_export(BufReader::new(long), None).unwrap().broken.unwrap();
    assert_eq!(broken.fault, Fault::LongLine);
}

#[test]
fn a_cut_tail_is_found_with_the_noted_head() {
    let store = memory(4);
    let head = store.head().unwrap();
    let text = exported(&store);
    let lines: Vec<&str> = text.split_inclusive('\n').collect();
    assert!(verify_export(text.as_bytes(), Some(head)).unwrap().intact());

    let cut = lines[..2].concat();
    assert!(read(&cut).intact(), "a shorter export is one, by itself");
    let broken = verify_export(cut.as_bytes(), Some(head)).unwrap().broken.unwrap();
    assert_eq!((broken.position, broken.fault), (3, Fault::CutOff { from: 3, until: 4 }));
    let broken = verify_export(&b""[..], Some(head)).unwrap().broken.unwrap();
    assert_eq!(broken.fault, Fault::CutOff { from: 1, until: 4 });
    let broken = verify_export(text.as_bytes(), Some(Head::GENESIS)).unwrap().broken.unwrap();
    assert_eq!((broken.position, broken.fault), (1, Fault::BehindHead { head: 0 }));
}

#[test]
fn a_full_disk_fails_the_export() {
    struct Full;
    impl Write for Full {
        fn write(&mut self, _: &[u8]) -> io::Result<usize> {
            Err(io::ErrorKind::StorageFull.into())
        }
        fn flush(&mut self) -> io::Result<()> {
            Ok(())
        }
    }
    let error = export(&memory(2), &mut Full).unwrap_err();
    assert!(matches!(error, ExportError::Write(_)));
    assert!(error.to_string().starts_with("the export cannot be written: "));
}

#[test]
fn a_broken_journal_is_exported_up_to_the_break() {
    let mut store = crate::doctored::Doctored::of(&memory(5));
    store.rows[3].bytes[10] ^= 1;
    let mut out = Vec::new();
    let verification = export(&store, &mut out).unwrap();
    assert_eq!((verification.facts, verification.broken_at()), (3, Some(4)));
    assert_eq!(read(&out).facts, 3);
}

proptest! {
    #[test]
    fn any_export_reads_back_as_the_journal(batches in any_batches()) {
        let mut store = MemoryStore::default();
        append(&mut store, &batches.concat());
        let text = exported(&store);
        prop_assert_eq!(&read(&text), &verify(&store).unwrap());
        let mut facts = 0;
        let stopped = read_export(text.as_bytes(), &mut |entry| {
            facts = entry.position;
            if facts == 2 { ControlFlow::Break(()) } else { ControlFlow::Continue(()) }
        }).unwrap();
        prop_assert_eq!(stopped.facts, facts);
    }

    #[test]
    fn any_changed_byte_of_an_export_is_found_in_its_line(
        batches in any_batches(), byte: Index, by in 1..=255_u8,
    ) {
        let mut store = MemoryStore::default();
        append(&mut store, &batches.concat());
        let mut text = exported(&store).into_bytes();
        prop_assume!(!text.is_empty());
        let at = byte.index(text.len());
        let line = 1 + text[..at].iter().filter(|byte| **byte == b'\n').count() as u64;
        text[at] ^= by;
        let broken = read(&text).broken.expect("the change is found");
        prop_assert_eq!((broken.position, broken.line), (line, Some(line)));
    }

    #[test]
    fn garbage_never_panics(bytes in proptest::collection::vec(any::<u8>(), 1..200)) {
        prop_assert!(!read(bytes).intact());
    }
}
