//! The demo laboratory as it stands after its scenario.

use jiff::Timestamp;
use stonewear_lab::{Lab, Recorded};

/// The laboratory, and when its last fact was recorded.
pub(crate) fn demo() -> (Lab, Timestamp) {
    let methods = stonewear_method::library::built_in_methods();
    let procedures = stonewear_procedure::built_in_procedures();
    let batches = stonewear_demo::scenario(stonewear_demo::SEED, &methods, &procedures).unwrap();
    let mut lab = Lab::new();
    let mut last = Timestamp::UNIX_EPOCH;
    for batch in batches {
        for fact in batch.facts {
            let position = lab.position + 1;
            lab.apply(&Recorded { position, at: batch.at, by: batch.by.clone(), fact });
        }
        last = batch.at;
    }
    (lab, last)
}
