//! Drafts to append: a fixed few for tables, any for laws.

use proptest::collection::{btree_map, vec};
use proptest::prelude::*;
use serde_json::{Map, Value, json};
use std::sync::OnceLock;
use std::sync::atomic::{AtomicU32, Ordering};
use stonewear_cluster::{Database, cluster};
use stonewear_journal::postgres::{LaboratoryName, PostgresStore, admit, prepare};
use stonewear_journal::{Draft, Head, MAX_INTEGER, MemoryStore, SqliteStore, Store};
use tempfile::TempDir;

/// A plain fact of the request `request`.
pub(crate) fn draft(request: &str, fact: Value) -> Draft {
    Draft {
        at: "2026-11-24T10:41:07.250Z".parse().unwrap(),
        by: "mk".into(),
        request: request.into(),
        fact,
    }
}

/// `count` plain facts, two to a request.
pub(crate) fn some_drafts(count: u64) -> Vec<Draft> {
    let one = |n| draft(&format!("r{}", n / 2), json!({"type": "weighed", "n": n, "mass": "12.5"}));
    (0..count).map(one).collect()
}

/// Appends `drafts` at the end, whatever it is.
pub(crate) fn append(store: &mut dyn Store, drafts: &[Draft]) -> Head {
    let head = store.head().unwrap();
    let entries = store.append(head, drafts).unwrap();
    entries.last().map_or(head, stonewear_journal::Entry::head)
}

/// A journal in memory with `count` plain facts.
pub(crate) fn memory(count: u64) -> MemoryStore {
    let mut store = MemoryStore::default();
    append(&mut store, &some_drafts(count));
    store
}

/// A journal in a file that goes with the folder.
pub(crate) fn sqlite() -> (TempDir, SqliteStore) {
    let folder = tempfile::tempdir().unwrap();
    let store = SqliteStore::create(&folder.path().join("journal.sqlite")).unwrap();
    (folder, store)
}

/// A database that is prepared, with a role `bench` that laboratories are worked in by.
pub(crate) fn prepared() -> Database<'static> {
    let database = cluster().database();
    prepare(&database.address("owner").parse().unwrap()).unwrap();
    database.role("bench", "");
    database
}

/// One for all tests that do not harm it.
pub(crate) fn database() -> &'static Database<'static> {
    static DATABASE: OnceLock<Database<'static>> = OnceLock::new();
    DATABASE.get_or_init(prepared)
}

/// A new laboratory in that database.
pub(crate) fn laboratory() -> LaboratoryName {
    static NUMBER: AtomicU32 = AtomicU32::new(0);
    let name = format!("lab{}", NUMBER.fetch_add(1, Ordering::Relaxed)).parse().unwrap();
    admitted(database(), &name, "bench");
    name
}

/// Lets a role of a database work in a laboratory.
pub(crate) fn admitted(database: &Database<'_>, name: &LaboratoryName, role: &str) {
    let role = database.whole_name(role);
    assert!(admit(&database.address("owner").parse().unwrap(), name, &role).unwrap());
}

/// A journal in PostgreSQL.
pub(crate) fn postgres() -> PostgresStore {
    open(&laboratory())
}

/// The journal of a laboratory in the database that tests share.
pub(crate) fn open(name: &LaboratoryName) -> PostgresStore {
    PostgresStore::open(&database().address("bench").parse().unwrap(), name).unwrap()
}

/// Any JSON that a fact may hold.
fn any_value() -> impl Strategy<Value = Value> {
    let most = MAX_INTEGER.cast_signed();
    let leaf = prop_oneof![
        Just(Value::Null),
        any::<bool>().prop_map(Value::from),
        (-most..=most).prop_map(Value::from),
        any::<String>().prop_map(Value::from),
    ];
    leaf.prop_recursive(3, 12, 4, |inner| {
        prop_oneof![
            vec(inner.clone(), 0..4).prop_map(Value::from),
            btree_map(any::<String>(), inner, 0..4)
                .prop_map(|fields| Value::Object(fields.into_iter().collect())),
        ]
    })
}

/// Any draft that may become an entry.
pub(crate) fn any_draft() -> impl Strategy<Value = Draft> {
    let fields = btree_map(any::<String>(), any_value(), 0..4);
    // To the end of the year 9999, less the two days that a zone may shift.
    let at = -62_167_219_200_000_i64..253_402_128_000_000;
    // `any` rather than a pattern: quotation marks, controls and all planes of Unicode.
    let word = any::<String>().prop_map(|text| format!("{text}x"));
    (at, word.clone(), word, fields).prop_map(|(at, by, request, fields)| Draft {
        at: jiff::Timestamp::from_millisecond(at).unwrap().into(),
        by,
        request,
        fact: Value::Object(fields.into_iter().collect::<Map<_, _>>()),
    })
}

/// Any batches of any drafts.
pub(crate) fn any_batches() -> impl Strategy<Value = Vec<Vec<Draft>>> {
    vec(vec(any_draft(), 0..4), 1..5)
}
