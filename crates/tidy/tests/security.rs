//! What `docs/security.md` says that no code of the product does.

#![allow(clippy::unwrap_used, reason = "a test that fails here says where")]

use std::path::{Path, PathBuf};

/// The sources of every crate that is part of the program, without their tests.
fn product() -> Vec<(String, String)> {
    let crates = Path::new(env!("CARGO_MANIFEST_DIR")).join("..").canonicalize().unwrap();
    let mut open: Vec<PathBuf> = std::fs::read_dir(&crates)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| !["tidy", "bench", "cluster"].iter().any(|one| path.ends_with(one)))
        .map(|path| path.join("src"))
        .collect();
    let mut sources = Vec::new();
    while let Some(folder) = open.pop() {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                open.push(path);
            } else if path.extension().is_some_and(|ending| ending == "rs")
                && !path.ends_with("tests.rs")
            {
                let text = std::fs::read_to_string(&path).unwrap();
                let text = text.split("#[cfg(test)]\nmod ").next().unwrap_or_default();
                let place = path.strip_prefix(&crates).unwrap().display().to_string();
                sources.push((place, text.to_owned()));
            }
        }
    }
    assert!(sources.len() > 200, "{} sources were read", sources.len());
    sources.sort();
    sources
}

/// ASVS 5.3.4: values reach SQL as parameters.
#[test]
fn no_statement_is_put_together() {
    // The name of one of our own tables.
    const OURS: &str = "SELECT max(CAST(substr(id, 3) AS INTEGER)) FROM {table}";
    let verbs =
        ["SELECT ", "INSERT ", "UPDATE ", "DELETE ", "PRAGMA ", "ATTACH ", "DROP ", "CREATE "];
    let (mut faults, mut statements) = (Vec::new(), 0);
    for (place, text) in product() {
        statements +=
            verbs.iter().map(|verb| text.matches(&format!("\"{verb}")).count()).sum::<usize>();
        for (at, _) in text.match_indices("format!(") {
            let begins: String = text[at + 8..].trim_start().chars().take(80).collect();
            let says = begins.trim_start_matches('"');
            let is_sql = begins.starts_with('"') && verbs.iter().any(|verb| says.starts_with(verb));
            if is_sql && !says.starts_with(OURS) {
                faults.push(format!("{place}: {begins}"));
            }
        }
    }
    assert!(statements > 30, "only {statements} statements were seen");
    assert_eq!(faults, Vec::<String>::new());
}

/// ASVS 5.3.8: nothing that was typed can reach a shell, since none is ever asked.
#[test]
fn no_command_of_the_system_is_run() {
    for (place, text) in product() {
        for word in ["process::Command", "Command::new(\"", "libc::"] {
            assert!(!text.contains(word), "{place} says {word}");
        }
    }
}

/// ASVS 12.3: what is uploaded or asked for over a line never becomes a path.
#[test]
fn the_server_opens_no_files_but_its_certificate() {
    // The certificate's files are named by whoever starts the program; of the journal only the size is asked.
    let may = ["server/src/tls.rs", "server/src/watching.rs"];
    for (place, text) in product() {
        if place.starts_with("server/") && !may.contains(&place.as_str()) {
            let opens = ["std::fs", "tokio::fs", "File::open", "File::create", "OpenOptions"];
            let said = opens.iter().find(|word| text.contains(**word));
            assert!(said.is_none(), "{place} says {said:?}");
        }
    }
}

/// ASVS 5.3.1 to 5.3.3: what is put into a page without being escaped is a drawing or the guide, both of ours.
#[test]
fn only_drawings_and_the_guide_are_put_into_a_page_as_they_are() {
    let may = ["server/src/page/guide.rs", "server/src/page/rounds.rs"];
    for (place, text) in product() {
        if may.contains(&place.as_str()) || place.starts_with("picture/") {
            continue;
        }
        for (at, _) in text.match_indices("PreEscaped(") {
            let what: String = text[at + 11..].chars().take_while(|c| *c != '\n').collect();
            assert!(what.contains(".svg()"), "{place}: PreEscaped({what}");
        }
    }
}

/// ASVS 6.2, 2.9: chance for secrets comes from the system.
#[test]
fn secrets_come_from_the_system() {
    for (place, text) in product() {
        let keeps_secrets = ["access/", "journal/", "server/", "runtime/"]
            .iter()
            .any(|room| place.starts_with(room));
        let is_seeded =
            ["seed_from_u64", "SmallRng", "rand::rng"].iter().any(|word| text.contains(word));
        assert!(!(keeps_secrets && is_seeded), "{place} takes chance from a seed");
    }
}
