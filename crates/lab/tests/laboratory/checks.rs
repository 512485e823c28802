//! Verdicts guarded with an uncertainty, and intervals that the laboratory decides.

use crate::story::Story;
use stonewear_lab::Fact;
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
