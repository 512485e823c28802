//! Sieves as the trade writes them: a read sieve is the same when it is read from its own name.
#![no_main]

use libfuzzer_sys::fuzz_target;
use stonewear_sieving::nominal::Definition;
use stonewear_sieving::{ClosingRule, Sieve, SieveSet};

fuzz_target!(|typed: &str| {
    if let Ok(sieve) = typed.parse::<Sieve>() {
        assert_eq!(sieve.in_mm().parse(), Ok(sieve), "{typed:?}");
        if let Some(name) = sieve.us_designation() {
            assert_eq!(name.parse(), Ok(sieve), "{typed:?}");
        }
        assert_eq!(Sieve::with_opening(sieve.opening_mm()), Some(sieve), "{typed:?}");
    }
    let _ = typed.parse::<SieveSet>();
    let _ = typed.parse::<Definition>();
    let _ = typed.parse::<ClosingRule>();
});
