//! Correcting what was recorded: the reason is asked for, the former value stays, and what stands
//! on it follows.

use crate::story::Story;
use stonewear_lab::Fact;
use stonewear_lab::fact::Standing;
use stonewear_lab::request::*;

/// A released loss: its specimen, its run and its result.
fn released(story: &mut Story) -> (String, String, String) {
    let (specimen, result) = story.loss();
    story.given(ReleaseResult { result: result.clone(), ..ReleaseResult::default() });
    let run = story.lab.runs.keys().last().unwrap().to_string();
    (specimen, run, result)
}

/// The result has a new version with this reason, which nobody has released yet.
fn assert_revised(story: &Story, result: &str, reason: &str, loss: &str) {
    let result = &story.lab.results[result];
    assert_eq!(result.version(), 2);
    assert_eq!(result.current().unwrap().value.reason, reason);
    assert_eq!(result.current().unwrap().value.loss_percent.unwrap().to_string(), loss);
    assert!(result.release().is_none(), "a corrected result must be released again");
}

#[test]
fn a_fraction_is_corrected_after_the_run_with_a_reason_only() {
    let mut story = Story::equipped();
    let (specimen, _, result) = released(&mut story);
    let mut correct = WeighFractions {
        specimen: specimen.clone(),
        masses_g: vec!["376.2".into()],
        ..WeighFractions::default()
    };
    assert!(story.refused(correct.clone()).contains("give the reason for correcting it"));
    correct.reason = "wrong line of the sheet".into();
    story.given(correct);
    let fractions = &story.lab.specimens[specimen.as_str()].fractions[&0];
    let masses: Vec<String> = fractions.iter().map(|mass| mass.value.mass_g.to_string()).collect();
    assert_eq!(masses, ["375.2", "376.2"]);
    // The loss does not hang on it; the evidence does.
    assert_revised(&story, &result, "wrong line of the sheet", "14.8");
}

#[test]
fn conditions_of_a_run_are_corrected_and_judged() {
    let mut story = Story::equipped();
    let (specimen, run, result) = released(&mut story);
    let correct = CorrectRun {
        run: run.clone(),
        charge_g: "4980.5".into(),
        reason: "the tray was on the balance".into(),
        ..CorrectRun::default()
    };
    assert!(story.refused(correct.clone()).contains("[charge-mass] charge_g: "));
    story.given(CorrectRun { deviation: "found after the run".into(), ..correct });
    let known = &story.lab.runs[run.as_str()];
    assert_eq!(known.placed[0].charge_g.unwrap().to_string(), "4980.5");
    let former: Vec<String> = known
        .corrections_of(&specimen)
        .map(|one| one.value.placed.charge_g.unwrap().to_string())
        .collect();
    assert_eq!(former, ["5000.5"]);
    assert_eq!(known.deviations.len(), 1);
    assert_revised(&story, &result, "the tray was on the balance", "14.8");
}

#[test]
fn a_correction_says_why_and_changes_something() {
    let mut story = Story::equipped();
    let (_, run, _) = released(&mut story);
    let same = CorrectRun { run: run.clone(), water_c: "20".into(), ..CorrectRun::default() };
    let refused = story.refused(same.clone());
    assert!(refused.contains("reason: the reason for the correction is missing"), "{refused}");
    let refused = story.refused(CorrectRun { reason: "misread".into(), ..same });
    assert!(refused.contains("[nothing-changes]"), "{refused}");
    let far = CorrectRun {
        run: run.clone(),
        water_c: "31".into(),
        reason: "misread".into(),
        ..CorrectRun::default()
    };
    assert!(story.refused(far).contains("[water-temperature]"));
    let unknown = CorrectRun { run, specimen: "S26-009-1".into(), ..CorrectRun::default() };
    assert!(story.refused(unknown).contains("S26-009-1 was not in R26-001"));
}

/// The jar was another one: the result stands on that one now, and no longer on the first.
#[test]
fn a_corrected_jar_carries_the_doubt_with_it() {
    let mut story = Story::equipped();
    let (_, run, result) = released(&mut story);
    let doubtful = |story: &Story, jar: &str| -> Vec<String> {
        let answer = story.lab.doubt(&jar.into(), "seal", None, None).unwrap();
        answer.results.iter().map(|one| one.result.to_string()).collect()
    };
    assert_eq!(doubtful(&story, "J1"), std::slice::from_ref(&result));
    story.given(CorrectRun {
        run,
        jar: "J2".into(),
        reason: "lids were swapped".into(),
        ..CorrectRun::default()
    });
    assert_eq!(doubtful(&story, "J1"), [""; 0]);
    assert_eq!(doubtful(&story, "J2"), [result]);
}

#[test]
fn a_sample_is_corrected_and_its_results_are_released_again() {
    let mut story = Story::equipped();
    let (specimen, _, result) = released(&mut story);
    let sample = story.lab.specimens[specimen.as_str()].sample.to_string();
    story.given(CorrectSample {
        sample: sample.clone(),
        limit_percent: "14".into(),
        reason: "the other column of the contract".into(),
        ..CorrectSample::default()
    });
    let known = &story.lab.samples[sample.as_str()];
    assert_eq!(known.limit_percent.unwrap().to_string(), "14");
    let former = &known.corrections[0].value.former;
    assert_eq!(former.limit_percent.unwrap().to_string(), "18");
    assert_eq!(former.source, None, "what did not change is not repeated");
    assert_revised(&story, &result, "the other column of the contract", "14.8");
}

#[test]
fn an_item_is_described_anew_with_a_reason() {
    let mut story = Story::equipped();
    story.given(CorrectItem {
        item: "BAL".into(),
        resolution: "0.1".into(),
        reason: "read off its plate".into(),
        ..CorrectItem::default()
    });
    assert_eq!(story.lab.items["BAL"].resolution.unwrap().to_string(), "0.1");
    assert_eq!(story.lab.items["BAL"].name, "the balance BAL");
    let jar = CorrectItem {
        item: "J1".into(),
        resolution: "1".into(),
        reason: "why not".into(),
        ..CorrectItem::default()
    };
    assert!(story.refused(jar).contains("a jar shows no numbers"));
}

/// ASTM D6928 weighs to 1 g: a balance that shows steps of 5 g is a departure.
#[test]
fn a_balance_too_coarse_for_the_method_is_a_departure() {
    let mut story = Story::equipped();
    let sample = story.sample("19.0");
    let begin = |sample: &str| BeginSpecimen {
        sample: sample.into(),
        method: "astm-d6928".into(),
        ..BeginSpecimen::default()
    };
    story.ask(begin(&sample)).unwrap();
    story.given(CorrectItem {
        item: "BAL".into(),
        resolution: "5".into(),
        reason: "read off its plate".into(),
        ..CorrectItem::default()
    });
    let refused = story.refused(begin(&sample));
    assert!(refused.contains("BAL shows steps of 5 g; the method weighs to 1 g"), "{refused}");
}

/// The check of the ball charge had been passed with a mass that was typed wrongly: the charge is
/// held, and what ran with it is in doubt, until somebody deals with each.
#[test]
fn a_check_that_was_not_passed_after_all_takes_its_results_with_it() {
    let mut story = Story::equipped();
    let (_, _, result) = released(&mut story);
    let check = story
        .lab
        .checks
        .values()
        .find(|check| check.item.as_str() == "B1" && check.procedure.id == "charge-mass")
        .unwrap();
    let code = check.code.to_string();
    let step = check
        .procedure
        .steps
        .iter()
        .find(|step| matches!(step.expect, stonewear_procedure::Expect::Number { .. }))
        .unwrap()
        .id
        .clone();
    let facts = story.given(CorrectObservation {
        check: code.clone(),
        step: step.clone(),
        seen: "4950".into(),
        reason: "digits were swapped".into(),
        ..CorrectObservation::default()
    });
    assert!(matches!(&facts[0], Fact::ObservationCorrected { passed: false, .. }));
    assert!(matches!(&facts[1], Fact::CheckEnded { passed: false, .. }));
    assert_eq!(story.lab.items["B1"].standing(), Standing::Held);
    let doubt = story.lab.doubts.values().next().unwrap();
    assert_eq!((doubt.item.as_str(), doubt.attribute.as_str()), ("B1", "mass"));
    assert_eq!(
        doubt.results.iter().map(stonewear_lab::ResultCode::as_str).collect::<Vec<_>>(),
        [result]
    );
    let check = &story.lab.checks[code.as_str()];
    assert!(!check.passed());
    let observation = &check.last_observation(&step).unwrap().value;
    assert!(observation.passed, "what was recorded first stays");
    assert!(!observation.holds());
}

/// A later check passed: it proves the charge again, so only what lies between the two is in doubt,
/// and the charge stays in service.
#[test]
fn a_later_pass_ends_the_doubt_about_an_earlier_one() {
    let mut story = Story::equipped();
    let (_, _, first) = released(&mut story);
    let is_of_the_charge = |check: &&stonewear_lab::state::Check| {
        check.item.as_str() == "B1" && check.procedure.id == "charge-mass"
    };
    let check = story.lab.checks.values().find(is_of_the_charge).unwrap();
    let is_number = |step: &&stonewear_procedure::Step| {
        matches!(step.expect, stonewear_procedure::Expect::Number { .. })
    };
    let step = check.procedure.steps.iter().find(is_number).unwrap().id.clone();
    let check = check.code.to_string();
    story.given(StartCheck { item: "B1".into(), procedure: "charge-mass".into() });
    story.pass_open_check();
    let (_, second) = story.loss();
    story.given(CorrectObservation {
        check,
        step,
        seen: "4950".into(),
        reason: "digits were swapped".into(),
        ..CorrectObservation::default()
    });
    let doubt = story.lab.doubts.values().next().unwrap();
    let doubted: Vec<&str> = doubt.results.iter().map(stonewear_lab::ResultCode::as_str).collect();
    assert_eq!(doubted, [first.as_str()], "{second} stands on the later pass");
    assert_eq!(story.lab.items["B1"].standing(), Standing::InService);
}

#[test]
fn a_correction_that_changes_no_verdict_leaves_the_check_passed() {
    let mut story = Story::equipped();
    let check = story
        .lab
        .checks
        .values()
        .find(|check| check.item.as_str() == "B1" && check.procedure.id == "charge-mass")
        .unwrap();
    let (code, steps) = (check.code.to_string(), check.procedure.steps.clone());
    let step = steps
        .iter()
        .find(|step| matches!(step.expect, stonewear_procedure::Expect::Number { .. }))
        .unwrap();
    let correct = |seen: &str| CorrectObservation {
        check: code.clone(),
        step: step.id.clone(),
        seen: seen.into(),
        reason: "misread".into(),
        ..CorrectObservation::default()
    };
    let facts = story.given(correct("5001"));
    assert_eq!(facts.len(), 1, "{facts:?}");
    assert!(story.lab.checks[code.as_str()].passed());
    assert!(story.refused(correct("5001")).contains("nothing changes"));
}

/// In a check that is not finished, a step that turns out wrong is next again.
#[test]
fn an_open_check_goes_back_to_the_step_that_is_corrected() {
    let mut story = Story::founded();
    story.register("J1", "jar", "");
    let facts = story.given(StartCheck { item: "J1".into(), procedure: "jar-inspection".into() });
    let Fact::CheckStarted { check, procedure, .. } = &facts[0] else { panic!("{facts:?}") };
    let (check, steps) = (check.to_string(), procedure.steps.clone());
    let stonewear_procedure::Expect::Number { limits, .. } = &steps[0].expect else {
        panic!("the inspection begins with a measure: {:?}", steps[0])
    };
    story.given(Observe {
        check: check.clone(),
        step: steps[0].id.clone(),
        seen: limits.lower.unwrap().to_string(),
        ..Observe::default()
    });
    assert_eq!(story.lab.checks[check.as_str()].steps_done(), 1);
    story.given(CorrectObservation {
        check: check.clone(),
        step: steps[0].id.clone(),
        seen: "1".into(),
        reason: "the caliper was not at zero".into(),
        ..CorrectObservation::default()
    });
    assert_eq!(story.lab.checks[check.as_str()].steps_done(), 0);
}
