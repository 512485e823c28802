//! Verdicts guarded with an uncertainty, and intervals that the laboratory decides.

use crate::story::Story;
use stonewear_lab::Fact;
use stonewear_lab::fact::Seen;
use stonewear_lab::request::*;

/// A balance check at its reading of 1000 g, limits 999.0 to 1001.0 g.
fn at_1000_g() -> (Story, String) {
    let mut story = Story::founded();
    story.register("BAL", "balance", "");
    story.given(StartCheck { item: "BAL".into(), procedure: "balance-check".into() });
    let check = story.lab.checks.values().next().unwrap().clone();
    for step in check.procedure.steps.iter().take_while(|step| step.id != "mass-1000") {
        let seen = if step.id == "zero" { "0" } else { "yes" };
        story.given(Observe {
            check: check.code.to_string(),
            step: step.id.clone(),
            seen: seen.into(),
            ..Observe::default()
        });
    }
    (story, check.code.to_string())
}

/// Guard band w = U (ILAC-G8:09/2019): with U = 0.4 g, acceptance from 999.4 to 1000.6 g.
#[test]
fn an_uncertainty_guards_the_verdict() {
    for (seen, uncertainty, passes) in [
        ("1000.8", "", true),
        ("1000.8", "0.4", false),
        ("1000.6", "0.4", true),
        ("999.4", "0.4", true),
        ("999.3", "0.4", false),
        ("1001.1", "", false),
    ] {
        let (mut story, check) = at_1000_g();
        let facts = story.given(Observe {
            check,
            step: "mass-1000".into(),
            seen: seen.into(),
            uncertainty: uncertainty.into(),
            ..Observe::default()
        });
        let Fact::StepObserved { passed, .. } = &facts[0] else { panic!("{facts:?}") };
        assert_eq!(*passed, passes, "{seen} ± {uncertainty}");
    }
}

#[test]
fn an_uncertainty_wider_than_the_limits_proves_nothing() {
    let (story, check) = at_1000_g();
    let refused = story.refused(Observe {
        check,
        step: "mass-1000".into(),
        seen: "1000".into(),
        uncertainty: "1.2".into(),
        ..Observe::default()
    });
    assert!(
        refused
            .contains("with an uncertainty of 1.2 no reading could be shown to be 999.0 to 1001.0"),
        "{refused}"
    );
}

#[test]
fn the_laboratory_decides_how_long_a_pass_is_good_for() {
    let mut story = Story::equipped();
    let check = story.lab.proof_of(&"BAL".into()).unwrap().clone();
    let before = story.lab.proves_until(&check).unwrap();
    let set = |months: &str| SetInterval {
        procedure: "balance-check".into(),
        months: months.into(),
        reason: "it is moved often".into(),
    };
    story.given(set("3"));
    let after = story.lab.proves_until(&check).unwrap();
    assert!(after < before);
    let months = story.lab.local(after).date().month()
        - story.lab.local(check.ended.unwrap().at).date().month();
    assert_eq!(months, 3);
    assert!(story.refused(set("0")).contains("write a whole number from 1 to 120"));
    assert!(story.refused(set("soon")).contains("“soon” is not a number of months"));
    let unknown = SetInterval { procedure: "polish".into(), ..set("3") };
    assert!(story.refused(unknown).contains("there is no procedure “polish”; known: "));
    story.by = "CD".into();
    assert!(story.refused(set("3")).contains("may not manage"));
}

/// Two people answer the same step: the second answer is refused, unless it is said to be one.
#[test]
fn a_second_observation_is_kept_beside_the_first() {
    let (mut story, check) = at_1000_g();
    let step = story.lab.checks[check.as_str()].procedure.steps[0].id.clone();
    let again = |seen: &str, second: &str| Observe {
        check: check.clone(),
        step: step.clone(),
        seen: seen.into(),
        second: second.into(),
        ..Observe::default()
    };
    let next = |story: &Story| story.lab.checks[check.as_str()].steps_done();
    let before = next(&story);
    for second in ["", "no"] {
        assert!(story.refused(again("yes", second)).contains("has been passed already"));
    }
    assert!(story.refused(again("yes", "perhaps")).contains("answer yes or no"));

    // It agrees: kept, and the check stays where it is.
    story.given(again("yes", "yes"));
    assert_eq!(next(&story), before);
    let of_step = |story: &Story| {
        let seen = &story.lab.checks[check.as_str()].observations;
        seen.iter().filter(|one| one.value.step == step).count()
    };
    assert_eq!(of_step(&story), 2);

    // It does not: the check goes back to the step, and what came after is observed again.
    story.given(again("no", "yes"));
    assert_eq!(next(&story), 0);
    assert_eq!(of_step(&story), 3);

    // A step that lies ahead has no first observation yet.
    let ahead = Observe { step: "mass-1000".into(), ..again("1000", "yes") };
    assert!(story.refused(ahead).contains("is not next"));
}

/// A check of this item, at the step with this name: every step before it is passed.
fn at_step(item: &str, kind: &str, procedure: &str, step: &str) -> (Story, String) {
    let mut story = Story::founded();
    story.register(item, kind, "");
    let facts = story.given(StartCheck { item: item.into(), procedure: procedure.into() });
    let Fact::CheckStarted { check, .. } = &facts[0] else { panic!("{facts:?}") };
    let check = check.to_string();
    story.pass_steps_before(&check, step);
    (story, check)
}

fn observed(check: &str, step: &str, seen: &str) -> Observe {
    Observe { check: check.into(), step: step.into(), seen: seen.into(), ..Observe::default() }
}

fn seen_of(facts: &[Fact]) -> (String, bool, String) {
    let Fact::StepObserved { seen: Seen::Number(value), passed, as_read, .. } = &facts[0] else {
        panic!("{facts:?}")
    };
    (value.to_string(), *passed, as_read.clone())
}

/// Nobody subtracts by hand: both readings are typed, and stay.
#[test]
fn a_difference_is_worked_out_from_both_readings() {
    for (seen, less, difference, passes) in [
        ("200.2", "200.0", "0.2", true),
        ("199,75", "200.0", "-0.25", false),
        ("200.15", "200,00", "0.15", true),
    ] {
        let (mut story, check) = at_step("CAL", "caliper", "caliper-check", "long");
        let facts = story.given(Observe {
            check,
            step: "long".into(),
            seen: seen.into(),
            less: less.into(),
            ..Observe::default()
        });
        let both = format!("{seen} − {less}").replace(',', ".");
        assert_eq!(seen_of(&facts), (difference.to_owned(), passes, both));
    }
}

#[test]
fn the_second_reading_is_needed_where_there_is_one_and_only_there() {
    let (story, check) = at_step("CAL", "caliper", "caliper-check", "long");
    let long = Observe { check, step: "long".into(), seen: "200".into(), ..Observe::default() };
    let refused = story.refused(long.clone());
    assert!(refused.starts_with("less: ") || refused.contains("less"), "{refused}");
    let (story, check) = at_step("CAL", "caliper", "caliper-check", "zero");
    let zero = Observe { check, step: "zero".into(), less: "200".into(), ..long };
    assert!(story.refused(zero).contains("has no second reading"));
}

/// What a jar lost is the mass before the run, as it was read there, less that after it; a balance
/// may print either.
#[test]
fn a_leak_is_found_by_two_weighings() {
    for (before, after, lost, passes) in [
        ("5234.1", "5234.1", "0.0", true),
        ("5234.1", "5229.1", "5.0", true),
        ("5.2341 kg", "5229.0", "5.1", false),
    ] {
        let (mut story, check) = at_step("J1", "jar", "jar-inspection", "mass-before");
        let weighed = |step: &str, seen: &str| observed(&check, step, seen);
        story.given(weighed("mass-before", before));
        story.pass_steps_before(&check, "leak");
        let (value, passed, as_read) = seen_of(&story.given(weighed("leak", after)));
        assert_eq!((value.as_str(), passed), (lost, passes), "{as_read}");
        assert_eq!(as_read, format!("5234.1 − {after}"));
    }
}

/// Where the weighing before is corrected, what was lost follows, and with it the pass.
#[test]
fn a_difference_follows_the_earlier_reading_when_that_is_corrected() {
    let (mut story, check) = at_step("J1", "jar", "jar-inspection", "mass-before");
    let weighed = |step: &str, seen: &str| observed(&check, step, seen);
    story.given(weighed("mass-before", "5234.1"));
    story.pass_steps_before(&check, "leak");
    story.given(weighed("leak", "5233.0"));
    assert!(story.lab.checks[check.as_str()].passed());
    let correct = |seen: &str| CorrectObservation {
        check: check.clone(),
        step: "mass-before".into(),
        seen: seen.into(),
        reason: "two digits were swapped".into(),
        ..CorrectObservation::default()
    };
    story.given(correct("5235.1"));
    let leak = |story: &Story| {
        let seen = story.lab.checks[check.as_str()].last_observation("leak").unwrap().clone();
        (seen.value.known().clone(), seen.value.known_as_read().to_owned())
    };
    let number = |text: &str| Seen::Number(text.parse().unwrap());
    assert_eq!(leak(&story), (number("2.1"), "5235.1 − 5233.0".to_owned()));
    assert!(story.lab.checks[check.as_str()].passed());
    story.given(correct("5243.1"));
    assert_eq!(leak(&story), (number("10.1"), "5243.1 − 5233.0".to_owned()));
    assert!(!story.lab.checks[check.as_str()].passed());
}
