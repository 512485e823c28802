//! Requests as JSON, decided in a laboratory in which much has happened.
#![no_main]

#[path = "../../crates/lab/tests/laboratory/story/mod.rs"]
mod story;

use libfuzzer_sys::fuzz_target;
use std::cell::LazyCell;
use stonewear_lab::Request;
use story::Story;

thread_local! {
    static BUSY: LazyCell<Story> = LazyCell::new(Story::busy);
}

// Told once, before anything is timed.
fuzz_target!(init: BUSY.with(|busy| assert!(busy.lab.is_founded())), |text: &str| {
    let Ok(request) = serde_json::from_str::<Request>(text) else { return };
    let kept = serde_json::to_string(&request).expect("a request can be written");
    assert_eq!(serde_json::from_str::<Request>(&kept).expect("and read again"), request);
    BUSY.with(|busy| match busy.ask(request) {
        Ok(facts) => assert!(!facts.is_empty()),
        Err(refusal) => assert!(!refusal.problems.is_empty()),
    });
});
