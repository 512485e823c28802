//! What the report of the demo laboratory says about judgement and agreement.

#![allow(clippy::unwrap_used, reason = "a test that fails here says where")]

use stonewear_demo::{SEED, scenario};
use stonewear_lab::judgement::Verdict;
use stonewear_lab::request::WeighAfter;
use stonewear_lab::state::TestResult;
use stonewear_lab::{Context, Lab, Recorded, Request, decide};
use stonewear_report::{Outcome, test_report};

fn demo() -> Lab {
    let methods = stonewear_method::library::built_in_methods();
    let batches = scenario(SEED, &methods, &stonewear_procedure::built_in_procedures()).unwrap();
    let mut lab = Lab::new();
    for batch in batches {
        for fact in batch.facts {
            let position = lab.position + 1;
            lab.apply(&Recorded { position, at: batch.at, by: batch.by.clone(), fact });
        }
    }
    lab
}

/// A released result whose sample another laboratory tested, too.
fn compared(lab: &Lab) -> &TestResult {
    lab.results
        .values()
        .find(|result| {
            let is_split = !lab.samples[&result.sample].outside.is_empty();
            let verdict = lab.judgement(result).map(|judgement| judgement.verdict);
            is_split && verdict == Some(Verdict::ConformsInGuardBand)
        })
        .unwrap()
}

/// By hand: 15.9 % by the multilaboratory statement of ASTM D6928 (from memory) is 18 − 2 × 3.9 / 5 =
/// 16.44 % of it, 2.61396 %; over 2.8 it is 0.93355…, up to 0.94; U = 1.88 and 17 − 1.88 = 15.12.
/// The reported 15.9 lies 1.1 below 17: (17 − 15.9) / 0.94 = 1.1702, Φ(−1.1702) = 0.1210.
#[test]
fn a_report_says_requirement_rule_risk_uncertainty_and_agreement() {
    let lab = demo();
    let report = test_report(&lab, compared(&lab), None);
    let decision = report.loss.decision.unwrap();
    assert_eq!(report.loss.value, "15.9");
    assert_eq!(decision.outcome, Outcome::ConformsInGuardBand);
    assert_eq!(decision.strip.acceptance_upper.as_deref(), Some("15.12"));
    insta::assert_snapshot!(decision.rule, @"guarded by the expanded uncertainty (k = 2), risk of a wrong acceptance at most 2.5 %, within the guard band up to 50 % (ILAC-G8:09/2019); accepted: at most 15.12 %; compared: the loss as reported; probability that the verdict is wrong: 12.1 %");
    let uncertainty = report.loss.uncertainty.unwrap();
    assert_eq!(
        (uncertainty.expanded.as_str(), uncertainty.coverage_factor.as_str()),
        ("1.88", "2")
    );
    insta::assert_snapshot!(uncertainty.basis, @"from the reproducibility limit of ASTM D6928 (2010) at this loss, 2.61 %, over 2.8; from memory, unconfirmed");
    assert_eq!(report.agreement.len(), 1, "the other laboratory's loss came after the release");
    assert!(
        report.agreement[0].contains("within the limit of 1.2 % loss (the laboratory's own limit)")
    );
}

#[test]
fn a_release_in_disagreement_prints_the_deviation() {
    let lab = demo();
    let released = lab.results.values().find(|result| {
        result.release().is_some_and(|release| !release.value.deviations.is_empty())
    });
    let report = test_report(&lab, released.unwrap(), None);
    let printed = report.deviations.iter().find(|one| one.rule == "results-differ").unwrap();
    assert!(printed.what.contains("more than the limit of 1.2 % loss"), "{}", printed.what);
    assert!(printed.reason.contains("another pair is on its way"));
}

/// 17.4 % is beyond 17: the amended report says that the loss and the verdict are others.
#[test]
fn an_amendment_says_that_the_verdict_changed() {
    let mut lab = demo();
    let (code, specimen) = {
        let result = compared(&lab);
        (result.code.clone(), result.specimens[0].to_string())
    };
    let before: u32 =
        lab.specimens[specimen.as_str()].before_g().unwrap().to_string().parse().unwrap();
    let asked: Request = WeighAfter {
        specimen,
        mass_g: (before - before * 174 / 1000).to_string(),
        balance: "BAL-1".into(),
        reason: "the tray was weighed with it".into(),
        deviation: "the demo is old".into(),
        ..WeighAfter::default()
    }
    .into();
    let at = lab.local("2026-11-24T12:00:00Z".parse().unwrap()).timestamp();
    let context = Context { at, made: None, by: "MQ".into(), methods: &[], procedures: &[] };
    for fact in decide(&lab, &context, &asked).unwrap() {
        let position = lab.position + 1;
        lab.apply(&Recorded { position, at, by: "MQ".into(), fact });
    }
    let report = test_report(&lab, &lab.results[&code], None);
    let amendment = &report.amendments[0];
    assert_eq!(amendment.replaces, format!("{code}/1"));
    insta::assert_snapshot!(amendment.what, @"loss 15.9 % became 17.3 %; “conforms, within the guard band” became “does not conform, within the guard band”");
}
