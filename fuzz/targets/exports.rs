//! Exports of a journal as they may come from anywhere. What is found whole is written as it was read.
#![no_main]

use libfuzzer_sys::fuzz_target;
use std::ops::ControlFlow;
use stonewear_journal::{read_export, verify_export};

fuzz_target!(|bytes: &[u8]| {
    let mut places = Vec::new();
    let verification = read_export(bytes, &mut |entry| {
        assert_eq!(entry.hash, stonewear_journal::Hash::of(entry.canonical_bytes()));
        places.push(entry.position);
        ControlFlow::Continue(())
    })
    .expect("memory can be read");
    assert!(places.iter().copied().eq(1..=verification.facts));
    let again = verify_export(bytes, Some(verification.head)).expect("memory can be read");
    assert_eq!(again.broken.is_none(), verification.broken.is_none());
});
