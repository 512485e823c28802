//! Signatures: what they vouch for, what is found, and that another language finds the same.

use crate::export::exported;
use crate::support::memory;
use std::collections::BTreeMap;
use std::path::Path;
use std::process::Command;
use stonewear_journal::signature::{Book, Coverage, Kind, Ledger, PublicKey, Stand};
use stonewear_journal::{Hash, Head, MemoryStore, Store, replay};
use tempfile::TempDir;

/// The hash of every entry.
fn hashes(store: &MemoryStore) -> BTreeMap<u64, Hash> {
    let mut hashes = BTreeMap::new();
    let outcome = replay(store, Head::GENESIS, &mut |entry| {
        hashes.insert(entry.position, entry.hash);
        std::ops::ControlFlow::Continue(())
    });
    assert!(outcome.unwrap().intact());
    hashes
}

struct Signed {
    folder: TempDir,
    store: MemoryStore,
    hashes: BTreeMap<u64, Hash>,
}

impl Signed {
    /// A journal of ten entries, signed at these places.
    fn at(places: &[u64]) -> Self {
        let store = memory(10);
        let signed = Self { folder: TempDir::new().unwrap(), hashes: hashes(&store), store };
        for place in places {
            signed.book().sign(signed.stand(*place), "a test").unwrap();
        }
        signed
    }

    fn book(&self) -> Book {
        Book::in_folder(self.folder.path())
    }

    fn stand(&self, position: u64) -> Stand {
        let head = Head { position, hash: self.hashes[&position] };
        let at = format!("2026-11-24T10:41:{position:02}.000Z").parse().unwrap();
        Stand { laboratory: self.hashes[&1], head, at }
    }

    fn text(&self) -> String {
        self.book().text().unwrap()
    }

    fn judged(&self, text: &str, trusted: Option<&PublicKey>) -> Coverage {
        Ledger::read(text).judged(&self.hashes, self.store.head().unwrap(), trusted)
    }

    fn key(&self) -> PublicKey {
        self.book().public_key().unwrap().unwrap()
    }

    /// What the program in another language says of the journal and these signatures.
    fn elsewhere(&self, text: &str, key: Option<&PublicKey>) -> (bool, String) {
        let (export, signatures) =
            (self.folder.path().join("export.jsonl"), self.folder.path().join("read.jsonl"));
        std::fs::write(&export, exported(&self.store)).unwrap();
        std::fs::write(&signatures, text).unwrap();
        let program = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../docs/verify_signatures.py");
        let mut command = Command::new("python3");
        command.arg(program).args([&export, &signatures]).args(key.map(ToString::to_string));
        let output = command.output().unwrap();
        let said = [output.stdout, output.stderr].concat();
        (output.status.success(), String::from_utf8(said).unwrap())
    }
}

#[test]
fn what_is_signed_is_vouched_for_here_and_elsewhere() {
    let signed = Signed::at(&[3, 7]);
    let (text, key) = (signed.text(), signed.key());
    let coverage = signed.judged(&text, None);
    assert_eq!((coverage.faults.len(), coverage.checkpoints, coverage.until), (0, 3, 7));
    assert_eq!(coverage.key, Some(key.fingerprint()));
    assert_eq!(coverage.keys.len(), 1);
    assert_eq!(signed.judged(&text, Some(&key)), coverage);
    let said = format!("signed: entries 1 to 7 of 10, by {}\n", key.fingerprint());
    assert_eq!(signed.elsewhere(&text, None), (true, said.clone()));
    assert_eq!(signed.elsewhere(&text, Some(&key)), (true, said));
    assert_eq!(Ledger::read(&text).end(), Some(Head { position: 7, hash: signed.hashes[&7] }));
    // The key that signs is in none of it.
    let secret = std::fs::read_to_string(signed.folder.path().join("signing.key")).unwrap();
    assert!(secret.contains("PRIVATE KEY") && !text.contains(secret.lines().nth(1).unwrap()));
}

#[cfg(unix)]
#[test]
fn nobody_else_may_read_the_key_that_signs() {
    use std::os::unix::fs::PermissionsExt;
    let signed = Signed::at(&[3]);
    let file = std::fs::metadata(signed.folder.path().join("signing.key")).unwrap();
    assert_eq!(file.permissions().mode() & 0o777, 0o600);
}

#[test]
fn every_changed_character_is_found_by_both() {
    let signed = Signed::at(&[3, 7]);
    let text = signed.text();
    let mut elsewhere = 0;
    for (place, letter) in text.char_indices().step_by(3) {
        let other = match letter {
            '0' => "1",
            '\n' => continue,
            _ => "0",
        };
        let mut changed = text.clone();
        changed.replace_range(place..=place, other);
        let coverage = signed.judged(&changed, None);
        assert!(!coverage.faults.is_empty(), "{place}: {changed}");
        if place % 31 == 0 {
            elsewhere += 1;
            let (agrees, said) = signed.elsewhere(&changed, None);
            assert!(!agrees && said.contains("signatures broken at line"), "{place}: {said}");
        }
    }
    assert!(elsewhere > 5, "{elsewhere}");
}

#[test]
fn a_line_taken_out_or_moved_is_found() {
    let signed = Signed::at(&[3, 7, 9]);
    let text = signed.text();
    let lines: Vec<&str> = text.split_inclusive('\n').collect();
    assert_eq!(lines.len(), 4, "a key and three signatures");
    for changed in [
        [lines[0], lines[1], lines[3]].concat(),
        [lines[1], lines[2], lines[3]].concat(),
        [lines[0], lines[2], lines[1], lines[3]].concat(),
    ] {
        assert!(!signed.judged(&changed, None).faults.is_empty(), "{changed}");
        assert!(!signed.elsewhere(&changed, None).0);
    }
    // The tail says less, and nothing wrong; so does a line that was cut off within.
    let shorter = lines[..3].concat();
    assert_eq!(signed.judged(&shorter, None).until, 7);
    assert_eq!(signed.judged(&text[..text.len() - 9], None).until, 7);
    assert_eq!(signed.judged(&text[..text.len() - 9], None).faults.len(), 0);
}

#[test]
fn a_journal_written_anew_is_found_by_its_signatures() {
    let signed = Signed::at(&[3, 7]);
    let other = Signed::at(&[3, 7]);
    let anew: BTreeMap<u64, Hash> = signed
        .hashes
        .iter()
        .map(|(position, hash)| {
            let hash = if *position < 5 { *hash } else { Hash::of(hash.as_bytes()) };
            (*position, hash)
        })
        .collect();
    let end = Head { position: 10, hash: anew[&10] };
    let coverage = Ledger::read(&signed.text()).judged(&anew, end, None);
    assert_eq!(coverage.until, 3);
    assert!(coverage.faults[0].contains("entry 7, or one before it, was written anew"));
    // With a key of their own, people who write anew sign all of it: only the key that was noted tells.
    let theirs = other.text();
    assert_eq!(signed.judged(&theirs, None).faults.len(), 0);
    let coverage = signed.judged(&theirs, Some(&signed.key()));
    assert_eq!((coverage.until, coverage.faults.len()), (0, 1), "{coverage:?}");
    assert!(!signed.elsewhere(&theirs, Some(&signed.key())).0);
}

#[test]
fn a_new_key_is_vouched_for_by_the_old_one() {
    let signed = Signed::at(&[3]);
    let old = signed.key();
    let line = signed.book().rotate(signed.stand(5), "the machine was replaced").unwrap();
    assert_eq!((line.kind, line.key), (Kind::Key, old.fingerprint()));
    signed.book().sign(signed.stand(8), "a test").unwrap();
    let new = signed.key();
    assert_ne!(new, old);
    for trusted in [None, Some(&old)] {
        let coverage = signed.judged(&signed.text(), trusted);
        assert_eq!((coverage.faults.len(), coverage.until), (0, 8), "{coverage:?}");
        assert_eq!(coverage.keys[1].vouched_by, Some(old.fingerprint()));
    }
    assert_eq!(signed.judged(&signed.text(), Some(&new)).until, 8);
    assert!(signed.elsewhere(&signed.text(), Some(&old)).0);
    // A key that turns up without the old one's word signs, and does not count for who trusts the old.
    std::fs::remove_file(signed.folder.path().join("signing.key")).unwrap();
    signed.book().sign(signed.stand(10), "a test").unwrap();
    let coverage = signed.judged(&signed.text(), None);
    assert_eq!((coverage.until, coverage.keys[2].vouched_by), (10, None));
    assert_eq!(signed.judged(&signed.text(), Some(&old)).until, 8);
}

#[test]
fn entries_that_were_signed_and_are_gone_are_missed_until_somebody_takes_that_over() {
    let signed = Signed::at(&[3, 9]);
    let end = Head { position: 5, hash: signed.hashes[&5] };
    let mut short = signed.hashes.clone();
    short.retain(|position, _| *position <= 5);
    let coverage = Ledger::read(&signed.text()).judged(&short, end, None);
    assert!(coverage.faults[0].contains("entries 6 to 9 were signed"), "{coverage:?}");
    signed.book().accept_loss(signed.stand(5), 9, "the disk failed (AB)").unwrap();
    let ledger = Ledger::read(&signed.text());
    assert_eq!(ledger.end(), Some(end));
    let coverage = ledger.judged(&short, end, None);
    assert_eq!((coverage.faults.len(), coverage.until), (0, 5), "{coverage:?}");
    assert_eq!((coverage.losses[0].from, coverage.losses[0].until), (6, 9));
}

#[test]
fn what_a_killed_program_left_is_written_over_and_two_may_sign() {
    let signed = Signed::at(&[3]);
    let file = signed.folder.path().join("signatures.jsonl");
    std::fs::write(&file, format!("{}{{\"at\":\"2026", signed.text())).unwrap();
    let stand = |place| signed.stand(place);
    std::thread::scope(|scope| {
        for place in [4, 5, 6, 7] {
            let book = signed.book();
            scope.spawn(move || book.sign(stand(place), "at once").unwrap());
        }
    });
    let coverage = signed.judged(&signed.text(), None);
    assert_eq!((coverage.faults.len(), coverage.checkpoints, coverage.until), (0, 6, 7));
}

#[test]
fn keys_are_read_as_digits_and_as_other_programs_write_them() {
    let signed = Signed::at(&[3]);
    let key = signed.key();
    assert_eq!(key.to_string().parse(), Ok(key));
    assert_eq!(key.pem().parse(), Ok(key));
    for text in ["", "abc", &"0".repeat(63), "-----BEGIN PUBLIC KEY-----"] {
        assert!(text.parse::<PublicKey>().is_err(), "{text}");
    }
}
