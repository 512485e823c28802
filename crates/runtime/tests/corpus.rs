//! Journals of every version of the program, replayed: what was written once is read for ever, and says
//! the same.
//!
//! A release adds its own with `UPDATE_CORPUS=1 cargo test -p stonewear-runtime --test corpus`. A file that
//! is there is never written again: a change that a journal of the past does not survive is a fault of the
//! change.

#![allow(clippy::unwrap_used, reason = "a test that fails here says where")]

use flate2::Compression;
use flate2::read::MultiGzDecoder;
use flate2::write::GzEncoder;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::fs::File;
use std::io::{BufReader, Write};
use std::ops::ControlFlow;
use std::path::{Path, PathBuf};
use stonewear_lab::{Fact, Lab, PersonCode, Recorded};
use stonewear_runtime::{Decided, OpenLaboratory};

/// What a journal said when it was added.
#[derive(Debug, PartialEq, Serialize, Deserialize)]
struct Said {
    facts: u64,
    head: String,
    items: usize,
    people: usize,
    samples: usize,
    /// What each result found, in words.
    results: BTreeMap<String, String>,
    /// How often each kind of fact is there.
    kinds: BTreeMap<String, u64>,
}

fn corpus() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../journal/tests/corpus")
}

/// Replays a journal.
fn said(journal: &Path) -> Said {
    let reader = BufReader::new(MultiGzDecoder::new(File::open(journal).unwrap()));
    let (mut lab, mut kinds) = (Lab::new(), BTreeMap::new());
    let name = journal.display();
    let verification = stonewear_journal::read_export(reader, &mut |entry| {
        let fact: serde_json::Value = serde_json::from_str(entry.fact.get()).unwrap();
        *kinds.entry(fact["kind"].as_str().unwrap().to_owned()).or_default() += 1;
        let fact: Fact = serde_json::from_value(fact)
            .unwrap_or_else(|error| panic!("{name}, entry {}: {error}", entry.position));
        lab.apply(&Recorded {
            position: entry.position,
            at: entry.at.timestamp(),
            by: PersonCode::from(entry.by.as_ref()),
            fact,
        });
        ControlFlow::Continue(())
    })
    .unwrap();
    assert!(verification.intact(), "{name}: {:?}", verification.what());
    let found = |result: &stonewear_lab::state::TestResult| {
        result.current().map(|version| version.value.in_words()).unwrap_or_default()
    };
    Said {
        facts: verification.facts,
        head: verification.head.hash.to_string(),
        items: lab.items.len(),
        people: lab.people.len(),
        samples: lab.samples.len(),
        results: lab.results.iter().map(|(code, one)| (code.to_string(), found(one))).collect(),
        kinds,
    }
}

/// Adds the demo laboratory as this version makes it.
fn add(journal: &Path) {
    let folder = tempfile::tempdir().unwrap();
    let mut laboratory = OpenLaboratory::open(folder.path()).unwrap();
    let batches = stonewear_demo::scenario(
        stonewear_demo::SEED,
        laboratory.methods(),
        laboratory.procedures(),
    )
    .unwrap();
    let decided: Vec<Decided<'_>> = batches
        .iter()
        .map(|batch| Decided { at: batch.at, by: &batch.by, key: &batch.key, facts: &batch.facts })
        .collect();
    laboratory.record(&decided).unwrap();
    drop(laboratory);
    let mut packed = GzEncoder::new(File::create_new(journal).unwrap(), Compression::best());
    assert!(stonewear_runtime::export(folder.path(), &mut packed).unwrap().intact());
    packed.finish().unwrap().flush().unwrap();
    let told = serde_json::to_string_pretty(&said(journal)).unwrap();
    std::fs::write(journal.with_extension("").with_extension("json"), told + "\n").unwrap();
}

#[test]
fn journals_of_every_version_say_what_they_said() {
    let of_this_version =
        corpus().join(format!("{}-demo.jsonl.gz", env!("CARGO_PKG_VERSION").replace('.', "_")));
    if std::env::var_os("UPDATE_CORPUS").is_some() && !of_this_version.exists() {
        add(&of_this_version);
    }
    let entries = std::fs::read_dir(corpus()).unwrap().flatten().map(|entry| entry.path());
    let journals: Vec<PathBuf> =
        entries.filter(|path| path.extension().is_some_and(|end| end == "gz")).collect();
    assert!(!journals.is_empty());
    for journal in journals {
        let told = journal.with_extension("").with_extension("json");
        let told: Said = serde_json::from_slice(&std::fs::read(told).unwrap()).unwrap();
        assert_eq!(said(&journal), told, "{}", journal.display());
        assert!(told.facts > 1000 && told.results.len() > 10 && told.kinds.len() > 40, "{told:?}");
    }
}
