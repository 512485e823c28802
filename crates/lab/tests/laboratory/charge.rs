//! The ball charge: what is on record of it, how fast it wears, when it leaves its tolerance.

use crate::story::{Story, TURNING};
use jiff::ToSpan;
use stonewear_lab::Fact;
use stonewear_lab::charge::{Basis, Forecast, ReadFrom, Wear, charge_due};
use stonewear_lab::request::*;

/// One run of a charge of this mass with a stone, `revolutions` long; then a week passes.
fn turn(story: &mut Story, charge: &str, mass_g: &str, stone: &str, revolutions: &str) {
    let facts = story.given(ReceiveSample {
        source: "Invented quarry".into(),
        material: stone.into(),
        nominal_maximum_mm: "19.0".into(),
        ..ReceiveSample::default()
    });
    let Fact::SampleReceived { sample, .. } = &facts[0] else { panic!("{facts:?}") };
    let specimen = story.specimen(sample.as_str());
    let mut start = story.start(&specimen);
    start.placements[0].charge = charge.into();
    start.placements[0].charge_g = mass_g.into();
    start.deviation = "an invented charge".into();
    let facts = story.given(start);
    let Fact::RunStarted { run, .. } = &facts[0] else { panic!("{facts:?}") };
    story.given(StopRun {
        run: run.to_string(),
        revolutions: revolutions.into(),
        deviation: "an invented run".into(),
        ..StopRun::default()
    });
    // A run a week, of which the jars turn two hours.
    story.at = story.at.checked_add((7 * 24 * 60 - TURNING).minutes()).unwrap();
}

/// A story with a charge B9 of which nothing is on record yet.
fn with_new_charge() -> Story {
    let mut story = Story::equipped();
    story.register("B9", "ball-charge", "");
    story
}

fn wear(story: &Story, charge: &str) -> Wear {
    story.lab.wear(&charge.into(), story.at).unwrap()
}

fn change(change: &str, before_g: &str, after_g: &str, balls: &str) -> ChangeCharge {
    ChangeCharge {
        charge: "B9".into(),
        change: change.into(),
        before_g: before_g.into(),
        after_g: after_g.into(),
        balls: balls.into(),
        reason: "worn".into(),
        ..ChangeCharge::default()
    }
}

/// The case `decline_limit_crossing` (invented data, recomputed with numpy and scipy; crossing and
/// Fieller's interval by N. R. Draper and H. Smith, Applied Regression Analysis, 3rd ed., section
/// 3.2): masses at 0, 50, … 350 uses and a limit of 4975 g. Here a use is 240 revolutions, and the
/// masses stand at a quarter of their height above the limit of 4995 g, which moves no crossing.
#[test]
fn a_forecast_agrees_with_the_published_crossing() {
    let mut story = with_new_charge();
    for mass in
        ["5002.775", "5002.225", "5001.8", "5001.1", "5000.725", "5000.05", "4999.65", "4999.025"]
    {
        turn(&mut story, "B9", mass, "dolerite", "12000");
    }
    let wear = wear(&story, "B9");
    assert_eq!(wear.history.turned.to_string(), "96000");
    assert_eq!(wear.tolerance.as_ref().unwrap().limits.to_string(), "4995 to 5005");
    let trend = wear.trend.as_ref().unwrap();
    assert_eq!(trend.basis, Basis::OneStretch);
    let a_use = 0.24;
    assert!((trend.rate - 0.042_619_047_619_046_75 / 4.0 / a_use).abs() < 1e-9);
    let Forecast::Leaves(leaving) = &wear.forecast else { panic!("{:?}", wear.forecast) };
    assert!((leaving.at - 730.502_793_296_080_1 * a_use).abs() < 1e-6, "{}", leaving.at);
    assert!((leaving.within.0 - 703.547_985_037_138_6 * a_use).abs() < 1e-6);
    assert!((leaving.within.1 - 760.224_294_012_634_5 * a_use).abs() < 1e-6);
    // 175.32 less 96 thousand are left, 12 thousand a run: 6.6 runs, 6.07 to 7.2.
    assert_eq!((leaving.runs, leaving.runs_within), (Some(6), Some((6, 7))));
    // 96 thousand in 56 days make 1714 a day: 46.3 days, 42.5 to 50.4.
    let after =
        |days: i64| story.lab.local(story.at.checked_add((days * 24).hours()).unwrap()).date();
    assert_eq!(leaving.day, Some(after(46)));
    assert_eq!(leaving.day_within, (Some(after(42)), Some(after(50))));
    assert_eq!(wear.rate_in_words(), "it loses 0.0444 g ± 0.0022 g in 1,000 revolutions (95 %)");
    let words = wear.forecast_in_words();
    assert!(words.starts_with("it will fall below 4995 g after about 6 more runs (6 to 7), at the present pace around "), "{words}");

    let due = charge_due(&story.lab, story.at);
    assert!(due.iter().all(|one| one.charge.as_str() != "B9"), "it is not in service");
    story.prove("B9");
    let due = charge_due(&story.lab, story.at);
    let of_it = due.iter().find(|one| one.charge.as_str() == "B9").unwrap();
    assert!(of_it.sentence.starts_with("B9: "));
}

#[test]
fn balls_added_begin_a_new_stretch_at_the_same_rate() {
    let mut story = with_new_charge();
    for mass in ["5003.0", "5002.4", "5001.8"] {
        turn(&mut story, "B9", mass, "dolerite", "12000");
    }
    story.given(change("added", "5001.2", "5004.2", "1"));
    for mass in ["5004.2", "5003.6", "5003.0"] {
        turn(&mut story, "B9", mass, "dolerite", "12000");
    }
    let wear = wear(&story, "B9");
    let trend = wear.trend.as_ref().unwrap();
    assert_eq!(trend.basis, Basis::AllStretches { stretches: 2 });
    assert!((trend.rate - 0.05).abs() < 1e-12, "{}", trend.rate);
    // The line of the stretch that it is in now: 5004.2 g at 36 thousand.
    assert!((trend.mass_after(36.0).unwrap().value - 5004.2).abs() < 1e-9);
    let from: Vec<&ReadFrom> = wear.history.readings.iter().map(|one| &one.from).collect();
    assert!(matches!(from[3..5], [ReadFrom::BeforeChange, ReadFrom::AfterChange]), "{from:?}");
    assert_eq!(wear.history.changed_at[0].to_string(), "36000");
    assert_eq!(wear.history.changes[0].value.in_words(), "1 ball added, 5001.2 g to 5004.2 g");
    assert_eq!(wear.history.balls(), None, "nobody counted the first ones");
    story.given(change("renewed", "5002.4", "5004.0", "1432"));
    story.given(change("removed", "5004.0", "5000.5", "1"));
    assert_eq!(story.lab.charge_history(&"B9".into()).unwrap().balls(), Some(1431));
}

/// Before the change it lost 0.6 g a run, after it 0.1 g.
#[test]
fn a_charge_that_wears_otherwise_since_its_change_is_judged_by_what_came_since() {
    let mut story = with_new_charge();
    for mass in ["5004.0", "5003.41", "5002.79", "5002.2"] {
        turn(&mut story, "B9", mass, "dolerite", "12000");
    }
    story.given(change("renewed", "5001.6", "5004.0", ""));
    for mass in ["5004.01", "5003.89", "5003.8", "5003.7"] {
        turn(&mut story, "B9", mass, "dolerite", "12000");
    }
    let wear = wear(&story, "B9");
    let trend = wear.trend.as_ref().unwrap();
    assert!(matches!(trend.basis, Basis::SinceLastChange { .. }), "{:?}", trend.basis);
    assert!((trend.rate - 0.1 / 12.0).abs() < 0.001, "{}", trend.rate);
}

/// Balls that were added within a check, as its procedure says, without a change on record.
#[test]
fn a_mass_mended_within_a_check_is_no_wear() {
    let mut story = with_new_charge();
    for mass in ["4997.0", "4996.4", "4995.8"] {
        turn(&mut story, "B9", mass, "dolerite", "12000");
    }
    let facts = story.given(StartCheck { item: "B9".into(), procedure: "charge-mass".into() });
    let Fact::CheckStarted { check, .. } = &facts[0] else { panic!("{facts:?}") };
    for (step, seen) in [("clean", "yes"), ("mass", "4994.9"), ("clean", "yes"), ("mass", "5002.0")]
    {
        story.given(Observe {
            check: check.to_string(),
            step: step.into(),
            seen: seen.into(),
            ..Observe::default()
        });
    }
    let wear = wear(&story, "B9");
    assert_eq!(wear.history.mended_in, std::slice::from_ref(check));
    assert_eq!(
        wear.history.readings.iter().map(|one| one.segment).collect::<Vec<_>>(),
        [0, 0, 0, 0, 1]
    );
    let rate = wear.trend.unwrap().rate;
    assert!(rate > 0.04, "the balls that came are not taken for a gain: {rate}");
}

/// Dolerite takes 0.05 g and sandstone 0.15 g in a thousand revolutions; the readings are good to a
/// hundredth of a gram.
#[test]
fn kinds_of_stone_have_rates_of_their_own_where_the_readings_tell() {
    let mut story = with_new_charge();
    let mut mass = 500_400_i64;
    let stones =
        ["dolerite", "sandstone", "Dolerite ", "sandstone", "sandstone", "dolerite", "dolerite"];
    for (n, stone) in stones.into_iter().enumerate() {
        let off = [1, -1, 0][n % 3];
        let shown = mass + off;
        turn(&mut story, "B9", &format!("{}.{:02}", shown / 100, shown % 100), stone, "12000");
        mass -= if stone == "sandstone" { 180 } else { 60 };
    }
    story.given(change("added", &format!("{}.{:02}", mass / 100, mass % 100), "5004", "2"));
    let stones = wear(&story, "B9").stones();
    let of = |kind: &str| stones.kinds.iter().find(|one| one.kind == kind).unwrap();
    assert_eq!((of("dolerite").runs, of("sandstone").runs), (4, 3));
    for (kind, rate) in [("dolerite", 0.05), ("sandstone", 0.15)] {
        let found = of(kind);
        assert!((found.rate.clone().unwrap() - rate).abs() < 0.002, "{found:?}");
        let interval = found.interval.unwrap();
        assert!(interval.lower < rate && rate < interval.upper, "{found:?}");
    }
    assert!(stones.test.unwrap().p < 0.001);
    assert!(stones.verdict.starts_with("the kinds of stone wear the charge at different rates"));
}

#[test]
fn what_the_readings_do_not_tell_is_said() {
    let mut story = with_new_charge();
    assert!(matches!(wear(&story, "B9").forecast, Forecast::Unknown { .. }));
    assert_eq!(wear(&story, "B9").stones().verdict, "the charge has not turned yet");
    for mass in ["5001.0", "5001.4", "5000.9", "5001.2"] {
        turn(&mut story, "B9", mass, "dolerite", "12000");
    }
    let level = wear(&story, "B9");
    let Forecast::Unknown { why } = &level.forecast else { panic!("{:?}", level.forecast) };
    assert!(why.contains("not change by more than its readings scatter"), "{why}");
    assert_eq!(level.stones().verdict, "all runs were with one kind of stone, dolerite");
    // The only run with another stone has no reading after it.
    turn(&mut story, "B9", "5001.1", "sandstone", "12000");
    let verdict = wear(&story, "B9").stones().verdict;
    assert!(verdict.starts_with("the readings do not separate the kinds of stone"), "{verdict}");
    turn(&mut story, "B9", "4994.0", "dolerite", "12000");
    let outside = wear(&story, "B9");
    assert!(matches!(outside.forecast, Forecast::Outside { .. }));
    assert_eq!(outside.forecast_in_words(), "it weighs 4994.0 g, outside of 4995 to 5005 g, now");
}

#[test]
fn readiness_warns_before_a_charge_leaves_its_tolerance() {
    let mut story = Story::equipped();
    // B1 was proved at 4995 g; it gets new balls and wears fast.
    story
        .given(ChangeCharge { charge: "B1".into(), ..change("renewed", "4995", "5004.6", "1430") });
    for mass in ["5004.5", "5003.4", "5002.5"] {
        turn(&mut story, "B1", mass, "dolerite", "12000");
    }
    let ready = |story: &Story| story.lab.readiness(story.at).remove(0);
    let warnings = ready(&story).warnings;
    assert_eq!(warnings.len(), 1, "{warnings:?}");
    assert_eq!(warnings[0].what, "B1");
    assert!(warnings[0].why.starts_with("it will fall below 4995 g after about "), "{warnings:?}");
    let lacks = ready(&story).lacks;
    assert!(lacks.iter().all(|lack| lack.what != "B1"), "a warning is no lack: {lacks:?}");
    // A charge that nobody runs down is not warned of.
    assert!(warnings.iter().all(|one| one.what != "B2"));
}

#[test]
fn a_change_that_cannot_be_is_refused() {
    let mut story = with_new_charge();
    turn(&mut story, "B9", "5000", "dolerite", "12000");
    for (request, says) in [
        (
            change("added", "5000", "4999", ""),
            "after_g: with balls added the charge cannot weigh 4999 g after 5000 g",
        ),
        (
            change("removed", "5000", "5000", ""),
            "after_g: with balls removed the charge cannot weigh 5000 g after 5000 g",
        ),
        (
            change("lost", "5000", "5001", ""),
            "change: “lost” does not say what was done; write added, removed or renewed",
        ),
        (change("added", "5000", "5001", "two"), "balls: “two” is not a number of balls"),
        (change("added", "0", "5001", ""), "before_g: 0 g cannot be"),
        (
            change("added", "5000", "5006", ""),
            "after_g: the ball charge is 5006 g; the method wants 4995 to 5005 g",
        ),
        (
            ChangeCharge { charge: "J1".into(), ..change("added", "1", "2", "") },
            "charge: J1 is a jar, not a ball charge; known: B1, B2 and B9",
        ),
        (
            ChangeCharge { reason: String::new(), ..change("added", "5000", "5001", "") },
            "reason: the reason is missing",
        ),
    ] {
        let refused = story.refused(request);
        assert!(refused.contains(says), "{refused}");
    }
    // With a reason a charge of another mass may stay.
    let facts = story.given(ChangeCharge {
        deviation: "for an experiment".into(),
        ..change("added", "5000", "5200", "57")
    });
    let Fact::ChargeChanged(changed) = &facts[0] else { panic!("{facts:?}") };
    assert_eq!(changed.deviations.len(), 1);
    // While it turns it cannot be changed.
    let sample = story.sample("19.0");
    let specimen = story.specimen(&sample);
    let mut start = story.start(&specimen);
    start.placements[0].charge = "B9".into();
    start.deviation = "not proved".into();
    story.given(start);
    let refused = story.refused(change("added", "5000", "5001", ""));
    assert!(refused.contains("[charge-in-use]"), "{refused}");
}

/// Timed runs turn their minutes at the speed of the method; counted ones what was counted.
#[test]
fn a_jar_remembers_what_it_turned_and_how_wide_it_was() {
    let mut story = Story::equipped();
    let (_, _) = story.loss();
    let sample = story.sample("19.0");
    let specimen = story.specimen(&sample);
    story.register("TIMER", "apparatus without a counter", "");
    story.prove("TIMER");
    let mut start = story.start(&specimen);
    start.apparatus = "TIMER".into();
    start.ended_by = "time".into();
    let facts = story.given(start);
    let Fact::RunStarted { run, .. } = &facts[0] else { panic!("{facts:?}") };
    story.given(StopRun { run: run.to_string(), minutes: "119.5".into(), ..StopRun::default() });
    let used = story.lab.jar_use(&"J1".into()).unwrap();
    assert_eq!((used.runs, used.not_counted), (2, 1));
    assert_eq!(used.turned.to_string(), "23950.0");
    assert_eq!(used.bore.len(), 2);
    assert_eq!(used.bore[0].turned.to_string(), "0");
    assert_eq!(story.lab.jar_use(&"J2".into()).unwrap().runs, 0);
    assert_eq!(story.lab.jar_use(&"B1".into()), None);
}

/// 7 of 50 below the nominal size; of 50 that are tried, 0.058 to 0.267 by Clopper and Pearson.
#[test]
fn worn_balls_are_a_share_with_its_interval() {
    let mut story = Story::equipped();
    let facts = story.given(StartCheck { item: "B1".into(), procedure: "ball-size".into() });
    let Fact::CheckStarted { check, .. } = &facts[0] else { panic!("{facts:?}") };
    for (step, seen) in [("sample", "50"), ("too-small", "0"), ("too-large", "0"), ("worn", "7")] {
        story.given(Observe {
            check: check.to_string(),
            step: step.into(),
            seen: seen.into(),
            ..Observe::default()
        });
    }
    let worn = story.lab.worn_shares(&"B1".into());
    assert_eq!((worn[0].tried, worn[0].worn, worn[0].too_small), (50, 7, Some(0)));
    assert!((worn[0].percent - 14.0).abs() < 1e-12);
    assert!((worn[0].interval.lower - 5.8).abs() < 0.1, "{:?}", worn[0].interval);
    assert!((worn[0].interval.upper - 26.7).abs() < 0.1, "{:?}", worn[0].interval);
}
