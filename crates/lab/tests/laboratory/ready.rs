//! May I test now: ready, until when, or what is missing.

use crate::story::Story;
use jiff::{Timestamp, ToSpan};
use stonewear_lab::ready::Readiness;
use stonewear_lab::request::*;

fn readiness(story: &Story, at: Timestamp) -> Readiness {
    story.lab.readiness(at).into_iter().find(|one| one.apparatus.as_str() == "MILL").unwrap()
}

fn lacks(readiness: &Readiness) -> Vec<String> {
    readiness
        .lacks
        .iter()
        .map(|lack| format!("{}: {}; {}", lack.what, lack.why, lack.mend))
        .collect()
}

/// Equipped, with an oven and the method in use.
fn complete() -> Story {
    let mut story = Story::equipped();
    story.register("OVEN", "oven", "");
    story.prove("OVEN");
    story.given(AdoptMethod { method: "astm-d6928".into() });
    story
}

#[test]
fn ready_until_the_first_proof_runs_out() {
    let story = complete();
    let now = readiness(&story, story.at);
    assert!(now.ready, "{:?}", now.lacks);
    // The oven's proof holds for four months, the shortest of all.
    let until = now.until.unwrap();
    let oven = now.rests_on.iter().find(|holding| holding.item.as_str() == "OVEN").unwrap();
    assert_eq!(oven.until, Some(until));
    let later = readiness(&story, until.checked_add(1.hour()).unwrap());
    assert_eq!(
        lacks(&later),
        [format!(
            "OVEN: its proof ran out on {}; repeat the oven-temperature",
            story.lab.local(until).date()
        )]
    );
}

#[test]
fn what_is_missing_is_named_with_what_mends_it() {
    let mut story = Story::founded();
    story.register("MILL", "apparatus", "");
    story.given(AdoptMethod { method: "astm-d6928".into() });
    let now = readiness(&story, story.at);
    assert!(!now.ready);
    let lacks = lacks(&now);
    assert_eq!(lacks[0], "MILL: it is being proved; pass its checks and put it into service");
    assert!(
        lacks.contains(
            &"ball charge: there is none; register and prove one (ball-charge)".to_owned()
        )
    );
    assert!(
        lacks.contains(
            &"sieve of 1.18 mm: there is none; register and prove one (sieve)".to_owned()
        )
    );
}

#[test]
fn one_good_jar_is_enough_and_a_held_machine_is_not_ready() {
    let mut story = complete();
    story.given(ChangeStanding {
        item: "J2".into(),
        standing: "held".into(),
        reason: "leaks".into(),
    });
    assert!(readiness(&story, story.at).ready);
    story.given(ChangeStanding {
        item: "MILL".into(),
        standing: "held".into(),
        reason: "noise".into(),
    });
    let now = readiness(&story, story.at);
    assert!(!now.ready);
    assert_eq!(lacks(&now), ["MILL: it is held; pass its checks and put it into service"]);
}

/// The proof is asked for again at the instant of use: a run on an expired proof needs a reason.
#[test]
fn starting_a_run_asks_again() {
    let mut story = complete();
    let sample = story.sample("19.0");
    let specimen = story.specimen(&sample);
    story.at = story.at.checked_add((400 * 24).hours()).unwrap();
    let refused = story.refused(story.start(&specimen));
    assert!(
        refused.contains("[proof-run-out] apparatus: the proof of MILL ran out on"),
        "{refused}"
    );
}

/// The jars were inspected 168 to 172 mm high; EN 1097-1 runs in jars of 153 to 155 mm.
#[test]
fn a_jar_that_was_inspected_for_another_method_does_not_make_a_machine_ready() {
    let mut story = complete();
    story.given(AdoptMethod { method: "en-1097-1".into() });
    let of = |story: &Story, method: &str| {
        let mut all = story.lab.readiness(story.at).into_iter();
        all.find(|one| one.method.as_str().starts_with(method)).unwrap()
    };
    assert!(of(&story, "astm-d6928").ready);
    let european = lacks(&of(&story, "en-1097-1@"));
    let wanted = "it was not inspected as a jar of EN 1097-1:2011; pass the inspection of a jar \
                  153 to 155 mm high inside";
    assert!(european.contains(&format!("J1: {wanted}")), "{european:?}");
    let procedure = "jar-inspection-european".to_owned();
    story.given(StartCheck { item: "J1".into(), procedure });
    story.pass_open_check();
    assert!(!lacks(&of(&story, "en-1097-1@")).iter().any(|lack| lack.contains("not inspected")));
    // What J1 is good for now, it was not made for before; J2 still serves the other method.
    assert!(of(&story, "astm-d6928").ready);
}
