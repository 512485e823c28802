//! Which results a failed check puts in doubt, and by how much: beside hand calculations, written out.

use crate::story::Story;
use stonewear_lab::doubt::{Doubtful, Effect};
use stonewear_lab::request::*;
use stonewear_lab::{Fact, ItemCode};
use stonewear_measure::Decimal;

fn doubtful(story: &Story, item: &str, attribute: &str, found: &str) -> Vec<Doubtful> {
    let found = Some(found.parse::<Decimal>().unwrap());
    story.lab.doubt(&ItemCode::from(item), attribute, found, None).unwrap().results
}

fn would_be(doubtful: &Doubtful) -> (String, String) {
    match &doubtful.effect {
        Effect::Moves { would_be_percent, would_be_unrounded, .. } => {
            (would_be_percent.to_string(), would_be_unrounded.clone())
        }
        other => panic!("{other:?}"),
    }
}

/// The balance reads 1.5 g too much: 1500 g and 1278 g were 1498.5 g and 1276.5 g. The loss is
/// 100 × (1498.5 − 1276.5) / 1498.5 = 22200 / 1498.5 = 14.814814… %, reported 14.8 % as before.
#[test]
fn a_balance_found_heavy() {
    let mut story = Story::equipped();
    let (_, result) = story.loss();
    let all = doubtful(&story, "BAL", "indication", "1.5");
    assert_eq!(all.len(), 1);
    assert_eq!(all[0].result.as_str(), result);
    assert_eq!(would_be(&all[0]), ("14.8".to_owned(), "14.814814814814".to_owned()));
    assert_eq!(all[0].decision_flips, Some(false));
}

/// An error of 150 g would make 100 × 222 / 1350 = 16.444… % of it, one of −330 g
/// 100 × 222 / 1830 = 12.131… %.
#[test]
fn the_error_goes_both_ways() {
    let mut story = Story::equipped();
    story.loss();
    assert_eq!(would_be(&doubtful(&story, "BAL", "indication", "150")[0]).0, "16.4");
    assert_eq!(would_be(&doubtful(&story, "BAL", "indication", "-330")[0]).0, "12.1");
}

/// 222 g of 1233 g would be 18.004… %: reported 18.0 %, the limit "18" is met. Of 1227 g it would be
/// 18.092… %, reported 18.1 %, and the decision is the other one.
#[test]
fn a_decision_that_would_be_the_other_one_is_said() {
    let mut story = Story::equipped();
    story.loss();
    let met = &doubtful(&story, "BAL", "indication", "267")[0];
    assert_eq!((would_be(met).0.as_str(), met.decision_flips), ("18.0", Some(false)));
    let missed = &doubtful(&story, "BAL", "indication", "273")[0];
    assert_eq!((would_be(missed).0.as_str(), missed.decision_flips), ("18.1", Some(true)));
}

/// The timer is 3 % slow: when it shows 120 min, 120 / 0.97 = 123.711… min have passed, and the jars
/// have turned 12 371 times instead of 12 000. With the loss proportional to revolutions (derived, not
/// published) it would have been 14.8 × 0.97 = 14.356 %, reported 14.4 %.
#[test]
fn a_slow_timer_on_a_machine_run_by_time() {
    let mut story = Story::equipped();
    let sample = story.sample("19.0");
    let specimen = story.specimen(&sample);
    story.register("OLD", "apparatus without a counter", "");
    story.prove("OLD");
    let mut start = story.start(&specimen);
    start.apparatus = "OLD".into();
    start.ended_by = "time".into();
    story.given(start);
    let run = story.lab.runs.keys().last().unwrap().to_string();
    story.given(StopRun { run, minutes: "120".into(), ..StopRun::default() });
    story.given(WeighAfter { specimen, mass_g: "1278".into(), ..WeighAfter::default() });
    let slow = &doubtful(&story, "OLD", "timer", "3")[0];
    assert_eq!(would_be(slow), ("14.4".to_owned(), "14.356".to_owned()));
    // Turning at 103 instead of 100: 12 360 revolutions, 14.8 × 12 000 / 12 360 = 14.3689… %.
    let fast = &doubtful(&story, "OLD", "speed", "103")[0];
    assert_eq!(would_be(fast), ("14.4".to_owned(), "14.368932038834".to_owned()));
}

#[test]
fn a_run_whose_count_was_read_does_not_mind_its_timer() {
    let mut story = Story::equipped();
    story.loss();
    let all = doubtful(&story, "MILL", "timer", "3");
    assert!(matches!(all[0].effect, Effect::Untouched { .. }), "{:?}", all[0].effect);
    // Its counter, 2 % low, it does: 14.8 × 0.98 = 14.504 %.
    assert_eq!(would_be(&doubtful(&story, "MILL", "counter", "2")[0]).1, "14.504");
}

#[test]
fn what_nobody_has_published_is_said_to_be_unknown() {
    let mut story = Story::equipped();
    story.loss();
    let all = doubtful(&story, "B1", "mass", "4900");
    assert!(matches!(all[0].effect, Effect::NotKnown { .. }));
    assert_eq!(all[0].decision_flips, None);
}

#[test]
fn only_what_was_used_since_the_last_proof_is_in_doubt() {
    let mut story = Story::equipped();
    let (_, first) = story.loss();
    story.given(StartCheck { item: "BAL".into(), procedure: "balance-check".into() });
    story.pass_open_check();
    let (_, second) = story.loss();
    let codes: Vec<String> = doubtful(&story, "BAL", "indication", "1.5")
        .iter()
        .map(|one| one.result.to_string())
        .collect();
    assert_eq!(codes, std::slice::from_ref(&second));
    // Asked since the beginning, both.
    let since = Some(story.recorded[0].at);
    let answer = story.lab.doubt(&ItemCode::from("BAL"), "indication", None, since).unwrap();
    let codes: Vec<String> = answer.results.iter().map(|one| one.result.to_string()).collect();
    assert_eq!(codes, [first, second]);
}

#[test]
fn a_doubt_marks_its_results_until_each_is_dealt_with() {
    let mut story = Story::equipped();
    let (_, result) = story.loss();
    let open = OpenDoubt {
        item: "BAL".into(),
        attribute: "indication".into(),
        found: "1.5".into(),
        since: String::new(),
        reason: "found heavy".into(),
    };
    let facts = story.given(open.clone());
    let Fact::DoubtOpened { doubt, results, .. } = &facts[0] else { panic!("{facts:?}") };
    assert_eq!(results[0].as_str(), result);
    let code = results[0].clone();
    assert!(story.lab.doubts_of(&code).any(|doubt| doubt.is_open_for(&code)));
    let close = CloseDoubt {
        doubt: doubt.to_string(),
        result: result.clone(),
        reason: "less than a digit".into(),
    };
    story.by = "CD".into();
    assert!(story.refused(close.clone()).contains("may not release results"));
    story.by = "AB".into();
    story.given(close.clone());
    assert!(!story.lab.doubts_of(&code).any(|doubt| doubt.is_open_for(&code)));
    assert!(story.refused(close).contains("already dealt with"));
    let odd = OpenDoubt { attribute: "colour".into(), ..open };
    assert!(
        story
            .refused(odd)
            .contains("no check proves “colour” of a balance; known: indication and repeatability")
    );
}

fn experiment(condition: &str, percent: &str) -> RecordSensitivity {
    RecordSensitivity {
        condition: condition.into(),
        method: "astm-d6928".into(),
        percent_of_loss: percent.into(),
        uncertainty: "0.3".into(),
        experiment: "invented report X-4".into(),
    }
}

/// The charge weighed 4 900.49 g instead of 5 000.5 g, and the laboratory's own experiment says
/// 0.8 % of the loss per 1 % of charge. 5 000.5 / 4 900.49 = 1.020408…, 2.0408… % more; the loss
/// would have been 14.8 × (1 + 0.8 × 0.0204081…) = 14.8 × 1.0163265… = 15.0416… %, reported 15.0.
#[test]
fn an_experiment_of_the_laboratory_says_what_a_light_charge_does() {
    let mut story = Story::equipped();
    story.loss();
    story.given(experiment("charge", "0.8"));
    let all = doubtful(&story, "B1", "mass", "4900.49");
    assert_eq!(would_be(&all[0]), ("15.0".to_owned(), "15.041632653061".to_owned()));
    let Effect::Moves { basis, .. } = &all[0].effect else { panic!("{all:?}") };
    assert!(basis.contains("0.8 ± 0.3 (k = 2) % of the loss per 1 % more charge"), "{basis}");
    assert_eq!(all[0].decision_flips, Some(false));
}

/// Counter 2 % low: the jars turned 12 000 / 0.98. With the derived proportionality the loss would
/// be 14.8 × 0.98 = 14.504 %; with 0.5 % of the loss per 1 %: 14.8 × (1 − 0.5 × 0.02) = 14.652 %.
#[test]
fn an_experiment_of_the_laboratory_comes_before_the_derived_figure() {
    let mut story = Story::equipped();
    story.loss();
    assert_eq!(would_be(&doubtful(&story, "MILL", "counter", "2")[0]).1, "14.504");
    story.given(experiment("revolutions", "0.5"));
    assert_eq!(would_be(&doubtful(&story, "MILL", "counter", "2")[0]).1, "14.652");
}

/// The thermometer shows 4 °C too much, so the water was at 16, not at 20 °C; with 0.25 % of the
/// loss per °C it would have been 14.8 × (1 + 0.25 × 4 / 100) = 14.948 % at 20 °C.
#[test]
fn a_thermometer_found_wrong() {
    let mut story = Story::equipped();
    story.register("TH", "thermometer", "");
    story.prove("TH");
    story.loss();
    assert!(matches!(doubtful(&story, "TH", "indication", "4")[0].effect, Effect::NotKnown { .. }));
    story.given(experiment("water-temperature", "0.25"));
    assert_eq!(would_be(&doubtful(&story, "TH", "indication", "4")[0]).1, "14.948");
}

#[test]
fn an_experiment_is_named_and_of_a_known_condition() {
    let mut story = Story::equipped();
    story.loss();
    let wrong = RecordSensitivity { experiment: String::new(), ..experiment("moon", "1") };
    let refused = story.refused(wrong);
    assert!(
        refused.contains("known: revolutions, charge, water-temperature and water-volume"),
        "{refused}"
    );
    assert!(refused.contains("experiment: the record of the experiment is missing"), "{refused}");
}

/// Many procedures prove the mass of a ball charge; it is one thing that can be in doubt.
#[test]
fn what_can_be_in_doubt_is_named_once() {
    let mut story = Story::equipped();
    story.loss();
    let open = OpenDoubt {
        item: "B1".into(),
        attribute: "colour".into(),
        reason: "looks odd".into(),
        ..OpenDoubt::default()
    };
    let refused = story.refused(open);
    assert!(refused.contains("known: mass, ball size and ball mass"), "{refused}");
}
