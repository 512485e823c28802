//! The form on which a participant sends results: a CSV to fill.

use crate::code::ParticipantCode;
use crate::state::Round;
use stonewear_stats::table::cell;

/// The form of a participant: a row for each replicate of each material, the values to be filled
/// in.
pub fn result_form(round: &Round, participant: &ParticipantCode) -> String {
    let plan = &round.plan.value;
    let mut text = format!(
        "# {} {}: {}. Fill the column value and send the file back by {}.\n\
         code,material,replicate,value\n",
        plan.round,
        plan.title.replace(['\n', '\r'], " "),
        plan.quantity.replace(['\n', '\r'], " "),
        plan.closes_on
    );
    for material in round.materials() {
        for replicate in 1..=plan.replicates {
            text += &format!("{participant},{},{replicate},\n", cell(&material.name));
        }
    }
    text
}
