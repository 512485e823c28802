//! Files of check procedures, and descriptions of an apparatus with the checks that follow from them.
#![no_main]

use libfuzzer_sys::fuzz_target;
use stonewear_measure::Decimal;
use stonewear_procedure::{
    Answer, Procedure, for_apparatus, judge, read_apparatus, read_procedures, step_json,
};

fn walked(procedures: &[Procedure]) {
    for step in procedures.iter().flat_map(|procedure| &procedure.steps) {
        for answer in [Answer::Seen(true), Answer::Seen(false), Answer::Number(Decimal::MAX)] {
            assert!(!judge(&step.expect, answer).words.is_empty());
        }
        let _ = step_json(step);
    }
    let kept = serde_json::to_string(procedures).expect("procedures can be written");
    let again: Vec<Procedure> = serde_json::from_str(&kept).expect("and read again");
    assert_eq!(again, procedures);
}

fuzz_target!(|text: &str| {
    if let Ok(procedures) = read_procedures("hostile.toml", text) {
        walked(&procedures);
    }
    if let Ok(described) = read_apparatus("hostile.toml", text) {
        walked(&for_apparatus(&described.apparatus));
    }
});
