//! The scenario is possible under the laboratory's rules, the same everywhere, and holds what the
//! documentation promises.

#![allow(clippy::unwrap_used, reason = "a test that fails here says where")]

use stonewear_demo::{Batch, SEED, scenario};
use stonewear_lab::agreement::{Agree, Of};
use stonewear_lab::charge::Forecast;
use stonewear_lab::control::{ControlChart, Role, State};
use stonewear_lab::doubt::Effect;
use stonewear_lab::fact::Standing;
use stonewear_lab::judgement::Verdict;
use stonewear_lab::state::TestResult;
use stonewear_lab::{Lab, Recorded};
use stonewear_method::library::built_in_methods;
use stonewear_procedure::built_in_procedures;

fn told(seed: u64) -> Vec<Batch> {
    scenario(seed, &built_in_methods(), &built_in_procedures())
        .unwrap_or_else(|error| panic!("{error}"))
}

fn folded(batches: &[Batch]) -> Lab {
    let mut lab = Lab::new();
    for batch in batches {
        for fact in &batch.facts {
            lab.apply(&Recorded {
                position: lab.position + 1,
                at: batch.at,
                by: batch.by.clone(),
                fact: fact.clone(),
            });
        }
    }
    lab
}

#[test]
fn the_scenario_holds_two_years_of_an_ordinary_laboratory() {
    let batches = told(SEED);
    let lab = folded(&batches);
    assert!(lab.identity.as_ref().unwrap().invented);
    assert_eq!(lab.items["MILL-1"].standing(), Standing::InService);
    assert_eq!(lab.items["MILL-2"].standing(), Standing::BeingProved);
    assert!(lab.turning_in(&"MILL-1".into()).is_some(), "a jar turns as the page is opened");
    let references = lab.samples.values().filter(|sample| sample.reference).count();
    assert!(references >= 20, "{references} reference samples");
    assert!(lab.samples.len() >= 60, "{} samples", lab.samples.len());
    let waiting = lab.results.values().filter(|result| result.release().is_none()).count();
    assert_eq!(waiting, 1, "one result waits for its release");
    let by_test = |method: &str| {
        lab.results.values().filter(|result| result.method.answers_to(method)).count()
    };
    for method in ["astm-c131", "astm-c88-magnesium", "astm-c127"] {
        assert_eq!(by_test(method), 1, "{method}");
    }
    let incident = lab.items["BAL-1"]
        .standings
        .iter()
        .filter(|change| change.value.standing == Standing::Held);
    assert_eq!(incident.count(), 1, "the balance was held once");
    for result in lab.results.values() {
        let version = &result.current().unwrap().value;
        let recorded = version.loss_percent.into_iter();
        let recorded: Vec<_> =
            recorded.chain(version.properties.iter().map(|one| one.value)).collect();
        let worked = lab.outcome_of(result).unwrap();
        let worked: Vec<_> = worked.into_iter().map(|one| one.value).collect();
        assert_eq!(worked, recorded, "{}", result.code);
    }
    let back = batches.windows(2).find(|pair| pair[0].at > pair[1].at);
    assert!(
        back.is_none(),
        "time never goes back: {:?}",
        back.map(|pair| (pair[0].at, pair[1].at, &pair[1].facts))
    );
}

/// A lot with its baseline, weekly points, one planted result that is out, its investigation and its
/// release, and a new lot that took the place of the old one.
#[test]
fn the_scenario_keeps_its_mill_in_control() {
    let lab = folded(&told(SEED));
    let mill = "MILL-1".into();
    let charts: Vec<_> = ["RA-2", "RA-3"]
        .map(|lot| lab.control_chart(&lot.into(), &mill).unwrap())
        .into_iter()
        .collect();
    let judged = |chart: &ControlChart| {
        chart.points.iter().filter(|point| point.role == Role::Judged).count()
    };
    assert!(charts[0].baseline.as_ref().unwrap().value.points.len() >= 20);
    assert!(judged(&charts[0]) >= 10 && judged(&charts[1]) >= 10);
    assert!(charts.iter().all(|chart| chart.state() == State::InControl));
    let planted = lab.investigations.values().filter_map(|one| one.closed.as_ref());
    let planted: Vec<_> =
        planted.filter(|closed| closed.value.cause.contains("2.5 L of water")).collect();
    assert_eq!(planted.len(), 1);
    assert!(lab.investigations.len() <= 3, "{}", lab.investigations.len());
    assert!(lab.investigations.values().all(|one| !one.is_open()));
    let taken = &lab.lots["RA-3"].took_over[0].value;
    assert_eq!(taken.results, (5, 5));
    assert!(lab.reference_due(lab.runs.values().last().unwrap().started.at).len() == 1);
}

/// The demo shows what judging and comparing look like: a pair that agrees, one that does not and
/// was released with a reason, a verdict within the guard band, and another laboratory's loss.
#[test]
fn the_scenario_judges_and_compares() {
    let lab = folded(&told(SEED));
    let pairs = |of: Of| {
        let all = lab.results.values().flat_map(|result| lab.agreement(result).pairs);
        all.filter(move |pair| pair.of == of).collect::<Vec<_>>()
    };
    let results = pairs(Of::Results);
    assert_eq!(results.iter().filter(|pair| pair.differs()).count(), 2, "{results:#?}");
    let agreed = results.iter().filter(|pair| matches!(pair.agree, Agree::Yes(_)));
    // One pair of a client's sample and those of both materials of the round, seen from each side;
    // the runs of a study vary on purpose, and are no pairs.
    assert_eq!(agreed.count(), 6, "{results:#?}");
    let outside = pairs(Of::Laboratories);
    assert!(!outside.is_empty() && outside.iter().all(|pair| !pair.differs()), "{outside:#?}");
    let verdicts: Vec<Verdict> = lab
        .results
        .values()
        .filter(|result| result.release().is_some())
        .filter_map(|result| Some(lab.judgement(result)?.verdict))
        .collect();
    for verdict in [Verdict::Conforms, Verdict::ConformsInGuardBand, Verdict::DoesNotConform] {
        assert!(verdicts.contains(&verdict), "{verdict:?}");
    }
    let mut released = lab.results.values().filter_map(TestResult::release);
    assert!(released.any(|release| !release.value.deviations.is_empty()));
}

/// The demo shows what a charge that wears looks like: balls added twice, a rate whose interval holds
/// the invented truth (0.05 to 0.09 g in a thousand revolutions), a day on which it leaves its
/// tolerance; and one charge of which no day can be named.
#[test]
fn the_scenario_wears_a_charge() {
    let batches = told(SEED);
    let lab = folded(&batches);
    let at = batches.last().unwrap().at;
    let worn = lab.wear(&"BC-1".into(), at).unwrap();
    let added = worn.history.changes.iter().filter(|one| {
        one.value.change == stonewear_lab::fact::ChargeChange::Added && one.value.balls == Some(2)
    });
    assert_eq!(added.count(), 2, "{:?}", worn.history.changes);
    let interval = worn.trend.as_ref().unwrap().interval.clone().unwrap();
    assert!(interval.lower < 0.09 && interval.upper > 0.05, "{interval:?}");
    let Forecast::Leaves(leaving) = &worn.forecast else { panic!("{}", worn.forecast_in_words()) };
    assert!(leaving.day.is_some(), "{leaving:?}");
    assert_eq!(lab.worn_shares(&"BC-1".into()).len(), 2);
    let level = lab.wear(&"BC-2".into(), at).unwrap();
    assert!(matches!(level.forecast, Forecast::Unknown { .. }), "{}", level.forecast_in_words());
}

/// An experiment over the revolutions is done: its interval of the sensitivity holds the invented
/// truth of 0.85 % a percent, and nothing of it became a result.
#[test]
fn the_scenario_holds_an_experiment() {
    let lab = folded(&told(SEED));
    let experiment = lab.experiments.values().next().unwrap();
    let found = lab.experiment_analysis(experiment).unwrap();
    assert_eq!(found.points.len(), 6);
    let sensitivity = found.sensitivity.clone().unwrap();
    let off = (sensitivity.percent_of_loss - 0.85).abs();
    assert!(off < 3.0 * sensitivity.standard_uncertainty, "{}", found.sensitivity_in_words());
    let sample = experiment.sample.as_ref().unwrap();
    assert!(lab.results.values().all(|result| result.sample != *sample));
}

#[test]
fn the_same_seed_tells_the_same_scenario_and_another_one_another() {
    let facts = |seed| {
        let batches = told(seed);
        batches
            .into_iter()
            .flat_map(|batch| batch.facts)
            .map(|fact| serde_json::to_string(&fact).unwrap())
            .collect::<Vec<_>>()
    };
    assert_eq!(facts(SEED), facts(SEED));
    assert_ne!(facts(SEED), facts(SEED + 1));
}

/// The balance, found 1.5 g heavy: every loss on it becomes 100 × (A − B) / (A − 1.5), worked out here
/// again in whole tenths and rounded half to even by hand of another arithmetic.
#[test]
fn a_heavy_balance_in_the_demo_laboratory_moves_each_loss_as_the_hand_says() {
    let lab = folded(&told(SEED));
    let since = lab.checks["C25-016"].started.at;
    let answer = lab
        .doubt(&"BAL-1".into(), "indication", Some("1.5".parse().unwrap()), Some(since))
        .unwrap();
    assert!(answer.results.len() > 20, "{}", answer.results.len());
    for doubtful in &answer.results {
        let specimen = &lab.specimens[&lab.results[&doubtful.result].specimens[0]];
        let on_it =
            |masses: &[stonewear_lab::state::Noted<stonewear_lab::state::WeighedMass>]| {
                let last = masses.last().unwrap();
                let tenths = (last.value.mass_g * stonewear_measure::Decimal::TEN).to_string();
                let tenths: i128 = tenths.split('.').next().unwrap().parse().unwrap();
                let in_doubt = last.value.balance.as_str() == "BAL-1" && last.at >= since;
                tenths - if in_doubt { 15 } else { 0 }
            };
        let (before, after) = (on_it(&specimen.before), on_it(&specimen.after));
        // Tenths of a percent: 1000 (A − B) / A, to the nearest, a half to the even one.
        let (whole, rest) = (1000 * (before - after) / before, 1000 * (before - after) % before);
        let up = 2 * rest > before || (2 * rest == before && whole % 2 == 1);
        let by_hand = whole + i128::from(up);
        let Effect::Moves { would_be_percent, .. } = &doubtful.effect else {
            panic!("{doubtful:?}")
        };
        assert_eq!(
            would_be_percent.to_string(),
            format!("{}.{}", by_hand / 10, by_hand % 10),
            "{}",
            doubtful.result
        );
    }
}

/// The timer of the old mill, 3 % slow: its runs turned 1 / 0.97 of what was wanted, so each loss would
/// have been 0.97 of what is reported, exactly: 97 (A − B) / A.
#[test]
fn a_slow_timer_in_the_demo_laboratory_moves_each_loss_as_the_hand_says() {
    let lab = folded(&told(SEED));
    let answer = lab.doubt(&"MILL-0".into(), "timer", Some("3".parse().unwrap()), None).unwrap();
    assert!(answer.results.len() >= 3, "{}", answer.results.len());
    for doubtful in &answer.results {
        let specimen = &lab.specimens[&lab.results[&doubtful.result].specimens[0]];
        let grams = |mass: Option<stonewear_measure::Decimal>| -> i128 {
            mass.unwrap().to_string().parse().unwrap()
        };
        let (before, after) = (grams(specimen.before_g()), grams(specimen.after_g()));
        let (whole, rest) = (970 * (before - after) / before, 970 * (before - after) % before);
        let up = 2 * rest > before || (2 * rest == before && whole % 2 == 1);
        let by_hand = whole + i128::from(up);
        let Effect::Moves { would_be_percent, .. } = &doubtful.effect else {
            panic!("{doubtful:?}")
        };
        assert_eq!(
            would_be_percent.to_string(),
            format!("{}.{}", by_hand / 10, by_hand % 10),
            "{}",
            doubtful.result
        );
    }
    // The mill that counts does not mind its timer.
    let counted = lab.doubt(&"MILL-1".into(), "timer", Some("3".parse().unwrap()), None).unwrap();
    assert!(counted.results.iter().all(|one| matches!(one.effect, Effect::Untouched { .. })));
}

#[test]
fn a_round_is_finished_and_a_questionable_score_is_dealt_with() {
    use stonewear_lab::proficiency::{ScoreVerdict, series};
    use stonewear_lab::round::{HomogeneityVerdict, analyse, homogeneity};
    let lab = folded(&told(SEED));
    let round = lab.rounds.values().next().unwrap();
    assert_eq!(round.participants.len(), 6);
    assert_eq!(round.progress(), (24, 24));
    let tested = homogeneity(&lab, round);
    assert!(tested.iter().all(|one| one.verdict == HomogeneityVerdict::Homogeneous), "{tested:?}");
    let analysis = analyse(round);
    let laboratories =
        |place: usize| analysis.materials[place].precision.as_ref().unwrap().laboratories;
    assert_eq!((laboratories(0), laboratories(1)), (6, 5), "one cell is left out");
    assert!(round.closed().is_some());
    let ours = round.ours().unwrap().participant.as_str();
    let own = round.current().into_iter().filter(|((code, _, _), _)| *code == ours);
    assert!(own.into_iter().all(|(_, taken)| taken.value.value.result.is_some()));

    let all = series(&lab);
    let verdicts: Vec<_> = all[0].points.iter().map(|point| point.scored.verdict).collect();
    let questionable = verdicts.iter().filter(|v| **v == ScoreVerdict::Questionable).count();
    assert_eq!((verdicts.len(), questionable), (8, 1));
    assert_eq!(lab.open_scores().count(), 0);
}

/// The demo shows a study that is concluded and one in progress.
#[test]
fn the_scenario_studies_the_positions_and_qualifies_the_mill() {
    use stonewear_lab::fact::{Design, Question};
    let lab = folded(&told(SEED));
    let studies: Vec<_> = lab.studies.values().collect();
    let [positions, qualification] = studies.as_slice() else { panic!("{studies:#?}") };
    assert_eq!(positions.plan.value.design, Design::LatinSquare);
    let concluded = &positions.concluded.as_ref().unwrap().value;
    let said = concluded.verdict.join(" ");
    for factor in ["position", "jar", "turning"] {
        let nothing = format!("No difference between the levels of {factor} was found");
        assert!(said.contains(&nothing), "{said}");
    }
    assert!(qualification.is_open());
    assert_eq!(qualification.plan.value.question, Question::Reference);
    let runs = lab.study_runs(qualification);
    let done = runs.iter().filter(|run| run.value.is_some()).count();
    assert_eq!(done, 3, "{runs:#?}");
    assert!(runs.len() > done && runs.iter().all(|run| run.departures.is_empty()), "{runs:#?}");
}
