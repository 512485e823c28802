//! Numbers and masses as people and balances write them: what is read is read whole, and is read again
//! from what it is shown as.
#![no_main]

use libfuzzer_sys::fuzz_target;
use stonewear_measure::balance::{self, shown};
use stonewear_measure::{Decimal, Exact, Rounding, Rule, read};

fuzz_target!(|typed: &str| {
    if let Ok(value) = read(typed) {
        assert_eq!(read(&value.to_string()), Ok(value), "{typed:?}");
        for rule in [Rule::HalfUp, Rule::HalfEven] {
            let place =
                Rounding::new(Decimal::new(1, 1), rule).expect("a half_hundredth is a place");
            if let Some(rounded) = place.apply(&Exact::from(value)) {
                let off = Exact::from(rounded).minus(&Exact::from(value));
                let half = Exact::from(Decimal::new(5, 2));
                assert!(off <= half && Exact::from(Decimal::ZERO).minus(&off) <= half, "{typed:?}");
            }
        }
    }
    if let Ok(mass) = balance::read(typed) {
        let grams = mass.grams();
        // What is shown is as near as balances weigh.
        let off = (Exact::from(shown(grams)), Exact::from(grams));
        let half_hundredth = Exact::from(Decimal::new(5, 3));
        assert!(
            off.0.minus(&off.1) <= half_hundredth && off.1.minus(&off.0) <= half_hundredth,
            "{typed:?}"
        );
        if mass.as_read().is_none() {
            assert_eq!(read(&mass.value().to_string()), Ok(mass.value()), "{typed:?}");
        }
    }
});
