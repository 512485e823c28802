//! Who may do what in a database, and what is refused before any fact is touched.

use crate::support::{admitted, append, database, laboratory, open, some_drafts};
use postgres::Client;
use stonewear_cluster::{Database, cluster};
use stonewear_journal::postgres::{
    DatabaseError, LaboratoryName, PostgresStore, Prepared, admit, prepare,
};
use stonewear_journal::{Head, Store, StoreError, verify};

/// A prepared database with laboratories `one` and `two`, each with a role of its own and three facts.
fn two_laboratories() -> Database<'static> {
    let database = cluster().database();
    prepare(&database.address("owner").parse().unwrap()).unwrap();
    for name in ["one", "two"] {
        database.role(name, "");
        let laboratory: LaboratoryName = name.parse().unwrap();
        admitted(&database, &laboratory, name);
        let address = database.address(name).parse().unwrap();
        let mut store = PostgresStore::open(&address, &laboratory).unwrap();
        append(&mut store, &some_drafts(3));
        store.put_blob(name.as_bytes()).unwrap();
    }
    database
}

/// A connection as a role of a database, in the session of a laboratory.
fn session(database: &Database<'_>, role: &str, laboratory: &str) -> Client {
    let mut client = database.client(Some(&database.whole_name(role)));
    client.batch_execute(&format!("SET stonewear.laboratory = '{laboratory}'")).unwrap();
    client
}

const TABLES: [&str; 6] = ["laboratory", "member", "head", "entry", "blob", "result"];

fn laboratories_seen(client: &mut Client, table: &str) -> Vec<String> {
    let question = format!("SELECT DISTINCT laboratory FROM stonewear.{table} ORDER BY 1");
    client.query(&question, &[]).unwrap().iter().map(|row| row.get(0)).collect()
}

#[test]
fn a_laboratory_sees_itself_whatever_it_asks_for() {
    let database = two_laboratories();
    for table in TABLES {
        let expected: &[&str] = if table == "result" { &[] } else { &["one"] };
        let mut own = session(&database, "one", "one");
        assert_eq!(laboratories_seen(&mut own, table), expected, "{table}");
        // Saying that the session is another's does not help, nor does saying nothing.
        for other in ["two", "", "one' OR 'a' = 'a"] {
            let mut client = database.client(Some(&database.whole_name("one")));
            client
                .execute("SELECT set_config('stonewear.laboratory', $1, false)", &[&other])
                .unwrap();
            let expected: &[&str] = if table == "member" { &["one"] } else { &[] };
            assert_eq!(laboratories_seen(&mut client, table), expected, "{table} as “{other}”");
        }
    }
    let mut own = session(&database, "one", "one");
    for foreign in [
        "INSERT INTO stonewear.blob VALUES ('two', sha256('x'), 'x')",
        "INSERT INTO stonewear.entry VALUES ('two', 1, sha256('x'), 'r', 'x')",
    ] {
        let error = own.batch_execute(foreign).unwrap_err();
        let said = error.as_db_error().unwrap().message().to_owned();
        assert!(said.contains("row-level security"), "{foreign}: {said}");
    }
    let moved = own.execute("UPDATE stonewear.head SET position = 9 WHERE laboratory = 'two'", &[]);
    assert_eq!(moved.unwrap(), 0);
    for never in [
        "DELETE FROM stonewear.entry",
        "UPDATE stonewear.entry SET request = 'x'",
        "TRUNCATE stonewear.entry",
        "UPDATE stonewear.head SET laboratory = 'two'",
        "INSERT INTO stonewear.member VALUES ('two', current_user)",
        "ALTER TABLE stonewear.entry DISABLE ROW LEVEL SECURITY",
        "UPDATE stonewear.format SET version = 2",
        "DELETE FROM stonewear.blob",
    ] {
        let error = own.batch_execute(never).unwrap_err();
        let said = error.as_db_error().unwrap().message().to_owned();
        assert!(
            said.contains("permission denied") || said.contains("must be owner"),
            "{never}: {said}"
        );
    }
}

#[test]
fn the_network_reads_all_and_writes_none() {
    let database = two_laboratories();
    let role = database.role("watch", "");
    database.sql(&format!("GRANT stonewear_network TO {role}"));
    let mut client = database.client(Some(&role));
    for table in TABLES.into_iter().filter(|table| *table != "result") {
        assert_eq!(laboratories_seen(&mut client, table), ["one", "two"], "{table}");
        let refused = client.batch_execute(&format!("DELETE FROM stonewear.{table}")).unwrap_err();
        assert!(refused.as_db_error().unwrap().message().contains("permission denied"));
    }
    let address = database.address("watch").parse().unwrap();
    for name in ["one", "two"] {
        let name = name.parse().unwrap();
        let mut store = PostgresStore::open_read_only(&address, &name).unwrap();
        let verification = verify(&store).unwrap();
        assert!(verification.intact());
        assert_eq!(verification.facts, 3);
        let refused = store.append(verification.head, &some_drafts(1));
        assert!(matches!(refused, Err(StoreError::ReadOnly)), "{refused:?}");
        let refused = PostgresStore::open(&address, &name).unwrap_err().to_string();
        assert!(refused.contains("no laboratory"), "{refused}");
    }
}

#[test]
fn roles_that_nothing_holds_are_refused_with_what_to_do() {
    let database = two_laboratories();
    let name: LaboratoryName = "one".parse().unwrap();
    database.role("past", "BYPASSRLS");
    let deputy = database.role("deputy", "");
    database.sql(&format!("GRANT {} TO {deputy}", database.whole_name("owner")));
    for (address, why) in [
        (database.superuser(), "is a superuser"),
        (database.address("past"), "goes past row-level security"),
        (database.address("owner"), "owns the tables"),
        (database.address("deputy"), "owns the tables"),
    ] {
        for open in [PostgresStore::open, PostgresStore::open_read_only] {
            let error = open(&address.parse().unwrap(), &name).unwrap_err().to_string();
            assert!(error.contains(why), "{address}: {error}");
            assert!(error.contains("stonewear database admit"), "{error}");
        }
    }
}

fn refusal(outcome: Result<PostgresStore, StoreError>) -> String {
    match outcome {
        Err(StoreError::Database(error)) => error.to_string(),
        other => panic!("{other:?}"),
    }
}

#[test]
fn a_database_is_prepared_once_by_its_owner_and_known_by_its_format() {
    let database = cluster().database();
    let role = database.role("bench", "");
    let owner = database.address("owner").parse().unwrap();
    let bench = database.address("bench").parse().unwrap();
    let name: LaboratoryName = "one".parse().unwrap();

    assert!(refusal(PostgresStore::open(&bench, &name)).contains("stonewear database prepare"));
    assert!(matches!(
        admit(&owner, &name, &role),
        Err(StoreError::Database(error)) if matches!(*error, DatabaseError::NotPrepared(_))
    ));
    let not_owner = prepare(&bench).unwrap_err().to_string();
    assert!(not_owner.contains("need the role that owns the database"), "{not_owner}");

    assert_eq!(prepare(&owner).unwrap(), Prepared::Now);
    assert_eq!(prepare(&owner).unwrap(), Prepared::Already);
    let refused = refusal(PostgresStore::open(&bench, &name));
    assert!(refused.contains("stonewear database admit"), "{refused}");
    assert!(admit(&owner, &name, "nobody_at_all").unwrap_err().to_string().contains("createuser"));
    assert!(admit(&owner, &name, &role).unwrap(), "it is new");
    assert!(!admit(&owner, &name, &role).unwrap(), "it is there");
    let other: LaboratoryName = "other".parse().unwrap();
    assert!(admit(&bench, &other, &role).unwrap_err().to_string().contains("role that owns"));
    append(&mut PostgresStore::open(&bench, &name).unwrap(), &some_drafts(2));
    let refused = refusal(PostgresStore::open(&bench, &other));
    assert!(refused.contains("no laboratory “other”") && refused.contains(&role), "{refused}");

    database.sql("UPDATE stonewear.format SET version = 2");
    for open in [PostgresStore::open, PostgresStore::open_read_only] {
        let refused = refusal(open(&bench, &name));
        assert!(refused.ends_with("use a later version of the program"), "{refused}");
    }
    assert!(prepare(&owner).unwrap_err().to_string().contains("format 2"));
}

#[test]
fn two_who_prepare_at_once_do_not_harm_each_other() {
    let database = cluster().database();
    let address = database.address("owner");
    let outcomes: Vec<_> = std::thread::scope(|scope| {
        let at_once: Vec<_> =
            (0..4).map(|_| scope.spawn(|| prepare(&address.parse().unwrap()))).collect();
        at_once.into_iter().map(|one| one.join().unwrap().unwrap()).collect()
    });
    assert_eq!(outcomes.iter().filter(|one| **one == Prepared::Now).count(), 1, "{outcomes:?}");
}

#[test]
fn what_is_committed_is_on_the_servers_disk() {
    // The server may be set to answer before it wrote; the store does not take that.
    let name = laboratory();
    let role = database().whole_name("bench");
    let lazy = database().role("lazy", "");
    database()
        .sql(&format!("GRANT {role} TO {lazy}; ALTER ROLE {lazy} SET synchronous_commit = off"));
    let owner = database().address("owner").parse().unwrap();
    admit(&owner, &name, &lazy).unwrap();
    let address = database().address("lazy").parse().unwrap();
    let mut store = PostgresStore::open(&address, &name).unwrap();
    database().sql(
        "CREATE FUNCTION how_it_commits() RETURNS trigger LANGUAGE plpgsql AS \
         $$ BEGIN RAISE EXCEPTION 'commits %', current_setting('synchronous_commit'); END $$",
    );
    database().sql(&format!(
        "CREATE TRIGGER how BEFORE INSERT ON stonewear.entry FOR EACH ROW \
         WHEN (NEW.laboratory = '{name}') EXECUTE FUNCTION how_it_commits()"
    ));
    let said = store.append(Head::GENESIS, &some_drafts(1)).unwrap_err();
    let source = std::error::Error::source(&said).unwrap();
    assert!(format!("{source:?}").contains("commits on"), "{source:?}");
    drop(open(&name));
}
