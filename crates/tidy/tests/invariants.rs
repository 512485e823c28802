//! The invariants of `ARCHITECTURE.md`, held by reading the tree.

#![allow(clippy::unwrap_used, reason = "a test that fails here says where")]

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::process::Command;

/// Which of our crates each crate may depend on. A crate that is not named here fails the test:
/// a new room is a decision.
const MAY_DEPEND_ON: [(&str, &[&str]); 21] = [
    ("measure", &[]),
    ("table", &[]),
    ("stats", &["measure", "table"]),
    ("method", &["measure"]),
    ("procedure", &["measure"]),
    ("sieving", &["measure", "method", "table"]),
    ("lab", &["measure", "stats", "method", "procedure", "sieving"]),
    ("journal", &[]),
    ("access", &[]),
    ("language", &[]),
    ("picture", &["measure"]),
    ("report", &["measure", "stats", "method", "procedure", "sieving", "lab", "picture"]),
    ("paper", &["language", "measure", "picture", "report"]),
    ("exchange", &["measure", "method", "procedure", "sieving", "table", "lab", "report"]),
    // It compares the laboratories of a network, so it knows statistics.
    ("runtime", &["journal", "lab", "method", "procedure", "report", "stats"]),
    ("demo", &["measure", "method", "procedure", "lab"]),
    ("bench", &["demo", "journal", "lab", "measure", "method", "procedure", "runtime", "stats"]),
    (
        "server",
        &[
            "measure",
            "stats",
            "method",
            "procedure",
            "sieving",
            "lab",
            "journal",
            "picture",
            "report",
            "exchange",
            "runtime",
            "access",
            "language",
        ],
    ),
    ("tidy", &[]),
    // A PostgreSQL for tests; nothing but tests uses it.
    ("cluster", &[]),
    (
        "stonewear",
        &[
            "measure",
            "stats",
            "method",
            "procedure",
            "sieving",
            "lab",
            "journal",
            "picture",
            "report",
            "paper",
            "exchange",
            "runtime",
            "demo",
            "server",
            "access",
        ],
    ),
];

/// Crates that know no clock, no disk, no network, no environment, no chance of their own.
const PURE: [&str; 9] =
    ["measure", "table", "stats", "method", "sieving", "procedure", "lab", "picture", "report"];

/// What a pure crate must not say, outside its tests.
const IMPURE: [&str; 12] = [
    "std::fs",
    "std::net",
    "std::env",
    "std::io",
    "std::process",
    "SystemTime",
    "Instant::now",
    "Timestamp::now",
    "Zoned::now",
    "rand::rng",
    "println!",
    "thread_rng",
];

/// Crates through which a reported number passes: no binary float in them at all.
const EXACT: [&str; 6] = ["measure", "method", "sieving", "lab", "procedure", "demo"];

/// Where the laboratory estimates from many readings (limits, bands, forecasts, scores), in double
/// precision. What is found there is rounded on purpose before it goes into words or a fact.
const STATISTICS: &[&str] = &[
    "lab/src/charge/",
    "lab/src/control",
    "lab/src/decide/control",
    "lab/src/duplicates.rs",
    "lab/src/estimate.rs",
    "lab/src/experiment/",
    "lab/src/proficiency/document.rs",
    "lab/src/proficiency/score.rs",
    "lab/src/proficiency/trend.rs",
    "lab/src/round/analysis.rs",
    "lab/src/round/document.rs",
    "lab/src/round/figures.rs",
    "lab/src/round/homogeneity.rs",
    "lab/src/study/agreement.rs",
    "lab/src/study/analysis.rs",
    "lab/src/study/power.rs",
];

/// The longest file that can be held in the head.
const MOST_LINES: usize = 600;

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..").canonicalize().unwrap()
}

/// The files that the repository tracks, or all below its folders where git knows nothing.
fn files(below: &Path, ending: &str) -> Vec<PathBuf> {
    let mut found = Vec::new();
    let mut open = vec![below.to_owned()];
    while let Some(folder) = open.pop() {
        let Ok(entries) = std::fs::read_dir(&folder) else { continue };
        for entry in entries.flatten() {
            let path = entry.path();
            let name = entry.file_name();
            let skipped = ["target", "node_modules", ".git"].iter().any(|skip| name == *skip);
            if path.is_dir() && !skipped {
                open.push(path);
            } else if path.to_string_lossy().ends_with(ending) {
                found.push(path);
            }
        }
    }
    found.sort();
    found
}

fn sources(name: &str) -> Vec<(PathBuf, String)> {
    let all = files(&root().join("crates").join(name).join("src"), ".rs");
    all.into_iter().map(|path| (path.clone(), std::fs::read_to_string(&path).unwrap())).collect()
}

/// The lines of a file that run in the product, with their numbers: no comments, no tests.
fn product_lines(path: &Path, text: &str) -> Vec<(usize, String)> {
    if path.file_name().is_some_and(|name| name == "tests.rs") {
        return Vec::new();
    }
    let product = text.split("#[cfg(test)]\nmod ").next().unwrap_or_default();
    product
        .lines()
        .enumerate()
        .filter(|(_, line)| !line.trim_start().starts_with("//"))
        .map(|(number, line)| (number + 1, line.to_owned()))
        .collect()
}

#[test]
fn the_rooms_depend_on_each_other_in_one_direction() {
    let output = Command::new(env!("CARGO"))
        .args(["metadata", "--format-version", "1", "--no-deps", "--offline"])
        .current_dir(root())
        .output()
        .unwrap();
    let metadata: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    let allowed: BTreeMap<&str, BTreeSet<&str>> =
        MAY_DEPEND_ON.iter().map(|(name, on)| (*name, on.iter().copied().collect())).collect();
    let mut faults = Vec::new();
    for package in metadata["packages"].as_array().unwrap() {
        let name = package["name"].as_str().unwrap().trim_start_matches("stonewear-");
        let Some(allowed) = allowed.get(name) else {
            faults.push(format!("the crate {name} is not on the map"));
            continue;
        };
        for dependency in package["dependencies"].as_array().unwrap() {
            // What tests use may point anywhere.
            if dependency["kind"] == "dev" {
                continue;
            }
            if let Some(on) = dependency["name"].as_str().unwrap().strip_prefix("stonewear-")
                && !allowed.contains(on)
            {
                faults.push(format!("{name} must not depend on {on}"));
            }
        }
    }
    assert_eq!(faults, Vec::<String>::new());
}

#[test]
fn only_paper_knows_the_typesetting_library() {
    for manifest in files(&root().join("crates"), "Cargo.toml") {
        let text = std::fs::read_to_string(&manifest).unwrap();
        let is_paper = manifest.ends_with("paper/Cargo.toml");
        assert!(
            is_paper || !text.contains("typst"),
            "{} names the typesetting library",
            manifest.display()
        );
    }
}

#[test]
fn the_domain_has_no_clock_no_disk_no_chance() {
    let mut faults = Vec::new();
    for name in PURE {
        for (path, text) in sources(name) {
            for (number, line) in product_lines(&path, &text) {
                for word in IMPURE.iter().filter(|word| line.contains(**word)) {
                    faults.push(format!("{}:{number}: {word}", path.display()));
                }
            }
        }
    }
    assert_eq!(faults, Vec::<String>::new());
}

#[test]
fn no_binary_float_touches_a_reported_number() {
    let mut faults = Vec::new();
    for name in EXACT {
        for (path, text) in sources(name) {
            // It ranks names by likeness, for “did you mean”; no number of the trade passes there.
            if path.ends_with("method/src/library.rs")
                || STATISTICS.iter().any(|place| path.to_string_lossy().contains(place))
            {
                continue;
            }
            for (number, line) in product_lines(&path, &text) {
                if ["f64", "f32"].iter().any(|float| line.contains(float)) {
                    faults.push(format!("{}:{number}: {}", path.display(), line.trim()));
                }
            }
        }
    }
    assert_eq!(faults, Vec::<String>::new());
}

#[test]
fn every_file_says_what_it_is_and_stays_small() {
    let mut faults = Vec::new();
    for path in files(&root().join("crates"), ".rs") {
        let text = std::fs::read_to_string(&path).unwrap();
        let place = path.display();
        if !text.starts_with("//! ") {
            faults.push(format!("{place} does not begin with a //! line"));
        }
        let lines = text.lines().count();
        if lines > MOST_LINES {
            faults.push(format!("{place} has {lines} lines; {MOST_LINES} is the most"));
        }
        for (number, line) in text.lines().enumerate() {
            if line.ends_with([' ', '\t']) {
                faults.push(format!("{place}:{}: white space at the end", number + 1));
            }
        }
    }
    assert_eq!(faults, Vec::<String>::new());
}

/// The tests of this file would pass on an empty tree; this one would not.
#[test]
fn the_tree_is_there_to_be_read() {
    let count = |name: &str| sources(name).len();
    for (name, _) in MAY_DEPEND_ON.iter().filter(|(name, _)| !matches!(*name, "stonewear" | "tidy"))
    {
        assert!(count(name) > 0, "no sources found for {name}");
    }
    let lab = sources("lab").into_iter().find(|(path, _)| path.ends_with("lib.rs")).unwrap();
    assert!(product_lines(&lab.0, &lab.1).len() > 10);
}
