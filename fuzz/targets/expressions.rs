//! A user's own model of a measurand, evaluated where it is taken.
#![no_main]

use libfuzzer_sys::fuzz_target;
use stonewear_stats::uncertainty::model::{Expression, Model};

fuzz_target!(|text: &str| {
    let Ok(model) = Expression::new(text, &["a", "b", "m1"]) else { return };
    let columns: [&[f64]; 3] =
        [&[1500.2, 0.0, -1.0], &[1278.4, f64::MAX, 1e-300], &[2.0, 3.0, 0.5]];
    let mut out = [0.0; 3];
    model.evaluate(&columns, &mut out);
    // One trial alone gives what it gives among others.
    for (place, whole) in out.iter().enumerate() {
        let alone: Vec<&[f64]> = columns.iter().map(|column| &column[place..=place]).collect();
        let mut one = [0.0];
        model.evaluate(&alone, &mut one);
        assert!(one[0] == *whole || (one[0].is_nan() && whole.is_nan()), "{text:?}");
    }
});
