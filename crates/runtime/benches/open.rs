//! How long a laboratory of 100,000 facts takes to open: `cargo bench -p stonewear-runtime`.

#![allow(clippy::unwrap_used, clippy::print_stdout, reason = "a benchmark prints, and may stop")]

use std::time::Instant;
use stonewear_runtime::{Decided, OpenLaboratory, verify_folder};

fn main() {
    // cargo test runs benches, too, with this argument: nothing is to be measured then.
    let quick = std::env::args().any(|argument| argument == "--test");
    let samples = if quick { 20 } else { 8_300 };
    let folder = tempfile::tempdir().unwrap();
    {
        let mut laboratory = OpenLaboratory::open(folder.path()).unwrap();
        let batches =
            stonewear_demo::busy(1, samples, laboratory.methods(), laboratory.procedures())
                .unwrap();
        let decided: Vec<Decided<'_>> = batches
            .iter()
            .map(|batch| Decided {
                at: batch.at,
                by: &batch.by,
                key: &batch.key,
                facts: &batch.facts,
            })
            .collect();
        laboratory.record(&decided).unwrap();
    }
    let mut opened: Vec<_> = (0..5)
        .map(|_| {
            let begun = Instant::now();
            let laboratory = OpenLaboratory::open(folder.path()).unwrap();
            (begun.elapsed(), laboratory.lab().position)
        })
        .collect();
    opened.sort_unstable();
    let begun = Instant::now();
    assert!(verify_folder(folder.path()).unwrap().intact());
    let verified = begun.elapsed();
    let (middle, facts) = opened[2];
    println!("{facts} facts verified, read and folded   {middle:>12.1?}   (wanted: under 500 ms)");
    println!("of that, verified alone              {verified:>12.1?}");
}
