//! Facts of any shape become entries or are refused; an export of them holds, and a changed byte is found.
#![no_main]

use libfuzzer_sys::fuzz_target;
use stonewear_journal::{Draft, Head, MemoryStore, Store, export, verify, verify_export};

fuzz_target!(|data: (u16, u8, &str)| {
    let (place, flip, text) = data;
    let Ok(fact) = serde_json::from_str::<serde_json::Value>(text) else { return };
    let mut store = MemoryStore::default();
    let draft = Draft {
        at: "2026-11-24T10:41:07.250Z".parse().expect("an instant"),
        by: text.chars().take(3).collect(),
        request: text.chars().take(9).collect(),
        fact,
    };
    let Ok(entries) = store.append(Head::GENESIS, &[draft.clone(), draft.clone()]) else { return };
    let kept: serde_json::Value =
        serde_json::from_slice(entries[1].canonical_bytes()).expect("an entry is JSON");
    assert_eq!(kept["fact"], draft.fact);
    assert!(verify(&store).expect("memory can be read").intact());
    let mut file = Vec::new();
    let written = export(&store, &mut file).expect("memory takes it");
    let held = |file: &[u8]| verify_export(file, Some(written.head)).expect("memory can be read");
    assert!(held(&file).intact());
    if flip != 0 {
        let place = usize::from(place) % file.len();
        file[place] ^= flip;
        assert!(!held(&file).intact(), "the byte {place} was changed, and nobody saw");
    }
});
