//! Method files. One that is taken can be written down whole, and works out what it says for any masses.
#![no_main]

use libfuzzer_sys::fuzz_target;
use stonewear_measure::Decimal;
use stonewear_method::work_out::Input;
use stonewear_method::{Method, Weighed, figures, loss, read, work_out};

fuzz_target!(|text: &str| {
    let Ok(method) = read("hostile.toml", text) else { return };
    // It is kept whole in the journal when it is taken into use.
    let kept = serde_json::to_string(&method).expect("a method can be written");
    let again: Method = serde_json::from_str(&kept).expect("and read again");
    assert_eq!(again, method);
    for grading in &method.gradings {
        for unsure in figures::unsure(&method, Some(&grading.name)).iter().take(2) {
            let _ = figures::confirm(&method, &unsure.path);
            let _ = figures::correct(&method, &unsure.path, "12.5");
        }
        let masses = [Decimal::new(15002, 1), Decimal::MAX, Decimal::new(1, 28)];
        for before_g in masses {
            let weighed = Weighed { before_g, after_g: Decimal::new(12784, 1) };
            let _ = loss::loss(&method, &[weighed, weighed]);
            let mut input =
                Input { before_g: Some(before_g), after_g: Some(Decimal::ONE), ..Input::default() };
            for (place, _) in grading.fractions.iter().enumerate() {
                input.fractions_g.insert(place, before_g);
            }
            for reading in &method.readings {
                input.readings.insert((reading.name.clone(), None), before_g);
                for place in 0..grading.fractions.len() {
                    input.readings.insert((reading.name.clone(), Some(place)), before_g);
                }
            }
            let _ = work_out(&method, grading, &[input]);
        }
    }
});
