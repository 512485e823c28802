//! The decision on a result, where its sample came with a limit.

use crate::{Decision, Outcome, Strip};
use stonewear_lab::Lab;
use stonewear_lab::state::TestResult;
use stonewear_measure::Limits;

/// The statement of conformity; `None` when no limit was agreed.
///
/// Simple acceptance (ILAC-G8:09/2019, binary statement with a guard band of zero): the reported
/// value is compared with the limit. The risk of a wrong acceptance is up to one half at the limit.
pub(super) fn decision(lab: &Lab, result: &TestResult) -> Option<Decision> {
    let sample = lab.samples.get(&result.sample)?;
    let upper = lab.limit_for(result)?;
    let loss = result.current()?.value.loss_percent?;
    let conforms = Limits::at_most(upper).hold(loss);
    Some(Decision {
        requirement: format!("at most {upper} %"),
        document: sample.limit_document.clone(),
        rule: "simple acceptance: the reported value is compared with the limit (risk of a wrong \
               acceptance up to 50 % at the limit; ILAC-G8:09/2019)"
            .to_owned(),
        outcome: if conforms { Outcome::Conforms } else { Outcome::DoesNotConform },
        strip: Strip { upper: Some(upper.to_string()), ..Strip::default() },
    })
}
