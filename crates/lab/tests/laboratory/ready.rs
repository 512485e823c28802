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
