//! The companion tests, each walked by requests alone on a laboratory that has nothing but its
//! equipment: the drum, the cycles of soundness, density and absorption.

use crate::story::Story;
use stonewear_lab::evidence::{LinkKind, Proof};
use stonewear_lab::fact::Fact;
use stonewear_lab::next::Next;
use stonewear_lab::request::*;
use stonewear_lab::{Lab, Recorded, Request};

/// Everything that the three tests need is in service.
fn equipped() -> Story {
    let mut story = Story::founded();
    for (code, kind, opening) in [
        ("BAL", "balance", ""),
        ("S170", "sieve", "1.70"),
        ("DRUM", "drum", ""),
        ("SPHERES", "ball-charge", ""),
        ("BATH", "bath", ""),
    ] {
        story.register(code, kind, opening);
        story.prove(code);
    }
    story
}

fn begin(story: &mut Story, sample: &str, method: &str, grading: &str) -> String {
    story.begin(BeginSpecimen {
        sample: sample.into(),
        method: method.into(),
        grading: grading.into(),
        ..BeginSpecimen::default()
    })
}

fn reading(specimen: &str, name: &str, values: &[&str]) -> TakeReading {
    TakeReading {
        specimen: specimen.into(),
        reading: name.into(),
        values: values.iter().map(|value| (*value).to_owned()).collect(),
        ..TakeReading::default()
    }
}

fn because(request: TakeReading, reason: &str) -> TakeReading {
    TakeReading { reason: reason.into(), ..request }
}

fn fractions(specimen: &str, masses: &[&str]) -> WeighFractions {
    WeighFractions {
        specimen: specimen.into(),
        masses_g: masses.iter().map(|mass| (*mass).to_owned()).collect(),
        ..WeighFractions::default()
    }
}

/// What a result gives now: `25 %, uniformity …`.
fn found(story: &Story, specimen: &str) -> String {
    let code = story.lab.specimens[specimen].code.clone();
    let result = story.lab.result_of(&code).unwrap();
    let recorded = &result.current().unwrap().value;
    // What is recorded is what is worked out again from the readings alone.
    let worked = story.lab.outcome_of(result).unwrap();
    let again: Vec<String> = worked.iter().map(|one| one.value.to_string()).collect();
    let loss = recorded.loss_percent.map(|loss| loss.to_string());
    let beside = recorded.properties.iter().map(|one| one.value.to_string());
    assert_eq!(loss.into_iter().chain(beside).collect::<Vec<_>>(), again);
    again.join(", ")
}

fn next_reading(story: &Story, specimen: &str) -> String {
    match story.lab.next_of(&story.lab.specimens[specimen]) {
        Some(Next::TakeReading { reading, .. }) => reading,
        other => format!("{other:?}"),
    }
}

/// Whatever was recorded replays to the same laboratory.
fn replays(story: &Story) {
    let mut lab = Lab::new();
    for recorded in &story.recorded {
        let text = serde_json::to_string(&recorded.fact).unwrap();
        lab.apply(&Recorded { fact: serde_json::from_str(&text).unwrap(), ..recorded.clone() });
    }
    assert_eq!(serde_json::to_vec(&lab).unwrap(), serde_json::to_vec(&story.lab).unwrap());
}

fn drum(specimen: &str) -> StartRun {
    StartRun {
        placements: vec![Placement {
            specimen: specimen.into(),
            charge: "SPHERES".into(),
            charge_g: "4990".into(),
            charge_balls: "12".into(),
            ..Placement::default()
        }],
        ..StartRun::default()
    }
}

/// A specimen in the drum, with its mass before.
fn in_the_drum(story: &mut Story) -> (String, String) {
    let sample = story.sample("37.5");
    let specimen = begin(story, &sample, "astm-c131", "A");
    story.given(fractions(&specimen, &["1250", "1251", "1249", "1250"]));
    story.given(WeighBefore {
        specimen: specimen.clone(),
        mass_g: "5000".into(),
        ..WeighBefore::default()
    });
    let facts = story.given(drum(&specimen));
    let Fact::RunStarted { run, apparatus, placed, .. } = &facts[0] else { panic!("{facts:?}") };
    assert_eq!((apparatus.as_str(), placed[0].charge_balls), ("DRUM", Some(12)));
    assert!(placed[0].jar.is_none() && placed[0].water_l.is_none());
    (specimen, run.to_string())
}

fn stop(run: &str) -> StopRun {
    StopRun {
        run: run.into(),
        revolutions: "500".into(),
        minutes: "16".into(),
        ..StopRun::default()
    }
}

fn after(specimen: &str, mass_g: &str, reason: &str) -> WeighAfter {
    WeighAfter {
        specimen: specimen.into(),
        mass_g: mass_g.into(),
        reason: reason.into(),
        ..WeighAfter::default()
    }
}

/// 100 (5000 − 3750) / 5000 = 25 and (5000 − 4750) / (5000 − 3750) = 0.20, by hand.
#[test]
fn the_drum_from_nothing_to_a_released_result() {
    let mut story = equipped();
    let (specimen, run) = in_the_drum(&mut story);
    story.given(reading(&specimen, "kept_early", &["4750"]));
    story.given(stop(&run));
    let facts = story.given(after(&specimen, "3750", ""));
    let Fact::ResultWorkedOut { result, loss_percent, properties, .. } = &facts[1] else {
        panic!("{facts:?}")
    };
    assert_eq!(loss_percent.unwrap().to_string(), "25");
    assert_eq!(properties[0].value.to_string(), "0.20");
    let result = result.to_string();
    story.given(ReleaseResult { result: result.clone(), ..ReleaseResult::default() });
    assert_eq!(found(&story, &specimen), "25, 0.20");
    // The limit of the sample is for wear in water: nothing is judged by it here.
    let known = &story.lab.results[result.as_str()];
    assert_eq!(story.lab.limit_for(known), None);
    let links = story.lab.evidence(known);
    for (role, code) in
        [("apparatus", "DRUM"), ("ball charge", "SPHERES"), ("balance", "BAL"), ("sieve", "S170")]
    {
        let link = links.iter().find(|link| link.role == role).unwrap();
        assert_eq!((link.kind, link.code.as_str()), (LinkKind::Item, code));
        assert!(matches!(link.proof, Proof::Proved { .. }), "{role}");
    }
    assert!(!links.iter().any(|link| link.role == "jar"));

    // A reading put right revises the result; what was released stays in the record.
    let right = reading(&specimen, "kept_early", &["4700"]);
    assert!(story.refused(right.clone()).contains("4750 g is already recorded here"));
    story.given(because(right, "the pan was not empty"));
    assert_eq!(found(&story, &specimen), "25, 0.24");
    story.given(after(&specimen, "3800", "misread"));
    assert_eq!(found(&story, &specimen), "24, 0.25");
    let known = &story.lab.results[result.as_str()];
    assert_eq!((known.version(), known.release().is_none()), (3, true));
    assert_eq!(known.versions[0].value.properties[0].value.to_string(), "0.20");
    replays(&story);
}

#[test]
fn the_drum_asks_for_what_its_method_asks_and_no_more() {
    let mut story = equipped();
    let sample = story.sample("37.5");
    let specimen = begin(&mut story, &sample, "ls-603", "D");
    story.given(fractions(&specimen, &["5001"]));
    let before =
        WeighBefore { specimen: specimen.clone(), mass_g: "5001".into(), ..WeighBefore::default() };
    story.given(before);
    // Ontario's D has 9 balls of 3740 g; the ASTM's D is another charge and another file.
    let start = |change: &dyn Fn(&mut Placement)| {
        let mut request = drum(&specimen);
        request.placements[0].charge_g = "3740".into();
        request.placements[0].charge_balls = "9".into();
        change(&mut request.placements[0]);
        request
    };
    let six = start(&|at| "6".clone_into(&mut at.charge_balls));
    assert!(story.refused(six).contains("6 balls are counted; the method wants 9"));
    let light = start(&|at| "2500".clone_into(&mut at.charge_g));
    assert!(story.refused(light).contains("the ball charge is 2500 g; the method wants"));
    let uncounted = start(&|at| at.charge_balls.clear());
    assert!(story.refused(uncounted).contains("is not a number of balls"));
    let wet = start(&|at| "2.0".clone_into(&mut at.water_l));
    assert!(story.refused(wet).contains("Ontario LS-603 runs without water"));
    story.register("J1", "jar", "");
    let in_jar = start(&|at| "J1".clone_into(&mut at.jar));
    assert!(story.refused(in_jar).contains("Ontario LS-603 runs without a jar"));
    story.register("MILL", "apparatus", "");
    story.prove("MILL");
    let in_mill = StartRun { apparatus: "MILL".into(), ..start(&|_| {}) };
    assert!(
        story.refused(in_mill).contains("Ontario LS-603 is run in a drum, not in an apparatus")
    );
    assert!(
        story.refused(reading(&specimen, "kept_early", &["4900"])).contains("has not been run")
    );
    story.given(start(&|_| {}));
    assert!(story.refused(reading(&specimen, "kept_late", &["1"])).contains("known: kept_early"));
    let heavy = reading(&specimen, "kept_early", &["5002"]);
    assert!(story.refused(heavy).contains("5002 g kept early is more than 5001 g before"));
}

/// Sizes with 40, 57 and 3 % lose 5 and 10 %, the last takes its neighbour's: 8.0 %, by hand. The
/// readings come in another order each time.
#[test]
fn soundness_from_nothing_to_a_result() {
    let once = |specimen: &str| -> Vec<Request> {
        vec![
            reading(specimen, "grading_percent", &["0", "40", "57", "3"]).into(),
            fractions(specimen, &["", "1500", "1000"]).into(),
            reading(specimen, "gravity", &["1.16"]).into(),
            reading(specimen, "immersion", &["17"]).into(),
            reading(specimen, "drained", &["15"]).into(),
            reading(specimen, "cycles", &["5"]).into(),
            reading(specimen, "kept", &["", "1425", "900"]).into(),
        ]
    };
    let mut story = equipped();
    let sample = story.sample("37.5");
    let specimen = begin(&mut story, &sample, "astm-c88-sodium", "");
    assert_eq!(next_reading(&story, &specimen), "grading_percent");
    for request in once(&specimen) {
        story.given(request);
    }
    assert_eq!(found(&story, &specimen), "8.0");
    assert_eq!(story.lab.next_of(&story.lab.specimens[specimen.as_str()]), None);
    // The shares may come last, and the bath first.
    let other = begin(&mut story, &sample, "astm-c88-sodium", "");
    let mut turned = once(&other);
    turned.rotate_left(1);
    for request in turned {
        story.given(request);
    }
    assert_eq!(found(&story, &other), "8.0");
    let evidence = story.lab.evidence(&story.lab.results["L26-001"]);
    assert!(evidence.iter().any(|link| link.role == "solution bath" && link.code == "BATH"));
    // A mass of a size put right revises the loss: 100 (1000 − 850) / 1000 = 15 % of 60 % is 9.
    let right = reading(&specimen, "kept", &["", "", "850"]);
    story.given(because(right, "the sieve was not empty"));
    assert_eq!(found(&story, &specimen), "11.0");
    replays(&story);
}

#[test]
fn soundness_refuses_what_cannot_be() {
    let mut story = equipped();
    let sample = story.sample("37.5");
    let specimen = begin(&mut story, &sample, "astm-c88-magnesium", "");
    let weak = reading(&specimen, "gravity", &["1.16"]);
    assert!(story.refused(weak.clone()).contains("specific gravity of the solution is 1.16"));
    story.given(TakeReading { deviation: "only sodium was there".into(), ..weak });
    assert_eq!(story.lab.specimens[specimen.as_str()].deviations.len(), 1);
    let shares = reading(&specimen, "grading_percent", &["50", "40", "57", "3"]);
    assert!(story.refused(shares).contains("150 % of the sample"));
    let kept = reading(&specimen, "kept", &["", "100"]);
    assert!(story.refused(kept).contains("no mass was weighed in"));
    let unasked =
        WeighAfter { specimen: specimen.clone(), mass_g: "1".into(), ..WeighAfter::default() };
    assert!(story.refused(unasked).contains("takes no mass of the whole specimen"));
    let run = StartRun {
        apparatus: "DRUM".into(),
        placements: vec![Placement { specimen: specimen.clone(), ..Placement::default() }],
        ..StartRun::default()
    };
    assert!(story.refused(run).contains("has no mass before"));
}

/// A = 1980, B = 2000, C = 1260: 2.68, 2.70, 2.75 and 1.0 %, by hand.
#[test]
fn density_from_nothing_to_a_released_result() {
    let mut story = equipped();
    let sample = story.sample("19.0");
    let specimen = begin(&mut story, &sample, "astm-c127", "");
    for (name, value) in
        [("soaked", "24"), ("saturated", "2000"), ("in_water", "1260"), ("dry", "1980")]
    {
        assert_eq!(next_reading(&story, &specimen), name);
        story.given(reading(&specimen, name, &[value]));
    }
    assert_eq!(found(&story, &specimen), "2.68, 2.70, 2.75, 1.0");
    let result = story.lab.results.values().next().unwrap();
    assert_eq!(result.current().unwrap().value.loss_percent, None, "a density is no loss");
    let released =
        story.given(ReleaseResult { result: result.code.to_string(), ..ReleaseResult::default() });
    assert!(
        matches!(&released[0], Fact::ResultReleased { properties, .. } if properties.len() == 4)
    );
    let wrong = because(reading(&specimen, "dry", &["2010"]), "read again");
    assert!(story.refused(wrong).contains("2010 g oven-dry is more than 2000 g saturated"));
    let doubt = story.lab.doubt(&"BAL".into(), "indication", Some("1".parse().unwrap()), None);
    let doubtful = &doubt.unwrap().results[0];
    assert!(doubtful.reported.contains("absorption 1.0 %"), "{}", doubtful.reported);
    replays(&story);
}

/// 200 turns for the early reading, then 300: 500 in all, in 6.5 + 9.6 min.
#[test]
fn a_run_in_the_drum_is_interrupted_and_corrected() {
    let mut story = equipped();
    let (specimen, run) = in_the_drum(&mut story);
    story.given(InterruptRun {
        run: run.clone(),
        revolutions: "200".into(),
        minutes: "6.5".into(),
        reason: "to read what is kept early".into(),
    });
    story.given(reading(&specimen, "kept_early", &["4750"]));
    story.given(ResumeRun { run: run.clone(), counter: "200".into() });
    story.given(StopRun { minutes: "9.6".into(), ..stop(&run) });
    let in_all = story.lab.runs[run.as_str()].in_all().unwrap();
    assert_eq!(in_all.revolutions.unwrap().to_string(), "500");
    assert_eq!(in_all.minutes.unwrap().to_string(), "16.1");
    story.given(after(&specimen, "3750", ""));

    let correct = |change: &dyn Fn(&mut CorrectRun)| {
        let reason = "copied from the wrong sheet".into();
        let mut request = CorrectRun { run: run.clone(), reason, ..CorrectRun::default() };
        change(&mut request);
        request
    };
    story.register("J1", "jar", "");
    for (refused, why) in [
        (correct(&|_| {}), "nothing changes"),
        (correct(&|run| "J1".clone_into(&mut run.jar)), "runs without a jar"),
        (correct(&|run| "2.0".clone_into(&mut run.water_l)), "runs without water"),
        (correct(&|run| "20".clone_into(&mut run.water_c)), "runs without water"),
        (correct(&|run| "1".clone_into(&mut run.soaked_h)), "runs without a soak"),
        (correct(&|run| "11".clone_into(&mut run.charge_balls)), "11 balls are counted"),
    ] {
        let refusal = story.refused(refused);
        assert!(refusal.contains(why), "{refusal}");
    }
    let deviation = "one had rolled under the bench".to_owned();
    let balls = correct(&|run| "11".clone_into(&mut run.charge_balls));
    story.given(CorrectRun { deviation, charge_g: "4995".into(), ..balls });
    let placed = &story.lab.runs[run.as_str()].placed[0];
    assert_eq!(placed.charge_balls, Some(11));
    assert_eq!(placed.charge_g.unwrap().to_string(), "4995");
    assert!(placed.jar.is_none() && placed.water_l.is_none() && placed.soaked_h.is_none());
    // The same loss and the same ratio on other evidence; then the make-up, then the end.
    let wrong_line = fractions(&specimen, &["1249"]);
    story.given(WeighFractions { reason: "wrong line".into(), ..wrong_line });
    story.given(StopRun { minutes: "9.7".into(), reason: "misread".into(), ..stop(&run) });
    assert_eq!(found(&story, &specimen), "25, 0.20");
    let result = story.lab.results.values().next().unwrap();
    assert_eq!(result.version(), 4);
    let turning = story.lab.evidence(result).into_iter().find(|link| link.kind == LinkKind::Run);
    let turning = turning.unwrap();
    assert_eq!((turning.name.as_str(), turning.positions.len()), ("500 revolutions", 5));
    replays(&story);
}

/// What has no water soaks in none, what has no mass before dries to none; both say so.
#[test]
fn a_soak_and_a_drying_series_are_for_methods_that_ask_for_them() {
    let mut story = equipped();
    let sample = story.sample("37.5");
    let in_the_drum = begin(&mut story, &sample, "astm-c131", "A");
    let soak = StartSoak { specimen: in_the_drum.clone() };
    assert!(story.refused(soak).contains("ASTM C131 asks for no soak in water"));
    story.given(WeighDrying {
        specimen: in_the_drum,
        mass_g: "5003".into(),
        ..WeighDrying::default()
    });
    let on_the_bench = begin(&mut story, &sample, "astm-c127", "");
    let dry =
        WeighDrying { specimen: on_the_bench, mass_g: "1980".into(), ..WeighDrying::default() };
    assert!(story.refused(dry).contains("takes no mass of the whole specimen here"));
}

/// A result that is no loss is revised and doubted like any other.
#[test]
fn a_density_follows_corrections_and_stands_in_doubt() {
    let mut story = equipped();
    let sample = story.sample("19.0");
    let specimen = begin(&mut story, &sample, "astm-c127", "");
    story.given(reading(&specimen, "soaked", &["24"]));
    story.register("COARSE", "balance", "");
    story.prove("COARSE");
    story.given(CorrectItem {
        item: "COARSE".into(),
        resolution: "5".into(),
        reason: "read off its plate".into(),
        ..CorrectItem::default()
    });
    let on = |name: &str, value: &str, balance: &str| TakeReading {
        instrument: balance.into(),
        ..reading(&specimen, name, &[value])
    };
    let coarse = story.refused(on("saturated", "2000", "COARSE"));
    assert!(coarse.contains("COARSE shows steps of 5 g"), "{coarse}");
    for (name, value) in [("saturated", "2000"), ("in_water", "1260"), ("dry", "1980")] {
        story.given(on(name, value, "BAL"));
    }
    let before = found(&story, &specimen);
    story.given(CorrectSample {
        sample: sample.clone(),
        source: "Invented pit, face 3".into(),
        limit_method: "astm-c131".into(),
        reason: "misheard".into(),
        ..CorrectSample::default()
    });
    assert_eq!(found(&story, &specimen), before);
    let result = story.lab.results.values().next().unwrap();
    assert_eq!((result.version(), result.current().unwrap().value.loss_percent), (2, None));
    let sample = &story.lab.samples[sample.as_str()];
    assert_eq!(sample.limit_method, "astm-c131");
    assert_eq!(sample.corrections[0].value.former.limit_method.as_deref(), Some(""));
    // It stands on the balance that its readings were taken with.
    let results = |story: &Story| {
        let answer = story.lab.doubt(&"BAL".into(), "indication", None, None).unwrap();
        answer.results.len()
    };
    assert_eq!(results(&story), 1);
    replays(&story);
}

/// The loss of a drum is held against the limit for its method; of what has no loss, and of a limit
/// for another test, nothing is said. Who took a reading tested.
#[test]
fn judgement_and_agreement_know_what_has_no_loss() {
    let mut story = equipped();
    let sample = story.sample("19.0");
    for times in 1..=2 {
        let specimen = begin(&mut story, &sample, "astm-c127", "");
        story.by = "CD".into();
        story.given(reading(&specimen, "soaked", &["24"]));
        story.by = "AB".into();
        for (name, value) in [("saturated", "2 kg"), ("in_water", "1260"), ("dry", "1980")] {
            story.given(reading(&specimen, name, &[value]));
        }
        let read = &story.lab.specimens[specimen.as_str()].readings["saturated"][0].value;
        assert_eq!((read.value.to_string().as_str(), read.as_read.as_str()), ("2000", "2 kg"));
        assert_eq!(story.lab.results.len(), times);
    }
    let density = story.lab.results.values().next().unwrap();
    assert_eq!(story.lab.judgement(density), None);
    assert!(story.lab.agreement(density).pairs.is_empty());
    let testers = story.lab.testers(density);
    assert!(["AB", "CD"].iter().all(|by| testers.iter().any(|tester| tester.as_str() == *by)));

    let (_, run) = in_the_drum(&mut story);
    story.given(stop(&run));
    let sample = story.lab.runs[run.as_str()].placed[0].specimen.clone();
    story.given(after(sample.as_str(), "3750", ""));
    let drum = story.lab.result_of(&sample).unwrap().clone();
    // The limit with which it came is for wear in water.
    assert_eq!(story.lab.judgement(&drum), None);
    story.given(CorrectSample {
        sample: drum.sample.to_string(),
        limit_percent: "24.6".into(),
        limit_document: "invented contract".into(),
        limit_method: "astm-c131".into(),
        reason: "another line of the contract".into(),
        ..CorrectSample::default()
    });
    story.given(ReleaseResult { result: drum.code.to_string(), ..ReleaseResult::default() });
    let judgement = story.lab.judgement(&story.lab.results[&drum.code]).unwrap();
    assert_eq!(judgement.verdict.in_words(), "does not conform");
    assert_eq!(judgement.compared_percent.to_string(), "25");
    replays(&story);
}

/// A limit that names a method is for that method alone.
#[test]
fn a_limit_is_for_the_test_it_is_for() {
    let mut story = equipped();
    let facts = story.given(ReceiveSample {
        source: "Invented quarry".into(),
        material: "crushed stone".into(),
        nominal_maximum_mm: "37.5".into(),
        limit_percent: "30".into(),
        limit_document: "invented contract".into(),
        limit_method: "astm-c131".into(),
        ..ReceiveSample::default()
    });
    let Fact::SampleReceived { sample, limit_method, .. } = &facts[0] else { panic!("{facts:?}") };
    assert_eq!(limit_method, "astm-c131");
    let specimen = begin(&mut story, sample.as_str(), "astm-c131", "A");
    story.given(fractions(&specimen, &["1250", "1250", "1250", "1250"]));
    story.given(WeighBefore {
        specimen: specimen.clone(),
        mass_g: "5000".into(),
        ..WeighBefore::default()
    });
    let run = match &story.given(drum(&specimen))[0] {
        Fact::RunStarted { run, .. } => run.to_string(),
        other => panic!("{other:?}"),
    };
    story.given(stop(&run));
    story.given(after(&specimen, "3750", ""));
    let result = story.lab.results.values().next().unwrap();
    assert_eq!(story.lab.limit_for(result), Some("30".parse().unwrap()));
    let typo = ReceiveSample { limit_method: "c-131".into(), ..ReceiveSample::default() };
    assert!(story.refused(typo).contains("there is no method “c-131”"));
}

/// Every kind of instrument that a method file names is a kind of item.
#[test]
fn readings_name_kinds_that_exist() {
    for method in stonewear_method::library::built_in_methods() {
        for kind in method.readings.iter().filter_map(|reading| reading.read_with.as_ref()) {
            assert!(kind.parse::<stonewear_procedure::ItemKind>().is_ok(), "{}: {kind}", method.id);
        }
    }
}

/// Facts as journals hold them from before there were drums: read, and written back to the byte.
#[test]
fn facts_of_older_journals_read_and_write_unchanged() {
    for text in [
        r#"{"kind":"run-started","run":"R26-001","apparatus":"MILL-1","ended_by":"revolutions","revolutions_wanted":"12000","water_c":"20","placed":[{"tier":"only","position":1,"specimen":"S26-001-1","jar":"J1","charge":"B1","charge_g":"5000.5","water_l":"2.00","soaked_h":"1"}]}"#,
        r#"{"kind":"result-worked-out","result":"L26-001","sample":"S26-001","specimens":["S26-001-1"],"loss_percent":"14.8"}"#,
        r#"{"kind":"result-revised","result":"L26-001","loss_percent":"14.7","reason":"misread"}"#,
        r#"{"kind":"result-released","result":"L26-001","loss_percent":"14.7"}"#,
    ] {
        let fact: Fact = serde_json::from_str(text).unwrap();
        assert_eq!(serde_json::to_string(&fact).unwrap(), text);
    }
}

/// The drum is dry, and density has no run at all: no experiment is about what is not there.
#[test]
fn an_experiment_is_about_a_condition_that_the_test_has() {
    let mut story = Story::equipped();
    let ask = |condition: &str, method: &str| RecordSensitivity {
        condition: condition.into(),
        method: method.into(),
        percent_of_loss: "0.5".into(),
        experiment: "invented report X-5".into(),
        ..RecordSensitivity::default()
    };
    for method in ["astm-c131", "astm-c127", "astm-d6928"] {
        story.given(AdoptMethod { method: method.into() });
    }
    let dry = story.refused(ask("water-temperature", "astm-c131"));
    assert!(dry.contains("ASTM C131 has no water"), "{dry}");
    let still = story.refused(ask("revolutions", "astm-c127"));
    assert!(still.contains("ASTM C127 has no revolutions"), "{still}");
    story.ask(ask("charge", "astm-c131")).unwrap();
    story.ask(ask("water-temperature", "astm-d6928")).unwrap();
}
