//! How long the questions take in a laboratory of 100,000 facts: `cargo bench -p stonewear-demo`.

#![allow(clippy::unwrap_used, clippy::print_stdout, reason = "a benchmark prints, and may stop")]

use std::hint::black_box;
use std::time::{Duration, Instant};
use stonewear_lab::{Lab, Recorded};
use stonewear_method::library::built_in_methods;
use stonewear_procedure::built_in_procedures;

fn median(times: usize, mut work: impl FnMut()) -> Duration {
    let mut taken: Vec<Duration> = (0..times)
        .map(|_| {
            let begun = Instant::now();
            work();
            begun.elapsed()
        })
        .collect();
    taken.sort_unstable();
    taken[times / 2]
}

fn main() {
    // cargo test runs benches, too, with this argument: nothing is to be measured then.
    let quick = std::env::args().any(|argument| argument == "--test");
    let samples = if quick { 20 } else { 9_000 };
    let batches =
        stonewear_demo::busy(1, samples, &built_in_methods(), &built_in_procedures()).unwrap();
    let mut facts: Vec<Recorded> = Vec::new();
    for batch in &batches {
        for fact in &batch.facts {
            facts.push(Recorded {
                position: facts.len() as u64 + 1,
                at: batch.at,
                by: batch.by.clone(),
                fact: fact.clone(),
            });
        }
    }
    let mut lab = Lab::new();
    let fold = median(3, || {
        lab = Lab::new();
        facts.iter().for_each(|fact| lab.apply(fact));
    });
    let balance = "BAL-1".into();
    let since = Some(facts[0].at);
    let found = Some("1.5".parse().unwrap());
    let since_last = lab.doubt(&balance, "indication", found, None).unwrap().results.len();
    let since_ever = lab.doubt(&balance, "indication", found, since).unwrap().results.len();
    let last = median(101, || drop(black_box(lab.doubt(&balance, "indication", found, None))));
    let ever = median(11, || drop(black_box(lab.doubt(&balance, "indication", found, since))));
    let result = lab.results.values().nth(lab.results.len() / 2).unwrap();
    let evidence = median(1001, || drop(black_box(lab.evidence(result))));
    let ready = median(101, || drop(black_box(lab.readiness(facts[facts.len() - 1].at))));
    println!("{} facts, {} results", facts.len(), lab.results.len());
    println!("folding all facts                                  {fold:>12.1?}");
    println!(
        "doubt since the last proof ({since_last} results)          {last:>12.1?}   (wanted: under 5 ms)"
    );
    println!("doubt since ever ({since_ever} results)                  {ever:>12.1?}");
    println!(
        "evidence of one result                             {evidence:>12.1?}   (wanted: under 1 ms)"
    );
    println!("readiness of every apparatus for every method      {ready:>12.1?}");
}
