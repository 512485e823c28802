//! Laboratories in a database, by command: prepared, admitted, worked in, served by two programs at once,
//! carried there and back.

use crate::harness::Desk;
use crate::serving::Server;
use std::collections::BTreeSet;
use std::path::Path;
use std::process::Stdio;
use std::sync::atomic::{AtomicU32, Ordering};
use std::time::{Duration, Instant};
use stonewear_cluster::{Database, cluster};
use stonewear_lab::request::{AddPerson, FoundLaboratory};
use stonewear_runtime::OpenLaboratory;

/// A prepared database whose role `bench` works in the laboratory `granite-hill`.
fn prepared(desk: &Desk) -> Database<'static> {
    let database = cluster().database();
    let owner = database.address("owner");
    let said = desk.done(&format!("database prepare --database {owner}"));
    assert!(said.contains("is prepared; next, admit a laboratory"), "{said}");
    let role = database.role("bench", "");
    let said = desk.done(&format!("database admit granite-hill --role {role} --database {owner}"));
    assert!(said.contains("(a new laboratory)"), "{said}");
    database
}

/// Where the laboratory is, as arguments.
fn at(database: &Database<'_>) -> String {
    format!("--database {} --laboratory granite-hill", database.address("bench"))
}

const FOUND: &str = "found --name 'Invented Laboratory' --address '1 Invented Road' \
     --founder AB --founder-name 'Ada Brook' --invented";

#[test]
fn a_laboratory_in_a_database_by_command() {
    let desk = Desk::new();
    let database = prepared(&desk);
    let at = at(&database);
    desk.done(&format!("{FOUND} {at}"));
    desk.done(&format!("person add --by AB CD --name 'Cyd Dell' --may test {at}"));
    assert!(desk.done(&format!("show {at}")).starts_with("Invented Laboratory: 2 people"));
    let verified = desk.json(&format!("journal verify {at}"));
    assert_eq!((verified["intact"].as_bool(), verified["facts"].as_u64()), (Some(true), Some(3)));
    assert_eq!(desk.done(&format!("journal export {at}")).lines().count(), 3);
    let network = desk.json(&format!("network {at}"));
    assert_eq!(network["laboratories"][0]["laboratory"], "granite-hill");
    assert_eq!(network["laboratories"][0]["facts"], 3);
    // By the environment, as a service is told.
    let mut command = desk.command("show --json");
    command.env("STONEWEAR_DATABASE", database.address("bench"));
    let output = command.env("STONEWEAR_LABORATORY", "granite-hill").output().unwrap();
    let shown: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!(shown["people"], serde_json::json!(["AB", "CD"]));

    // Who may not, and what cannot be, is told what to do.
    let owner = database.address("owner");
    for (status, line, words) in [
        (2, format!("show --database {owner}"), "--laboratory NAME"),
        (2, "show --laboratory granite-hill".to_owned(), "--database ADDRESS"),
        (2, format!("show --database {owner} --laboratory Granite"), "granite-hill"),
        (2, "show --database nonsense --laboratory a".to_owned(), "--database: the address"),
        (4, format!("show --database {owner} --laboratory granite-hill"), "owns the tables"),
        (
            4,
            format!("show --database {} --laboratory granite-hill", database.superuser()),
            "is a superuser",
        ),
        (
            4,
            format!("show --database {} --laboratory other", database.address("bench")),
            "stonewear database admit other",
        ),
        (3, format!("backup backups {at}"), "pg_basebackup"),
        (3, format!("serve --listen 127.0.0.1:0 --backup-to backups {at}"), "pg_basebackup"),
        (
            3,
            format!(
                "database admit other --role {} --database {}",
                database.whole_name("bench"),
                database.address("bench")
            ),
            "CREATEROLE",
        ),
        (2, format!("database admit Granite --role x --database {owner}"), "granite-hill"),
        (3, format!("database admit b --role no_such --database {owner}"), "createuser"),
    ] {
        // What became of the folder meanwhile is no matter here.
        let said = desk.fails(status, &line);
        assert!(said.contains(words), "{line}\n{said}");
    }
    let again = desk.done(&format!("database prepare --database {owner}"));
    assert!(again.contains("nothing was changed"), "{again}");
}

/// Two programs serve one laboratory, each with a folder of its own.
fn two_servers(desk: &Desk, at: &str) -> [Server; 2] {
    ["one", "two"].map(|dir| {
        Server::run(desk.command(&format!("serve --listen 127.0.0.1:0 --dir {dir} {at}")))
    })
}

fn add_person(server: &Server, code: &str) -> u16 {
    let body = format!("request=add-person&code={code}&name=Person+{code}&rights.0=test");
    server.ask("POST /people", &body).0
}

fn wait_for(what: &str, is_there: impl Fn() -> bool) {
    let until = Instant::now() + Duration::from_secs(30);
    while !is_there() {
        assert!(Instant::now() < until, "{what}");
        std::thread::sleep(Duration::from_millis(50));
    }
}

#[test]
fn two_servers_show_what_either_records() {
    let desk = Desk::new();
    let database = prepared(&desk);
    let at = at(&database);
    desk.done(&format!("{FOUND} {at}"));
    let [one, two] = two_servers(&desk, &at);
    assert_eq!(add_person(&one, "CD"), 303);
    wait_for("the other follows", || two.ask("GET /people", "").1.contains("Person CD"));
    assert_eq!(add_person(&two, "EF"), 303);
    wait_for("and the first, too", || one.ask("GET /people", "").1.contains("Person EF"));
    // Neither knows it yet by itself, and the rules of the laboratory hold across both.
    assert_eq!(add_person(&one, "GH"), 303);
    assert_eq!(add_person(&two, "GH"), 422);
    // A line that is cut is begun again, and what came meanwhile is read.
    database.sql(
        "SELECT pg_terminate_backend(pid) FROM pg_stat_activity \
         WHERE datname = current_database() AND application_name = 'stonewear'",
    );
    assert_eq!(add_person(&one, "IJ"), 303);
    wait_for("after the line was cut", || two.ask("GET /people", "").1.contains("Person IJ"));
    let (status, page) = two.ask("GET /network", "");
    assert!(status == 200 && page.contains("granite-hill"), "{page}");
}

#[test]
fn thirty_two_writers_at_two_servers_lose_and_double_nothing() {
    const WRITERS: u32 = 32;
    const EACH: u32 = 2;
    let desk = Desk::new();
    let database = prepared(&desk);
    let at = at(&database);
    desk.done(&format!("{FOUND} {at}"));
    let servers = two_servers(&desk, &at);
    let next = AtomicU32::new(0);
    let code = || {
        let n = next.fetch_add(1, Ordering::Relaxed);
        let letter = |n: u32| char::from(b'A' + u8::try_from(n % 26).unwrap());
        format!("X{}{}", letter(n / 26), letter(n))
    };
    let acknowledged: Vec<String> = std::thread::scope(|scope| {
        let writers: Vec<_> = (0..WRITERS)
            .map(|writer| {
                let (server, code) = (&servers[writer as usize % 2], &code);
                scope.spawn(move || {
                    let mut acknowledged = Vec::new();
                    for _ in 0..EACH {
                        let code = code();
                        assert_eq!(add_person(server, &code), 303);
                        acknowledged.push(code);
                    }
                    acknowledged
                })
            })
            .collect();
        writers.into_iter().flat_map(|writer| writer.join().unwrap()).collect()
    });
    drop(servers);
    let verified = desk.json(&format!("journal verify {at}"));
    assert_eq!(verified["intact"], true);
    assert_eq!(
        verified["facts"].as_u64(),
        Some(u64::from(2 + WRITERS * EACH)),
        "none lost or doubled"
    );
    let shown = desk.json(&format!("show {at}"));
    let people: BTreeSet<&str> =
        shown["people"].as_array().unwrap().iter().map(|one| one.as_str().unwrap()).collect();
    assert_eq!(acknowledged.len(), (WRITERS * EACH) as usize);
    assert!(acknowledged.iter().all(|code| people.contains(code.as_str())));
}

/// Founds a laboratory in a folder and adds people, faster than by command.
fn filled(folder: &Path, people: u32) {
    let mut laboratory = OpenLaboratory::open(folder).unwrap();
    let founding = FoundLaboratory {
        name: "Invented laboratory".into(),
        address: "1 Invented Street".into(),
        founder_code: "AB".into(),
        founder_name: "Ada Brook".into(),
        invented: "yes".into(),
        time_zone: String::new(),
    };
    laboratory.submit("", None, &founding.into()).unwrap();
    for n in 0..people {
        let letter = |n: u32| char::from(b'A' + u8::try_from(n % 26).unwrap());
        let code = format!("X{}{}", letter(n / 26), letter(n));
        let name = format!("Person {code}");
        let person = AddPerson { code, name, rights: vec!["test".into()] };
        laboratory.submit("AB", None, &person.into()).unwrap();
    }
}

#[test]
fn carrying_that_is_killed_in_the_middle_goes_on_there() {
    let desk = Desk::new();
    let database = prepared(&desk);
    let at = at(&database);
    filled(&desk.path().join("laboratory"), 400);
    let there = || {
        let row = database.client(None).query_one("SELECT position FROM stonewear.head", &[]);
        row.unwrap().get::<_, i64>(0)
    };
    let mut killed = 0;
    for wanted in [20, 60, 150] {
        let mut child = desk
            .command(&format!("journal push --batch 1 {at}"))
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        while there() < wanted && child.try_wait().unwrap().is_none() {
            std::thread::sleep(Duration::from_millis(1));
        }
        child.kill().unwrap();
        child.wait().unwrap();
        killed += i32::from(there() < 402);
    }
    assert!(killed > 0, "it was killed in the middle");
    let pushed = desk.json(&format!("journal push {at}"));
    assert_eq!((pushed["facts"].as_u64(), pushed["beyond"].as_u64()), (Some(402), Some(0)));
    let export = desk.done("journal export");
    assert_eq!(desk.done(&format!("journal export {at}")), export);
    assert_eq!(desk.json(&format!("journal push {at}"))["carried"], 0);
    // And back, into a folder that is not there.
    let pulled = desk.json(&format!("journal pull --dir copy {at}"));
    assert_eq!((pulled["carried"].as_u64(), &pulled["head"]), (Some(402), &pushed["head"]));
    assert_eq!(desk.done("journal export --dir copy"), export);

    desk.done(&format!("person add --by AB QQ --name 'Quin Quay' --may test --dir desk {at}"));
    desk.done("person add --by AB RR --name 'Roy Rill' --may test");
    let refused = desk.fails(3, &format!("journal push {at}"));
    assert!(refused.contains("went on differently") && refused.contains("entry 403"), "{refused}");
}
