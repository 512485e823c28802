//! The mark of a paper, looked for in any file: one that is found is written as it was read.
#![no_main]

use libfuzzer_sys::fuzz_target;
use stonewear_report::{Mark, printed};

fuzz_target!(|file: &[u8]| {
    let Some(mark) = Mark::read(file) else { return };
    let _ = printed(&mark.fingerprint);
    assert_eq!(Mark::read(mark.in_file().as_bytes()), Some(mark));
});
