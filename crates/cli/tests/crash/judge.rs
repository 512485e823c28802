//! What must hold after every kill, read from the journal itself and not from the program's answers.

use crate::client::{Client, Matter, Sent};
use crate::program::Laboratory;
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use std::ops::ControlFlow;
use stonewear_journal::{Hash, Head, SqliteStore, Store, replay};

/// An entry of the journal.
struct Kept {
    hash: String,
    key: String,
    fact: Value,
}

/// Holds that every acknowledged entry is there once, at its place, with what was sent; that nothing is
/// there that nobody sent; and that the chain is whole.
pub(crate) fn holds(laboratory: &Laboratory, clients: &[Client], when: &str) {
    let store = SqliteStore::open_read_only(&laboratory.journal()).unwrap();
    let mut journal: BTreeMap<u64, Kept> = BTreeMap::new();
    let verification = replay(&store, Head::GENESIS, &mut |entry| {
        let kept = Kept {
            hash: entry.hash.to_string(),
            key: entry.request.to_string(),
            fact: serde_json::from_str(entry.fact.get()).unwrap(),
        };
        journal.insert(entry.position, kept);
        ControlFlow::Continue(())
    })
    .unwrap();
    assert!(verification.intact(), "{when}: {:?}", verification.what());
    let mut places: BTreeMap<&str, Vec<u64>> = BTreeMap::new();
    for (position, kept) in &journal {
        if let Some(key) = key_of(&kept.key) {
            places.entry(key).or_default().push(*position);
        }
    }
    let all: Vec<&Sent> = clients.iter().flat_map(|client| &client.sent).collect();
    let keys: BTreeSet<&str> = all.iter().map(|sent| sent.key.as_str()).collect();
    for key in places.keys() {
        assert!(keys.contains(key), "{when}: nobody sent {key}");
    }
    for sent in all {
        let there = places.get(sent.key.as_str()).map(Vec::as_slice).unwrap_or_default();
        let Some(answer) = &sent.answer else {
            assert!(there.len() <= 1, "{when}: {} was recorded twice: {there:?}", sent.key);
            continue;
        };
        let told = answer.body["facts"].as_array().map(Vec::as_slice).unwrap_or_default();
        let told: Vec<(u64, &str)> = told
            .iter()
            .map(|fact| (fact["position"].as_u64().unwrap(), fact["hash"].as_str().unwrap()))
            .collect();
        let positions: Vec<u64> = told.iter().map(|(position, _)| *position).collect();
        assert_eq!(there, positions, "{when}: {} was acknowledged at {positions:?}", sent.key);
        for (position, hash) in told {
            assert_eq!(journal[&position].hash, hash, "{when}: another fact stands at {position}");
        }
        match &sent.matter {
            Matter::Wrong => assert_eq!(answer.status, 422, "{when}: {}", sent.key),
            Matter::Sample(source) => {
                let facts = there.iter().map(|position| journal[position].fact.to_string());
                let quoted = format!("\"{source}\"");
                assert!(facts.into_iter().any(|fact| fact.contains(&quoted)), "{when}: {source}");
            }
            Matter::Note { bytes, .. } => {
                let kept = store.get_blob(Hash::of(bytes)).unwrap();
                assert_eq!(kept.as_ref(), Some(bytes), "{when}: the file of {}", sent.key);
            }
        }
    }
}

/// The key that a client gave, from the key under which a fact is kept: `via T-1/KEY#PRINT`.
fn key_of(kept: &str) -> Option<&str> {
    let (_, rest) = kept.strip_prefix("via ")?.split_once('/')?;
    rest.rsplit_once('#').map(|(key, _)| key)
}
