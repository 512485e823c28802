//! The decision on a result where its sample came with a limit, how well the result is known, and
//! what else is known of its sample.

use crate::{Decision, Outcome, Strip, Uncertainty};
use stonewear_lab::Lab;
use stonewear_lab::judgement::{self, COVERAGE_FACTOR, Judgement, Verdict};
use stonewear_lab::policy::DecisionRule;
use stonewear_lab::state::TestResult;

/// The statement of conformity (ISO/IEC 17025:2017, 7.8.6): which requirement, by which rule, with
/// which risk; `None` when no limit was agreed.
pub(super) fn decision(lab: &Lab, result: &TestResult) -> Option<Decision> {
    let sample = lab.samples.get(&result.sample)?;
    let judgement = lab.judgement(result)?;
    let acceptance_upper = match judgement.rule {
        DecisionRule::Simple => None,
        DecisionRule::Guarded | DecisionRule::GuardedConditional => {
            judgement.acceptance_percent.map(|accepted| accepted.to_string())
        }
    };
    Some(Decision {
        requirement: judgement.requirement(),
        document: sample.limit_document.clone(),
        rule: format!("{}; {}", judgement.rule_in_words(), judgement.risk_in_words()),
        outcome: outcome(judgement.verdict),
        strip: Strip {
            upper: Some(judgement.limit_percent.to_string()),
            acceptance_upper,
            ..Strip::default()
        },
    })
}

/// How well the loss is known, where its judgement knows.
pub(super) fn uncertainty(judgement: &Judgement) -> Option<Uncertainty> {
    let judgement::Uncertainty::Yes { source, confidence, .. } = &judgement.uncertainty else {
        return None;
    };
    let sure = match confidence {
        Some(confidence) if !confidence.is_sure() => format!("; {}", confidence.in_words()),
        _ => String::new(),
    };
    Some(Uncertainty {
        expanded: judgement.expanded_percent()?.to_string(),
        coverage_factor: COVERAGE_FACTOR.to_string(),
        coverage: "about 95 %".to_owned(),
        basis: format!("from the {}{sure}", source.trim_start_matches("the ")),
    })
}

/// What was known of the sample when the result was released: a sentence each pair of losses.
pub(super) fn agreement(lab: &Lab, result: &TestResult) -> Vec<String> {
    let agreement = lab.agreement_at_release(result);
    agreement.pairs.iter().map(stonewear_lab::agreement::Pair::in_words).collect()
}

fn outcome(verdict: Verdict) -> Outcome {
    match verdict {
        Verdict::Conforms => Outcome::Conforms,
        Verdict::ConformsInGuardBand => Outcome::ConformsInGuardBand,
        Verdict::FailsInGuardBand => Outcome::FailsInGuardBand,
        Verdict::DoesNotConform => Outcome::DoesNotConform,
        Verdict::NotDecided => Outcome::NotDecided,
    }
}
