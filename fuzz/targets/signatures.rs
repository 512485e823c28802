//! Files of signatures and answers of time-stamping authorities, held against a journal.
#![no_main]

use libfuzzer_sys::fuzz_target;
use std::collections::BTreeMap;
use stonewear_journal::signature::{Ledger, stamp};
use stonewear_journal::{Hash, Head};

fuzz_target!(|bytes: &[u8]| {
    let hash = Hash::of(b"the last signature");
    let _ = stamp::looks_right(bytes, hash);
    let ledger = Ledger::read(&String::from_utf8_lossy(bytes));
    let _ = (ledger.end(), ledger.hashes());
    let hashes: BTreeMap<u64, Hash> = ledger
        .positions()
        .into_iter()
        .map(|place| (place, Hash::of(&place.to_be_bytes())))
        .collect();
    let coverage = ledger.judged(&hashes, Head { position: 7, hash }, None);
    // Nobody signed what is made up here.
    assert_eq!(coverage.checkpoints, 0);
});
