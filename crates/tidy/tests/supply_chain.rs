//! What comes into the program from elsewhere: from where, under which licence, in how many versions. The
//! lists are those of `deny.toml`, which `cargo deny` reads too.

#![allow(clippy::unwrap_used, reason = "a test that fails here says where")]

use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::process::Command;

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..").canonicalize().unwrap()
}

fn toml(path: &str) -> toml::Table {
    let text = std::fs::read_to_string(root().join(path));
    text.unwrap_or_else(|error| panic!("{path}: {error}")).parse().unwrap()
}

/// Every crate that is built for this machine.
fn packages() -> Vec<Value> {
    let said = Command::new(env!("CARGO")).arg("-vV").output().unwrap().stdout;
    let said = String::from_utf8(said).unwrap();
    let host = said.lines().find_map(|line| line.strip_prefix("host: ")).unwrap();
    let output = Command::new(env!("CARGO"))
        .args(["metadata", "--format-version", "1", "--offline", "--locked"])
        .args(["--filter-platform", host])
        .current_dir(root())
        .output()
        .unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let metadata: Value = serde_json::from_slice(&output.stdout).unwrap();
    metadata["packages"].as_array().unwrap().clone()
}

fn texts(list: &toml::Value) -> BTreeSet<String> {
    list.as_array().unwrap().iter().map(|one| one.as_str().unwrap().to_owned()).collect()
}

/// Whether the terms of an SPDX expression can be met by licences of a list. `/` stands in older manifests
/// for `OR`; nothing here nests deeper than one pair of parentheses, and what does is refused.
fn may_be_used(expression: &str, allowed: &BTreeSet<String>) -> bool {
    let expression = expression.replace(" / ", " OR ").replace('/', " OR ");
    let parts = |text: &str, word: &str| -> Vec<String> {
        let (mut parts, mut depth) = (vec![Vec::new()], 0);
        for token in text.replace('(', "( ").replace(')', " )").split_whitespace() {
            match token {
                "(" => depth += 1,
                ")" => depth -= 1,
                _ => {}
            }
            if depth == 0 && token == word {
                parts.push(Vec::new());
            } else {
                parts.last_mut().unwrap().push(token.to_owned());
            }
        }
        parts.into_iter().map(|tokens| tokens.join(" ")).collect()
    };
    // AND binds closer than OR.
    parts(&expression, "OR").iter().any(|one| {
        parts(one, "AND").iter().all(|term| {
            match term.strip_prefix("( ").and_then(|inner| inner.strip_suffix(" )")) {
                Some(inner) => may_be_used(inner, allowed),
                None => allowed.contains(term),
            }
        })
    })
}

#[test]
fn licences_are_read_as_they_are_meant() {
    let allowed = ["MIT", "ISC"].map(str::to_owned).into();
    for (expression, expected) in [
        ("MIT", true),
        ("GPL-3.0", false),
        ("GPL-3.0 OR MIT", true),
        ("GPL-3.0/MIT", true),
        ("MIT AND GPL-3.0", false),
        ("MIT AND ISC", true),
        ("(GPL-3.0 OR MIT) AND ISC", true),
        ("(GPL-3.0 OR MIT) AND BSL-1.0", false),
        ("GPL-3.0 AND ISC OR MIT", true),
        ("MIT OR GPL-3.0 AND ISC", true),
        ("", false),
    ] {
        assert_eq!(may_be_used(expression, &allowed), expected, "{expression}");
    }
}

#[test]
fn every_crate_may_be_passed_on_under_our_terms() {
    let deny = toml("deny.toml");
    let allowed = texts(&deny["licenses"]["allow"]);
    let exceptions: BTreeMap<String, BTreeSet<String>> = deny["licenses"]["exceptions"]
        .as_array()
        .unwrap()
        .iter()
        .map(|one| (one["crate"].as_str().unwrap().to_owned(), texts(&one["allow"])))
        .collect();
    let packages = packages();
    assert!(packages.len() > 100, "only {} crates are seen", packages.len());
    let mut faults = Vec::new();
    for package in packages {
        let (name, licence) = (package["name"].as_str().unwrap(), package["license"].as_str());
        let own = exceptions.get(name).is_some_and(|own| may_be_used(licence.unwrap_or(""), own));
        if !own && !may_be_used(licence.unwrap_or(""), &allowed) {
            faults.push(format!("{name} is under {}", licence.unwrap_or("no licence")));
        }
    }
    assert_eq!(faults, Vec::<String>::new());
}

#[test]
fn every_crate_comes_from_the_one_registry_with_its_checksum() {
    let deny = toml("deny.toml");
    // None is allowed by name: so it is the one that cargo knows by itself.
    assert_eq!(deny["sources"]["unknown-registry"].as_str(), Some("deny"));
    assert!(deny["sources"].get("allow-registry").is_none());
    let mut registries = BTreeSet::new();
    for lock in ["Cargo.lock", "fuzz/Cargo.lock"] {
        let locked = toml(lock);
        for package in locked["package"].as_array().unwrap() {
            let name = package["name"].as_str().unwrap();
            let Some(source) = package.get("source") else {
                assert!(name.starts_with("stonewear"), "{lock}: {name} comes from nowhere");
                continue;
            };
            let source = source.as_str().unwrap();
            assert!(source.starts_with("registry+"), "{lock}: {name} comes from {source}");
            registries.insert(source.to_owned());
            let checksum = package.get("checksum").and_then(toml::Value::as_str);
            assert!(checksum.is_some_and(|sum| sum.len() == 64), "{lock}: {name}");
        }
    }
    assert_eq!(registries.len(), 1, "{registries:?}");
}

/// A second version of a crate is a decision, with its reason in `deny.toml`.
#[test]
fn no_crate_is_there_twice_without_a_reason() {
    let deny = toml("deny.toml");
    let skipped: BTreeSet<String> = deny["bans"]["skip"]
        .as_array()
        .unwrap()
        .iter()
        .map(|one| one["crate"].as_str().unwrap().to_owned())
        .collect();
    let banned: BTreeSet<String> = deny["bans"]["deny"]
        .as_array()
        .unwrap()
        .iter()
        .map(|one| one["crate"].as_str().unwrap().to_owned())
        .collect();
    let mut versions: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
    for package in packages() {
        let name = package["name"].as_str().unwrap().to_owned();
        assert!(!banned.contains(&name), "{name} is banned");
        let version = package["version"].as_str().unwrap().to_owned();
        versions.entry(name).or_default().insert(version);
    }
    let mut unused = skipped.clone();
    for (name, versions) in versions {
        // `rand@^0.8` is every 0.8.x.
        let excuse = |version: &String| {
            let is_it = |one: &&String| {
                one.split_once("@^").is_some_and(|(of, begins)| {
                    of == name && version.starts_with(&format!("{begins}."))
                })
            };
            skipped.iter().find(is_it)
        };
        let unnamed: Vec<_> = versions.iter().filter(|one| excuse(one).is_none()).collect();
        assert!(unnamed.len() <= 1, "{name} is there as {unnamed:?}: see deny.toml");
        for excuse in versions.iter().filter_map(excuse) {
            unused.remove(excuse);
        }
    }
    assert!(unused.is_empty(), "deny.toml excuses what is not there: {unused:?}");
}

#[test]
fn no_crate_of_ours_may_hold_unsafe_code() {
    let workspace = toml("Cargo.toml");
    assert_eq!(workspace["workspace"]["lints"]["rust"]["unsafe_code"].as_str(), Some("forbid"));
    let mut seen = 0;
    for folder in std::fs::read_dir(root().join("crates")).unwrap() {
        let manifest = folder.unwrap().path().join("Cargo.toml");
        let text = std::fs::read_to_string(&manifest).unwrap();
        let own: toml::Table = text.parse().unwrap();
        let inherits = own.get("lints").and_then(|lints| lints.get("workspace"));
        assert_eq!(
            inherits.and_then(toml::Value::as_bool),
            Some(true),
            "{}: without `lints.workspace = true` nothing forbids unsafe code",
            manifest.display()
        );
        seen += 1;
    }
    assert!(seen >= 19, "{seen} crates were seen");
}
