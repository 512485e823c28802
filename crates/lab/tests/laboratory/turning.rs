//! Soaking, drying to constant mass, and runs that are interrupted.

use crate::story::Story;
use jiff::ToSpan;
use stonewear_lab::Fact;
use stonewear_lab::request::*;

fn later(story: &mut Story, minutes: i64) {
    story.at = story.at.checked_add(minutes.minutes()).unwrap();
}

fn begun(story: &mut Story, specimen: &str) -> String {
    let start = story.start(specimen);
    let facts = story.given(start);
    let Fact::RunStarted { run, .. } = &facts[0] else { panic!("{facts:?}") };
    run.to_string()
}

/// At 4 310 revolutions after 43 min.
fn power_cut(run: &str) -> InterruptRun {
    InterruptRun {
        run: run.into(),
        revolutions: "4310".into(),
        minutes: "43".into(),
        reason: "power cut".into(),
    }
}

fn stop(run: &str, revolutions: &str, minutes: &str) -> StopRun {
    StopRun {
        run: run.into(),
        revolutions: revolutions.into(),
        minutes: minutes.into(),
        ..StopRun::default()
    }
}

/// 4 310 revolutions, a power cut that loses the count, then 7 690: 12 000 in all, in 43 + 77 min.
#[test]
fn what_turned_before_and_after_an_interruption_adds_up() {
    let mut story = Story::equipped();
    let sample = story.sample("19.0");
    let specimen = story.specimen(&sample);
    let run = begun(&mut story, &specimen);
    story.given(power_cut(&run));
    assert!(story.lab.runs[run.as_str()].is_interrupted());
    assert_eq!(story.lab.runs[run.as_str()].turning_since(), None);
    story.given(ResumeRun { run: run.clone(), counter: String::new() });
    assert!(!story.lab.runs[run.as_str()].is_interrupted());
    // The last turning alone is judged with what went before it.
    let refused = story.refused(stop(&run, "12000", "120"));
    assert!(refused.contains("the count is 16310 revolutions"), "{refused}");
    story.given(stop(&run, "7690", "77"));
    let in_all = story.lab.runs[run.as_str()].in_all().unwrap();
    assert_eq!(in_all.revolutions.unwrap().to_string(), "12000");
    assert_eq!(in_all.minutes.unwrap().to_string(), "120");
    assert_eq!(in_all.rpm().unwrap().to_string(), "100");
}

/// A counter that keeps its count over the pause is read where it goes on.
#[test]
fn a_counter_that_goes_on_is_not_counted_twice() {
    let mut story = Story::equipped();
    let sample = story.sample("19.0");
    let specimen = story.specimen(&sample);
    let run = begun(&mut story, &specimen);
    story.given(power_cut(&run));
    story.given(ResumeRun { run: run.clone(), counter: "4310".into() });
    let less = story.refused(stop(&run, "4000", "77"));
    assert!(less.contains("the counter showed 4310"), "{less}");
    story.given(stop(&run, "12002", "77"));
    let in_all = story.lab.runs[run.as_str()].in_all().unwrap();
    assert_eq!(in_all.revolutions.unwrap().to_string(), "12002");
}

#[test]
fn a_run_given_up_where_it_was_interrupted_counts_what_it_turned() {
    let mut story = Story::equipped();
    let sample = story.sample("19.0");
    let specimen = story.specimen(&sample);
    let run = begun(&mut story, &specimen);
    story.given(power_cut(&run));
    assert!(story.refused(power_cut(&run)).contains("is already interrupted"));
    assert!(story.refused(stop(&run, "", "")).contains("the count is 4310"));
    story.given(StopRun { deviation: "the mill is broken".into(), ..stop(&run, "", "") });
    assert_eq!(
        story.lab.runs[run.as_str()].in_all().unwrap().revolutions.unwrap().to_string(),
        "4310"
    );
    let over = story.refused(ResumeRun { run, ..ResumeRun::default() });
    assert!(over.contains("has ended"), "{over}");
}

/// The method wants 1 h; the clock of the soak says 0.5 h, then 1.02 h.
#[test]
fn the_soak_is_read_off_its_clock() {
    let mut story = Story::equipped();
    let sample = story.sample("19.0");
    let specimen = story.specimen(&sample);
    story.given(StartSoak { specimen: specimen.clone() });
    assert!(story.refused(StartSoak { specimen: specimen.clone() }).contains("lies in its water"));
    later(&mut story, 30);
    let mut start = story.start(&specimen);
    start.placements[0].soaked_h = String::new();
    let refused = story.refused(start.clone());
    assert!(refused.contains("[soak-too-short]") && refused.contains("0.5"), "{refused}");
    later(&mut story, 31);
    let facts = story.given(start);
    let Fact::RunStarted { placed, .. } = &facts[0] else { panic!("{facts:?}") };
    assert_eq!(placed[0].soaked_h.unwrap().to_string(), "1.01");
}

/// Constant is 0.1 % at most in 2 h: 1502.0 → 1500.4 g lost 0.1066… %, 1500.4 → 1500.0 g 0.0266… %.
#[test]
fn a_mass_counts_once_it_is_constant() {
    let mut story = Story::equipped();
    let sample = story.sample("19.0");
    let specimen = story.begin(BeginSpecimen {
        sample,
        method: "astm-d6928".into(),
        ..BeginSpecimen::default()
    });
    story.given(WeighFractions {
        specimen: specimen.clone(),
        masses_g: vec!["375.2".into(), "374.9".into(), "750.1".into()],
        ..WeighFractions::default()
    });
    let drying = |mass: &str| WeighDrying {
        specimen: specimen.clone(),
        mass_g: mass.into(),
        ..WeighDrying::default()
    };
    let before = |mass: &str| WeighBefore {
        specimen: specimen.clone(),
        mass_g: mass.into(),
        ..WeighBefore::default()
    };
    story.given(drying("1502.0"));
    later(&mut story, 120);
    let refused = story.refused(before("1500.4"));
    assert!(refused.contains("it lost 0.106 % since the last weighing"), "{refused}");
    story.given(drying("1500.4"));
    assert!(story.refused(drying("1503")).contains("cannot gain mass"));
    later(&mut story, 60);
    let refused = story.refused(before("1500.0"));
    assert!(refused.contains("60 min apart; the method wants 120 min"), "{refused}");
    later(&mut story, 60);
    story.given(drying("1500.0"));
    // Nothing typed: the last of a series that is constant.
    let facts = story.given(before(""));
    let Fact::MassWeighed { mass_g, .. } = &facts[0] else { panic!("{facts:?}") };
    assert_eq!(mass_g.to_string(), "1500.0");
}

#[test]
fn evidence_names_oven_guard_sieve_and_thermometer() {
    let mut story = Story::equipped();
    for (code, kind, opening) in
        [("OV", "oven", ""), ("S475", "sieve", "4.75"), ("TH", "thermometer", "")]
    {
        story.register(code, kind, opening);
        story.prove(code);
    }
    let (_, result) = story.loss();
    let links = story.lab.evidence(&story.lab.results[result.as_str()]);
    let roles: Vec<(&str, &str)> =
        links.iter().map(|link| (link.role.as_str(), link.code.as_str())).collect();
    for wanted in [("oven", "OV"), ("guard sieve", "S475"), ("thermometer", "TH")] {
        assert!(roles.contains(&wanted), "{wanted:?} in {roles:?}");
    }
}

/// Who paused the run, dried or soaked the specimen had it in hand, so they do not release it where
/// another person has to.
#[test]
fn who_dried_soaked_or_paused_has_tested() {
    for hand in ["dried", "soaked", "paused", "resumed"] {
        let mut story = Story::equipped();
        let rights = vec!["test".into(), "release".into()];
        story.given(AddPerson { code: "EF".into(), name: "Eva Fell".into(), rights });
        let does = |story: &mut Story, what: &str, request: stonewear_lab::Request| {
            let by = if what == hand { "EF" } else { "AB" };
            let former = std::mem::replace(&mut story.by, by.to_owned());
            story.given(request);
            story.by = former;
        };
        let sample = story.sample("19.0");
        let specimen = story.specimen(&sample);
        let drying = WeighDrying {
            specimen: specimen.clone(),
            mass_g: "1500".into(),
            ..WeighDrying::default()
        };
        does(&mut story, "dried", drying.into());
        does(&mut story, "soaked", StartSoak { specimen: specimen.clone() }.into());
        let run = begun(&mut story, &specimen);
        does(&mut story, "paused", power_cut(&run).into());
        does(&mut story, "resumed", ResumeRun { run: run.clone(), ..ResumeRun::default() }.into());
        story.given(stop(&run, "7690", "77"));
        story.given(WeighAfter { specimen, mass_g: "1278".into(), ..WeighAfter::default() });
        let result = story.lab.results.values().next().unwrap();
        let testers = story.lab.testers(result);
        assert!(testers.iter().any(|one| one.as_str() == "EF"), "{hand}: {testers:?}");
    }
}

/// A start and an end that both waited on a tablet arrive at once. What the tablet's clock says between
/// them counts; a clock that is ahead of the laboratory's is not believed.
#[test]
fn a_run_whose_entries_waited_is_told_by_the_clock_of_the_tablet() {
    for (began_before, ended_before, is_over) in [
        (Some(130), Some(5), true),
        (Some(130), Some(20), false),
        (Some(130), None, true),
        (Some(60), Some(5), false),
        (None, Some(5), false),
        (Some(-130), Some(5), false),
    ] {
        let mut story = Story::equipped();
        let sample = story.sample("19.0");
        let specimen = story.specimen(&sample);
        let minutes = |minutes: i64| story.at.checked_sub(minutes.minutes()).unwrap();
        let (began, ended) = (began_before.map(minutes), ended_before.map(minutes));
        let start = story.start(&specimen);
        let facts = story.late(began, start).unwrap();
        let Fact::RunStarted { run, made, .. } = &facts[0] else { panic!("{facts:?}") };
        assert_eq!(*made, began);
        let known = &story.lab.runs[run.as_str()];
        assert_eq!(known.turning_from, began.unwrap_or(known.started.at).min(known.started.at));
        let (run, end) = (run.to_string(), stop(&run.to_string(), "12002", "120"));
        let refused = story.late(ended, end).map_err(|refusal| format!("{refusal:?}"));
        assert_eq!(refused.is_ok(), is_over, "{run} {began_before:?} {ended_before:?}");
        if let Err(words) = refused {
            assert!(words.contains("run-not-over"), "{words}");
        }
    }
}

#[test]
fn a_soak_whose_entry_waited_is_told_by_the_clock_of_the_tablet() {
    let mut story = Story::equipped();
    let sample = story.sample("19.0");
    let specimen = story.specimen(&sample);
    let made = |story: &Story, minutes: i64| story.at.checked_sub(minutes.minutes()).ok();
    let began = made(&story, 90);
    story.late(began, StartSoak { specimen: specimen.clone() }).unwrap();
    let mut start = story.start(&specimen);
    start.placements[0].soaked_h = String::new();
    // Laid in water 90 minutes before it was entered; taken out 20 minutes before that arrived.
    let ended = made(&story, 20);
    let facts = story.late(ended, start).unwrap();
    let Fact::RunStarted { placed, .. } = &facts[0] else { panic!("{facts:?}") };
    assert_eq!(placed[0].soaked_h.unwrap().to_string(), "1.18");
}
