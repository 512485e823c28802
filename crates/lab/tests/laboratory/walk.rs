//! The walk from an empty laboratory to a released loss, and the refusals along it.

use crate::story::Story;
use jiff::ToSpan;
use stonewear_lab::fact::{Fact, Standing};
use stonewear_lab::request::*;

#[test]
fn from_nothing_to_a_released_loss() {
    let mut story = Story::equipped();
    let (_, result) = story.loss();
    let facts = story.given(ReleaseResult { result: result.clone(), ..ReleaseResult::default() });
    assert!(
        matches!(&facts[..], [Fact::ResultReleased { loss_percent, .. }] if loss_percent.unwrap().to_string() == "14.8")
    );
    let result = &story.lab.results[result.as_str()];
    assert_eq!(result.release().unwrap().by.as_str(), "AB");
    // WE-8 (derived from the published formula): A = 1500, B = 1278 → 14.8 %.
    let worked = story.lab.loss_of(result).unwrap().worked();
    assert!(worked[1].contains("100 × (1500 − 1278) / 1500 = 14.8 %"), "{worked:?}");
}

#[test]
fn nobody_asks_anything_of_a_laboratory_that_is_not_founded() {
    let story = Story::empty();
    let refused =
        story.refused(AddPerson { code: "EF".into(), name: "Eva Fell".into(), rights: vec![] });
    assert_eq!(
        refused,
        "[laboratory-not-founded] there is no laboratory here yet; found it first, with its name and your own"
    );
}

#[test]
fn founding_names_every_field_that_is_missing() {
    let refused = Story::empty().refused(FoundLaboratory::default());
    for field in ["name: ", "address: ", "founder_code: ", "founder_name: "] {
        assert!(refused.contains(field), "{refused}");
    }
    assert!(
        Story::founded().refused(FoundLaboratory::default()).contains("already the laboratory")
    );
}

#[test]
fn who_may_not_is_told_who_may() {
    let mut story = Story::founded();
    story.by = "CD".into();
    let refused = story.refused(AdoptMethod { method: "astm-d6928".into() });
    assert_eq!(
        refused,
        "[right-missing] by: Cyd Dell may not manage people, equipment and methods; ask AB, or have the right granted"
    );
    story.by = "ZZ".into();
    assert!(
        story
            .refused(AdoptMethod::default())
            .contains("nobody here has the initials ZZ; say who you are: AB and CD")
    );
}

#[test]
fn the_last_manager_stays() {
    let story = Story::founded();
    let refused = story.refused(SetRights {
        person: "AB".into(),
        rights: vec!["test".into()],
        reason: "leaves".into(),
    });
    assert!(refused.contains("Ada Brook is the only one who may manage"), "{refused}");
}

#[test]
fn an_item_enters_service_only_through_its_checks() {
    let mut story = Story::founded();
    story.register("J1", "jar", "");
    let into_service =
        ChangeStanding { item: "J1".into(), standing: "in-service".into(), reason: String::new() };
    assert!(story.refused(into_service.clone()).contains("J1 has not passed the"));
    story.prove("J1");
    assert_eq!(story.lab.items["J1"].standing(), Standing::InService);
    // Held, it must pass again: an old proof is no proof.
    story.given(ChangeStanding {
        item: "J1".into(),
        standing: "held".into(),
        reason: "dropped".into(),
    });
    assert!(story.refused(into_service).contains("since it was held"));
}

#[test]
fn a_step_that_is_not_next_cannot_be_observed() {
    let mut story = Story::founded();
    story.register("MILL", "apparatus", "");
    story.given(StartCheck { item: "MILL".into(), procedure: "function-check".into() });
    let check = story.lab.checks.values().next().unwrap().clone();
    let with_jars = check
        .procedure
        .steps
        .iter()
        .find(|step| step.jars == stonewear_procedure::Jars::In)
        .unwrap();
    let refused = story.refused(Observe {
        check: check.code.to_string(),
        step: with_jars.id.clone(),
        seen: "yes".into(),
        ..Observe::default()
    });
    assert!(
        refused.contains("[step-not-next]") && refused.contains(&check.procedure.steps[0].id),
        "{refused}"
    );
}

#[test]
fn a_failed_step_is_repeated_and_stays_in_the_record() {
    let mut story = Story::founded();
    story.register("MILL", "apparatus", "");
    story.given(StartCheck { item: "MILL".into(), procedure: "function-check".into() });
    let check = story.lab.checks.keys().next().unwrap().clone();
    let first = story.lab.checks[&check].procedure.steps[0].id.clone();
    let seen = |answer: &str| Observe {
        check: check.to_string(),
        step: first.clone(),
        seen: answer.into(),
        ..Observe::default()
    };
    story.given(seen("no"));
    assert_eq!(story.lab.checks[&check].steps_done(), 0);
    story.given(seen("yes"));
    assert_eq!(story.lab.checks[&check].steps_done(), 1);
    assert_eq!(story.lab.checks[&check].observations.len(), 2);
    story.given(GiveUpCheck { check: check.to_string(), reason: "a roller is bent".into() });
    assert_eq!(story.lab.items["MILL"].standing(), Standing::Held);
}

#[test]
fn a_run_on_an_apparatus_that_is_not_in_service_needs_a_reason() {
    let mut story = Story::equipped();
    let sample = story.sample("19.0");
    let specimen = story.specimen(&sample);
    story.given(ChangeStanding {
        item: "MILL".into(),
        standing: "held".into(),
        reason: "noise".into(),
    });
    let mut start = story.start(&specimen);
    let refusal = story.ask(start.clone()).unwrap_err();
    assert!(refusal.excusable());
    assert!(refusal.to_string().contains("MILL is not in service: it is held"));
    start.deviation = "the client agreed to a trial run".into();
    let facts = story.given(start);
    let Fact::RunStarted { deviations, .. } = &facts[0] else { panic!("{facts:?}") };
    assert_eq!(deviations[0].rule, "item-not-in-service");
    assert_eq!(deviations[0].reason, "the client agreed to a trial run");
}

#[test]
fn what_the_method_does_not_allow_is_refused_with_its_limits() {
    let mut story = Story::equipped();
    let sample = story.sample("19.0");
    let specimen = story.specimen(&sample);
    let mut start = story.start(&specimen);
    start.placements[0].charge_g = "5010".into();
    start.placements[0].water_l = "2.2".into();
    start.placements[0].soaked_h = "0.5".into();
    start.water_c = "27".into();
    let refused = story.refused(start);
    for words in [
        "the ball charge is 5010 g; the method wants 4995 to 5005 g",
        "the water is 2.2 L; the method wants 1.95 to 2.05 L",
        "the soak is 0.5 h; the method wants at least 1 h",
        "the water is 27 °C; the method wants 15 to 25 °C",
    ] {
        assert!(refused.contains(words), "{refused}");
    }
}

#[test]
fn water_whose_temperature_nobody_read_is_a_departure() {
    let mut story = Story::equipped();
    let sample = story.sample("19.0");
    let specimen = story.specimen(&sample);
    let mut start = story.start(&specimen);
    start.water_c = " ".into();
    let refused = story.refused(start.clone());
    assert!(refused.contains("the temperature of the water is not recorded"), "{refused}");
    start.deviation = "the thermometer broke".into();
    let facts = story.given(start);
    let Fact::RunStarted { water_c: None, deviations, .. } = &facts[0] else { panic!("{facts:?}") };
    assert_eq!(deviations[0].rule, "water-temperature-missing");
}

#[test]
fn the_count_and_the_speed_are_judged() {
    let mut story = Story::equipped();
    let sample = story.sample("19.0");
    let specimen = story.specimen(&sample);
    story.given(story.start(&specimen));
    let run = story.lab.runs.keys().next().unwrap().to_string();
    let stop = |revolutions: &str, minutes: &str| StopRun {
        run: run.clone(),
        revolutions: revolutions.into(),
        minutes: minutes.into(),
        ..StopRun::default()
    };
    assert!(story.refused(stop("11000", "110")).contains("the method wants 11900 to 12100"));
    assert!(story.refused(stop("12000", "100")).contains("the speed is 120"));
    assert!(story.refused(stop("", "")).contains("a number is missing"));
    story.given(stop("12100", "121"));
}

#[test]
fn jars_that_need_different_counts_are_not_run_together() {
    let mut story = Story::equipped();
    let coarse = story.sample("19.0");
    let first = story.specimen(&coarse);
    let fine = story.sample("9.5");
    story.given(BeginSpecimen {
        sample: fine.clone(),
        method: "astm-d6928".into(),
        grading: "9.5".into(),
        ..BeginSpecimen::default()
    });
    let second = format!("{fine}-1");
    story.given(WeighFractions {
        specimen: second.clone(),
        masses_g: vec!["750".into(), "750".into()],
        ..WeighFractions::default()
    });
    story.given(WeighBefore {
        specimen: second.clone(),
        mass_g: "1500".into(),
        ..WeighBefore::default()
    });
    let mut start = story.start(&first);
    start.placements.push(Placement {
        position: "2".into(),
        specimen: second,
        jar: "J2".into(),
        charge: "B2".into(),
        ..start.placements[0].clone()
    });
    assert!(story.refused(start).contains("one run turns all jars alike"));
}

#[test]
fn one_jar_is_not_in_two_places() {
    let mut story = Story::equipped();
    let sample = story.sample("19.0");
    let (first, second) = (story.specimen(&sample), story.specimen(&sample));
    let mut start = story.start(&first);
    start.placements.push(Placement { specimen: second, ..start.placements[0].clone() });
    let refused = story.refused(start);
    for words in
        ["place only 1 is named twice", "jar J1 is named twice", "charge B1 is named twice"]
    {
        assert!(refused.contains(words), "{refused}");
    }
}

#[test]
fn the_grading_follows_the_nominal_maximum_size() {
    let mut story = Story::equipped();
    let sample = story.sample("12.5");
    let begin = BeginSpecimen {
        sample,
        method: "astm-d6928".into(),
        grading: "19.0".into(),
        ..BeginSpecimen::default()
    };
    assert!(story.refused(begin.clone()).contains("then takes the grading 12.5, not 19.0"));
    story.given(BeginSpecimen { deviation: "the contract names this grading".into(), ..begin });
}

/// 375 + 375 + 760 = 1510 g, outside 1500 ± 5 g: no single fraction has a tolerance, their sum has.
#[test]
fn the_fractions_together_are_judged_with_the_last_of_them() {
    let mut story = Story::equipped();
    let sample = story.sample("19.0");
    let begin = BeginSpecimen {
        sample: sample.clone(),
        method: "astm-d6928".into(),
        ..BeginSpecimen::default()
    };
    story.given(begin);
    let weigh = |masses: [&str; 3]| WeighFractions {
        specimen: format!("{sample}-1"),
        masses_g: masses.map(str::to_owned).to_vec(),
        ..WeighFractions::default()
    };
    story.given(weigh(["375", "375", ""]));
    let refused = story.refused(weigh(["", "", "760"]));
    assert!(
        refused.contains(
            "the mass of all fractions together is 1510 g; the method wants 1495 to 1505 g"
        ),
        "{refused}"
    );
    story.given(weigh(["", "", "750"]));
}

#[test]
fn slips_of_the_hand_are_caught_where_they_happen() {
    let mut story = Story::equipped();
    let sample = story.sample("19.0");
    let specimen = story.specimen(&sample);
    let before = |mass: &str| WeighBefore {
        specimen: specimen.clone(),
        mass_g: mass.into(),
        reason: "weighed again".into(),
        ..WeighBefore::default()
    };
    for (mass, words) in [
        ("", "a number is missing"),
        ("15oo", "“15oo” is not a number"),
        ("1,500", "can mean 1500 or 1,500"),
        ("-1500", "it must be more than 0"),
        ("1500000", "it must be more than 0 and at most 100000 g"),
        ("1512", "the mass before is 1512 g; the method wants 1495 to 1505 g"),
    ] {
        let refused = story.refused(before(mass));
        assert!(refused.contains(words) && refused.contains("mass_g"), "{mass}: {refused}");
    }
    story.run(&specimen);
    let after = |mass: &str| WeighAfter {
        specimen: specimen.clone(),
        mass_g: mass.into(),
        ..WeighAfter::default()
    };
    assert!(story.refused(after("1501")).contains("a specimen cannot gain mass"));
    let other_sieve = WeighAfter { sieve: "S160".into(), ..after("1278") };
    assert!(
        story
            .refused(other_sieve)
            .contains("the opening of S160 is 1.6 mm; the method wants 1.18 mm")
    );
}

#[test]
fn a_recorded_mass_is_replaced_only_with_a_reason_and_the_loss_follows() {
    let mut story = Story::equipped();
    let (specimen, result) = story.loss();
    story.given(ReleaseResult { result: result.clone(), ..ReleaseResult::default() });
    let again = WeighAfter { specimen, mass_g: "1287".into(), ..WeighAfter::default() };
    assert!(story.refused(again.clone()).contains("1278 g is already recorded here"));
    story.given(WeighAfter { reason: "digits were swapped".into(), ..again });
    let result = &story.lab.results[result.as_str()];
    assert_eq!(result.version(), 2);
    assert_eq!(result.current().unwrap().value.loss_percent.unwrap().to_string(), "14.2");
    assert!(result.release().is_none(), "what was released is not released again by itself");
    assert!(result.versions[0].value.release.is_some(), "the former release stays in the record");
}

/// A = 1498 instead of 1500: 100 × (1498 − 1278) / 1498 = 14.6862… %.
#[test]
fn a_mass_before_is_corrected_after_the_run_and_the_loss_follows() {
    let mut story = Story::equipped();
    let (specimen, result) = story.loss();
    let again = WeighBefore { specimen, mass_g: "1498".into(), ..WeighBefore::default() };
    assert!(story.refused(again.clone()).contains("1500 g is already recorded here"));
    let less = WeighBefore { mass_g: "1270".into(), reason: "a slip".into(), ..again.clone() };
    assert!(story.refused(less).contains("is less than the 1278 g after"));
    story.given(WeighBefore { reason: "read off the wrong line".into(), ..again });
    let version = story.lab.results[result.as_str()].current().unwrap();
    assert_eq!(version.value.loss_percent.unwrap().to_string(), "14.7");
    assert_eq!(version.value.reason, "read off the wrong line");
}

#[test]
fn the_end_of_a_run_is_corrected_with_a_reason_and_its_results_are_to_be_released_again() {
    let mut story = Story::equipped();
    let (_, result) = story.loss();
    story.given(ReleaseResult { result: result.clone(), ..ReleaseResult::default() });
    let run = story.lab.runs.keys().next().unwrap().clone();
    let again = StopRun {
        run: run.to_string(),
        revolutions: "12050".into(),
        minutes: "120".into(),
        ..StopRun::default()
    };
    assert!(story.refused(again.clone()).contains("is already recorded; give the reason"));
    story.given(StopRun { reason: "misread by fifty".into(), ..again });
    let run = &story.lab.runs[&run];
    assert_eq!(run.stopped.as_ref().unwrap().value.revolutions.unwrap().to_string(), "12050");
    assert_eq!(run.former_ends[0].value.revolutions.unwrap().to_string(), "12000");
    let result = &story.lab.results[result.as_str()];
    assert_eq!((result.version(), result.release().is_none()), (2, true));
    assert_eq!(result.current().unwrap().value.loss_percent.unwrap().to_string(), "14.8");
}

#[test]
fn a_method_with_two_specimens_waits_for_both() {
    let mut story = Story::equipped();
    let sample = story.sample("14");
    let method = story.lab.method_in_use("en-1097-1");
    assert!(method.is_none());
    let library = stonewear_method::library::built_in_methods();
    let en = stonewear_method::library::find(&library, "en-1097-1").unwrap();
    let grading = en.gradings[0].clone();
    let mut specimens = Vec::new();
    for _ in 0..2 {
        let specimen = story.begin(BeginSpecimen {
            sample: sample.clone(),
            method: "en-1097-1".into(),
            grading: grading.name.clone(),
            deviation: "as the client asked".into(),
            ..BeginSpecimen::default()
        });
        let masses_g =
            grading.fractions.iter().map(|one| one.mass_g.nominal.value.to_string()).collect();
        story.given(WeighFractions {
            specimen: specimen.clone(),
            masses_g,
            ..WeighFractions::default()
        });
        story.given(WeighBefore {
            specimen: specimen.clone(),
            mass_g: "500".into(),
            ..WeighBefore::default()
        });
        let mut start = story.start(&specimen);
        start.placements[0].water_l = "2.50".into();
        story.given(start);
        let run = story.lab.runs.keys().last().unwrap().to_string();
        story.given(StopRun {
            run,
            revolutions: "12000".into(),
            minutes: "120".into(),
            ..StopRun::default()
        });
        specimens.push(specimen);
    }
    // WE-8 (derived): m = 441.5 g is 11.7 %, with 11.7 and 12.1 the mean 11.9 is reported as 12.
    let after = |specimen: &str, mass: &str| WeighAfter {
        specimen: specimen.into(),
        mass_g: mass.into(),
        sieve: "S160".into(),
        ..WeighAfter::default()
    };
    assert_eq!(
        story.given(after(&specimens[0], "441.5")).len(),
        1,
        "one specimen is no result yet"
    );
    let facts = story.given(after(&specimens[1], "439.5"));
    let Some(Fact::ResultWorkedOut { loss_percent, specimens: of, .. }) = facts.get(1) else {
        panic!("{facts:?}")
    };
    assert_eq!((loss_percent.unwrap().to_string().as_str(), of.len()), ("12", 2));
}

#[test]
fn a_result_from_fewer_specimens_is_a_deviation() {
    let mut story = Story::equipped();
    let (specimen, _) = story.loss();
    assert!(
        story
            .refused(WorkOutResult { specimens: vec![specimen], deviation: "none".into() })
            .contains("is already part of")
    );
    assert!(story.refused(WorkOutResult::default()).contains("no specimen is named"));
}

#[test]
fn an_unsure_number_is_confirmed_or_corrected_by_the_laboratory() {
    let mut story = Story::founded();
    story.given(AdoptMethod { method: "astm-d6928".into() });
    let confirm = |value: &str| ConfirmFigure {
        method: "astm-d6928".into(),
        figure: "water.volume_l.tolerance".into(),
        value: value.into(),
        against: "our copy, bought 2019".into(),
        ..ConfirmFigure::default()
    };
    story.given(confirm("0.03"));
    let in_use = story.lab.method_in_use("astm-d6928").unwrap();
    assert_eq!(in_use.method.water.as_ref().unwrap().volume_l.to_string(), "2.0 ± 0.03");
    assert_eq!(in_use.versions.len(), 2);
    assert_eq!(in_use.confirmations[0].by.as_str(), "AB");
    assert!(story.refused(confirm("lots")).contains("value"));
    let unknown = ConfirmFigure { figure: "water.colour".into(), ..confirm("") };
    assert!(!story.refused(unknown).is_empty());
}

#[test]
fn several_numbers_are_compared_in_one_sitting_and_each_keeps_its_own_source() {
    let mut story = Story::founded();
    story.given(AdoptMethod { method: "astm-d6928".into() });
    let one = |figure: &str, same: &str, value: &str, against: &str| ComparedFigure {
        figure: figure.into(),
        same: same.into(),
        value: value.into(),
        against: against.into(),
    };
    let sitting = |more: Vec<ComparedFigure>| ConfirmFigure {
        method: "ASTM D6928-10".into(),
        against: "our copy".into(),
        more,
        ..ConfirmFigure::default()
    };
    let facts = story.given(sitting(vec![
        one("water.volume_l.tolerance", "", "0.03", "our copy, clause 8.2"),
        one("speed_rpm.tolerance", "yes", "", ""),
        one("speed_rpm.nominal", "", "", "not compared"),
    ]));
    assert_eq!(facts.len(), 2, "{facts:?}");
    let in_use = story.lab.method_in_use("astm-d6928").unwrap();
    assert_eq!(in_use.method.water.as_ref().unwrap().volume_l.to_string(), "2.0 ± 0.03");
    let sources: Vec<&str> =
        in_use.confirmations.iter().map(|one| one.value.against.as_str()).collect();
    assert_eq!(sources, ["our copy, clause 8.2", "our copy"]);
    // One that is wrong is named at its own field, and nothing of the sitting is recorded.
    let refused = story
        .ask(sitting(vec![
            one("speed_rpm.tolerance", "yes", "", ""),
            one("water.volume_l.tolerance", "", "lots", ""),
        ]))
        .unwrap_err();
    assert_eq!(refused.problems[0].field, "more.1.value");
    assert!(story.refused(sitting(vec![])).contains("no number is compared"));
}

/// The jars began to turn 121 min ago.
#[test]
fn a_run_does_not_end_before_what_is_read_off_can_have_turned() {
    let mut story = Story::equipped();
    let sample = story.sample("19.0");
    let specimen = story.specimen(&sample);
    story.given(story.start(&specimen));
    let begun = story.lab.runs.values().next().unwrap().started.at;
    let run = story.lab.runs.keys().next().unwrap().to_string();
    let stop = |revolutions: &str, minutes: &str| StopRun {
        run: run.clone(),
        revolutions: revolutions.into(),
        minutes: minutes.into(),
        ..StopRun::default()
    };
    for (later, revolutions, minutes, says) in [
        (0, "12000", "120", "began to turn 0 min ago, and 120 min are read off"),
        (118, "12000", "120", "began to turn 118 min ago, and 120 min are read off"),
        // 12 000 revolutions at 105 rev/min, the fastest that is allowed.
        (60, "12000", "", "so many revolutions take 114 min"),
    ] {
        story.at = begun.checked_add(i64::from(later).minutes()).unwrap();
        let refused = story.refused(stop(revolutions, minutes));
        assert!(refused.contains("[run-not-over]") && refused.contains(says), "{refused}");
    }
    for (later, revolutions, minutes) in [(119, "12000", "120"), (115, "12000", "")] {
        story.at = begun.checked_add(i64::from(later).minutes()).unwrap();
        assert!(story.ask(stop(revolutions, minutes)).is_ok(), "{later}");
    }
    // A run whose beginning was recorded late is said to be one.
    story.at = begun;
    let late = "its beginning was entered from the bench sheet".to_owned();
    let facts = story.given(StopRun { deviation: late.clone(), ..stop("12000", "120") });
    let Fact::RunStopped { deviations, .. } = &facts[0] else { panic!("{facts:?}") };
    assert_eq!(deviations[0].rule, "run-not-over");
    assert_eq!(deviations[0].reason, late);
}

/// 750.1 and 375.2 g in each other's rows: their sum is right, so only the rows can tell.
#[test]
fn a_mass_in_the_wrong_row_is_noticed_although_the_sum_is_right() {
    let mut story = Story::equipped();
    let sample = story.sample("19.0");
    let specimen = story.begin(BeginSpecimen {
        sample,
        method: "astm-d6928".into(),
        ..BeginSpecimen::default()
    });
    let weigh = |masses: [&str; 3], deviation: &str| WeighFractions {
        specimen: specimen.clone(),
        masses_g: masses.map(str::to_owned).to_vec(),
        deviation: deviation.into(),
        ..WeighFractions::default()
    };
    let swapped = ["750.1", "374.9", "375.2"];
    let refused = story.refused(weigh(swapped, ""));
    assert!(
        refused.contains(
            "[fraction-row] masses_g.0: 750.1 g is nearer to the 750 g of 12.5 to 9.5 mm than to \
             the 375 g that are wanted here"
        ),
        "{refused}"
    );
    assert!(refused.contains("[fraction-row] masses_g.2: "), "{refused}");
    story.ask(weigh(swapped, "the client wants this split")).unwrap();
    story.given(weigh(["375.2", "374.9", "750.1"], ""));
}
