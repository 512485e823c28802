//! Facts as a journal from elsewhere may hold them: what can be read is applied to a laboratory in which
//! much has happened, without a word against it, and is written as it was read.
#![no_main]

#[path = "../../crates/lab/tests/laboratory/story/mod.rs"]
mod story;

use libfuzzer_sys::fuzz_target;
use std::cell::LazyCell;
use stonewear_lab::{Fact, Lab, Recorded};

thread_local! {
    static BUSY: LazyCell<Lab> = LazyCell::new(|| story::Story::busy().lab);
}

// Told once, before anything is timed.
fuzz_target!(init: BUSY.with(|busy| assert!(busy.is_founded())), |text: &str| {
    let facts: Vec<Fact> = text.lines().filter_map(|line| serde_json::from_str(line).ok()).collect();
    if facts.is_empty() {
        return;
    }
    for fact in &facts {
        let kept = serde_json::to_string(fact).expect("a fact can be written");
        assert_eq!(serde_json::from_str::<Fact>(&kept).expect("and read again"), *fact);
    }
    BUSY.with(|busy| {
        let mut lab = Lab::clone(busy);
        for fact in facts {
            let at = "2026-06-02T08:00:00Z".parse().expect("an instant");
            lab.apply(&Recorded { position: lab.position + 1, at, by: "AB".into(), fact });
        }
    });
});
