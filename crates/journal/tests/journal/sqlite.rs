//! The file: whose it is, who may open it, what raw SQL can do to it and how that is found.

use crate::support::{append, some_drafts, sqlite};
use proptest::prelude::*;
use proptest::sample::Index;
use rusqlite::Connection;
use std::path::{Path, PathBuf};
use stonewear_journal::{Fault, Hash, Head, SqliteStore, Store, StoreError, verify};
use tempfile::TempDir;

/// A closed journal of `count` facts, and its path.
fn journal(count: u64) -> (TempDir, PathBuf) {
    let (folder, mut store) = sqlite();
    append(&mut store, &some_drafts(count));
    let path = folder.path().join("journal.sqlite");
    (folder, path)
}

/// Runs raw SQL on the file, without the triggers if `freely`.
fn sql(path: &Path, freely: bool, statements: &str) -> rusqlite::Result<()> {
    let connection = Connection::open(path)?;
    if freely {
        let mut names =
            connection.prepare("SELECT name FROM sqlite_schema WHERE type = 'trigger'")?;
        let names: Vec<String> =
            names.query_map([], |row| row.get(0))?.collect::<rusqlite::Result<_>>()?;
        for name in names {
            connection.execute_batch(&format!("DROP TRIGGER {name}"))?;
        }
        connection.execute_batch("PRAGMA ignore_check_constraints = on")?;
    }
    connection.execute_batch(statements)
}

#[test]
fn what_was_written_is_there_when_opened_again() {
    let (_folder, path) = journal(5);
    let mut store = SqliteStore::open(&path).unwrap();
    let head = append(&mut store, &some_drafts(2));
    drop(store);
    let verification = verify(&SqliteStore::open(&path).unwrap()).unwrap();
    assert!(verification.intact());
    assert_eq!((verification.facts, verification.head), (7, head));
}

#[test]
fn others_read_while_one_writes() {
    let (folder, mut writer) = sqlite();
    let path = folder.path().join("journal.sqlite");
    let first = append(&mut writer, &some_drafts(3));
    let mut reader = SqliteStore::open_read_only(&path).unwrap();
    assert_eq!(verify(&reader).unwrap().head, first);

    // A reader in the middle of its reading neither sees nor hinders an append.
    let mut second = first;
    let end = reader.read_from(1, &mut |raw| {
        if raw.position == 1 {
            second = append(&mut writer, &some_drafts(3));
        }
        std::ops::ControlFlow::Continue(())
    });
    assert_eq!(end.unwrap(), first);
    assert_eq!(verify(&reader).unwrap().head, second);
    assert_eq!(second.position, 6);

    let refused = reader.append(second, &some_drafts(1)).unwrap_err();
    assert!(matches!(refused, StoreError::ReadOnly), "{refused:?}");
    assert!(matches!(reader.put_blob(b"x"), Err(StoreError::ReadOnly)));
}

#[test]
fn a_second_writer_gets_a_conflict() {
    let (folder, mut one) = sqlite();
    let path = folder.path().join("journal.sqlite");
    let mut two = SqliteStore::open(&path).unwrap();
    append(&mut one, &some_drafts(1));
    let late = two.append(Head::GENESIS, &some_drafts(1)).unwrap_err();
    assert!(matches!(late, StoreError::Conflict { .. }));
    assert_eq!(
        late.to_string(),
        "the journal has moved on: this was decided behind entry 0, but the journal now ends \
         with entry 1; read it again and repeat the request"
    );

    append(&mut two, &some_drafts(1));
    assert_eq!(verify(&one).unwrap().facts, 2);
}

#[test]
fn what_is_not_ours_is_refused_in_words() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    std::fs::write(at("notes.txt"), "Not a database at all. ".repeat(100)).unwrap();
    std::fs::write(at("empty"), "").unwrap();
    sql(&at("other.sqlite"), false, "CREATE TABLE t (a)").unwrap();
    sql(&at("marked.sqlite"), false, "PRAGMA application_id = 77; CREATE TABLE t (a)").unwrap();

    for (name, words) in [
        ("notes.txt", "it is no SQLite database"),
        ("empty", "the file is empty"),
        ("other.sqlite", "the database belongs to another program"),
        ("marked.sqlite", "the database belongs to another program"),
    ] {
        for open in [SqliteStore::open, SqliteStore::open_read_only] {
            let error = open(&at(name)).unwrap_err();
            assert!(matches!(error, StoreError::NotAJournal { .. }), "{error:?}");
            assert!(error.to_string().ends_with(&format!("{name} is not a journal: {words}")));
        }
        let before = std::fs::read(at(name)).unwrap();
        if name != "empty" {
            let error = SqliteStore::create(&at(name)).unwrap_err();
            assert!(matches!(error, StoreError::NotAJournal { .. }), "{error:?}");
            assert_eq!(std::fs::read(at(name)).unwrap(), before, "{name} is left as it was");
        }
    }
    for open in [SqliteStore::open, SqliteStore::open_read_only] {
        assert!(matches!(open(&at("nowhere")), Err(StoreError::Missing(_))));
    }
    assert!(!at("nowhere").exists());
    assert!(matches!(SqliteStore::create(&at("no/folder")), Err(StoreError::Other(_))));
    let mut taken_over = SqliteStore::create(&at("empty")).unwrap();
    append(&mut taken_over, &some_drafts(1));
}

#[test]
fn a_journal_is_not_created_twice() {
    let (_folder, path) = journal(2);
    assert!(matches!(SqliteStore::create(&path), Err(StoreError::AlreadyThere(_))));
    assert_eq!(verify(&SqliteStore::open(&path).unwrap()).unwrap().facts, 2);
}

#[test]
fn a_later_format_is_refused() {
    let (_folder, path) = journal(2);
    sql(&path, false, "PRAGMA user_version = 2").unwrap();
    for open in [SqliteStore::open, SqliteStore::open_read_only, SqliteStore::create] {
        let error = open(&path).unwrap_err();
        assert!(matches!(error, StoreError::Newer { found: 2, known: 1, .. }), "{error:?}");
        assert!(error.to_string().ends_with("use a later version of the program"));
    }
}

#[test]
fn slips_at_a_database_prompt_are_refused() {
    let (_folder, path) = journal(3);
    SqliteStore::open(&path).unwrap().put_blob(b"picture").unwrap();
    for (statement, words) in [
        ("UPDATE entry SET canonical = x'00' WHERE position = 2", "never changed"),
        ("DELETE FROM entry WHERE position = 3", "never removed"),
        ("DELETE FROM entry", "never removed"),
        ("REPLACE INTO entry SELECT 3, hash, request, x'00' FROM entry", "right behind the last"),
        ("INSERT INTO entry SELECT 5, hash, request, canonical FROM entry", "right behind"),
        ("INSERT INTO entry SELECT 0, hash, request, canonical FROM entry", "right behind"),
        ("UPDATE head SET position = 2", "only grows"),
        ("DELETE FROM head", "never removed"),
        ("REPLACE INTO head SELECT 1, 2, hash FROM head", "one head"),
        ("UPDATE blob SET bytes = x'00'", "never changed"),
        ("DELETE FROM blob", "never removed"),
        ("UPDATE entry SET position = 9 WHERE position = 3", "never changed"),
    ] {
        let error = sql(&path, false, statement).expect_err(statement).to_string();
        assert!(error.contains(words), "{statement}: {error}");
    }
    sql(&path, false, "REPLACE INTO blob SELECT sha256, x'00' FROM blob").unwrap();
    let store = SqliteStore::open(&path).unwrap();
    assert!(verify(&store).unwrap().intact());
    assert_eq!(store.get_blob(Hash::of(b"picture")).unwrap().unwrap(), b"picture");
}

#[test]
fn what_is_done_without_the_triggers_is_found() {
    let misplaced = |expected, found| (expected, Fault::OutOfPlace { expected, found });
    let cases = [
        ("DELETE FROM entry WHERE position = 2", misplaced(2, 3)),
        ("DELETE FROM entry WHERE position > 4", (5, Fault::CutOff { from: 5, until: 6 })),
        ("DELETE FROM entry", (1, Fault::CutOff { from: 1, until: 6 })),
        (
            "INSERT INTO entry SELECT 7, hash, request, canonical FROM entry WHERE position = 6",
            misplaced(7, 6),
        ),
        (
            "INSERT INTO entry SELECT -4, hash, request, canonical FROM entry WHERE position = 1",
            misplaced(1, 0),
        ),
        ("UPDATE head SET position = 5", (6, Fault::BehindHead { head: 5 })),
        ("UPDATE head SET hash = zeroblob(32)", (6, Fault::HeadHash)),
        ("UPDATE entry SET hash = zeroblob(32) WHERE position = 4", (4, Fault::Changed)),
        ("UPDATE entry SET request = 'x' WHERE position = 4", (4, Fault::Request)),
        (
            "UPDATE entry SET position = 99 WHERE position = 2;
          UPDATE entry SET position = 2 WHERE position = 3;
          UPDATE entry SET position = 3 WHERE position = 99",
            misplaced(2, 3),
        ),
    ];
    for (statements, expected) in cases {
        let (_folder, path) = journal(6);
        sql(&path, true, statements).unwrap();
        let broken = verify(&SqliteStore::open_read_only(&path).unwrap()).unwrap().broken;
        let broken = broken.expect(statements);
        assert_eq!((broken.position, broken.fault), expected, "{statements}");
    }
}

#[test]
fn what_cannot_be_read_is_a_break_too() {
    for (statements, position) in [
        ("DELETE FROM head", 7),
        ("UPDATE head SET hash = x'00'", 7),
        ("UPDATE head SET position = -1", 7),
        ("UPDATE entry SET hash = x'00' WHERE position = 3", 3),
        ("UPDATE entry SET request = cast(x'ff' AS TEXT) WHERE position = 3", 3),
    ] {
        let (_folder, path) = journal(6);
        sql(&path, true, statements).unwrap();
        let verification = verify(&SqliteStore::open(&path).unwrap()).unwrap();
        let broken = verification.broken.expect(statements);
        assert_eq!(broken.position, position, "{statements}");
        assert!(matches!(broken.fault, Fault::Unreadable(_)), "{:?}", broken.fault);
    }
}

#[test]
fn a_changed_blob_is_not_handed_out() {
    let (_folder, path) = journal(1);
    let mut store = SqliteStore::open(&path).unwrap();
    let hash = store.put_blob(b"picture").unwrap();
    store.put_blob(b"another").unwrap();
    assert_eq!(store.inspect().unwrap(), [""; 0]);
    sql(&path, true, "UPDATE blob SET bytes = x'00' WHERE bytes = CAST('picture' AS BLOB)")
        .unwrap();
    let error = store.get_blob(hash).unwrap_err();
    assert!(matches!(&error, StoreError::Damaged(what) if what.contains(&hash.to_string())));
    let changed = format!("the attached file {hash} was changed after it was kept");
    assert_eq!(store.inspect().unwrap(), [changed]);
    assert!(verify(&store).unwrap().intact(), "the chain itself is");
}

#[test]
fn a_changed_index_is_found_by_inspecting() {
    let (_folder, path) = journal(6);
    let (page, size): (usize, usize) = {
        let raw = Connection::open(&path).unwrap();
        let root = "SELECT rootpage FROM sqlite_schema WHERE name = 'entry_request'";
        let number = |statement| {
            raw.query_row(statement, [], |row| row.get::<_, i64>(0)).unwrap().try_into().unwrap()
        };
        (number(root), number("PRAGMA page_size"))
    };
    let mut file = std::fs::read(&path).unwrap();
    let index = &mut file[(page - 1) * size..page * size];
    let at = index.windows(2).position(|pair| pair == b"r1").unwrap();
    index[at + 1] = b'9';
    std::fs::write(&path, file).unwrap();

    let store = SqliteStore::open_read_only(&path).unwrap();
    assert_eq!(store.find_request("r1").unwrap().len(), 1, "of two");
    let wrong = store.inspect().unwrap();
    assert!(wrong[0].starts_with("SQLite says: "), "{wrong:?}");
    assert!(verify(&store).unwrap().intact(), "the chain itself is");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn any_changed_byte_of_a_stored_entry_is_found_there(
        position in 1..=6_u64, byte: Index, by in 1..=255_u8,
    ) {
        let (_folder, path) = journal(6);
        sql(&path, true, "").unwrap();
        let raw = Connection::open(&path).unwrap();
        let place = i64::try_from(position).unwrap();
        let mut bytes: Vec<u8> = raw
            .query_row("SELECT canonical FROM entry WHERE position = ?1", [place], |r| r.get(0))
            .unwrap();
        *byte.get_mut(&mut bytes) ^= by;
        raw.execute(
            "UPDATE entry SET canonical = ?1 WHERE position = ?2",
            rusqlite::params![bytes, place],
        ).unwrap();
        drop(raw);
        let broken = verify(&SqliteStore::open(&path).unwrap()).unwrap().broken.unwrap();
        prop_assert_eq!((broken.position, broken.fault), (position, Fault::Changed));
    }

    /// A disk may change any byte of the file, also those that are SQLite's own. Then either the
    /// file is refused, or the break is found, or the byte meant nothing and every fact is there.
    #[test]
    fn any_changed_byte_of_the_file_harms_no_fact_unseen(byte: Index, by in 1..=255_u8) {
        let (_folder, path) = journal(40);
        let head = verify(&SqliteStore::open(&path).unwrap()).unwrap().head;
        let mut file = std::fs::read(&path).unwrap();
        *byte.get_mut(&mut file) ^= by;
        std::fs::write(&path, file).unwrap();
        if let Ok(store) = SqliteStore::open_read_only(&path)
            && let Ok(verification) = verify(&store)
            && verification.intact()
        {
            prop_assert_eq!(verification.head, head);
        }
    }
}
