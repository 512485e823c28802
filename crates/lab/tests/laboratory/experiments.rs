//! Experiments: planned, run at levels beside the method's, never a client's result, fitted.

use crate::story::Story;
use jiff::ToSpan;
use stonewear_lab::experiment::{Analysis, Model};
use stonewear_lab::fact::Condition;
use stonewear_lab::request::*;
use stonewear_lab::{Fact, next::Next};
use stonewear_stats::regression::Coefficient;

fn plan() -> PlanExperiment {
    PlanExperiment {
        title: "loss over revolutions".into(),
        condition: "revolutions".into(),
        method: "astm-d6928".into(),
        grading: "19.0".into(),
        levels: ["15000", "", "9000", "12000"].map(String::from).to_vec(),
        replicates: "2".into(),
        seed: "7".into(),
        ..PlanExperiment::default()
    }
}

fn ready() -> Story {
    let mut story = Story::equipped();
    story.given(AdoptMethod { method: "astm-d6928".into() });
    story
}

fn imported(table: &str) -> ImportExperiment {
    ImportExperiment {
        title: "from a table".into(),
        condition: "revolutions".into(),
        method: "astm-d6928".into(),
        grading: "19.0".into(),
        table: table.into(),
        source: "an invented note".into(),
    }
}

fn analysis(story: &Story, code: &str) -> Analysis {
    story.lab.experiment_analysis(&story.lab.experiments[code]).unwrap()
}

/// The level that a run of the plan is for.
fn level(story: &Story, number: u32) -> String {
    story.lab.experiments["X26-001"].run(number).unwrap().level.to_string()
}

/// Makes up a specimen for the next run, runs it at its level, and weighs what is left.
fn run_next(story: &mut Story, sample: &str, number: u32, after_g: &str) -> String {
    let specimen = story.specimen(sample);
    story.given(AssignToExperiment {
        experiment: "X26-001".into(),
        specimen: specimen.clone(),
        ..AssignToExperiment::default()
    });
    let wanted = level(story, number);
    let facts = story.given(story.start(&specimen));
    let Fact::RunStarted { run, revolutions_wanted, deviations, .. } = &facts[0] else {
        panic!("{facts:?}")
    };
    assert_eq!(revolutions_wanted.to_string(), wanted);
    assert_eq!(deviations, &[], "the level is planned, not a departure");
    // The highest level takes longer than a test.
    story.at = story.at.checked_add(30.minutes()).unwrap();
    story.given(StopRun { run: run.to_string(), revolutions: wanted, ..StopRun::default() });
    let facts = story.given(WeighAfter {
        specimen: specimen.clone(),
        mass_g: after_g.into(),
        ..WeighAfter::default()
    });
    assert_eq!(facts.len(), 1, "only the mass: {facts:?}");
    specimen
}

#[test]
fn a_plan_is_a_random_order_that_its_seed_gives_again() {
    let mut story = ready();
    let facts = story.given(plan());
    let Fact::ExperimentPlanned(planned) = &facts[0] else { panic!("{facts:?}") };
    assert_eq!(planned.experiment.as_str(), "X26-001");
    let mut sorted: Vec<String> = planned.runs.iter().map(ToString::to_string).collect();
    sorted.sort();
    assert_eq!(sorted, ["12000", "12000", "15000", "15000", "9000", "9000"]);
    let again = story.given(plan());
    let Fact::ExperimentPlanned(again) = &again[0] else { panic!("{again:?}") };
    assert_eq!(again.runs, planned.runs);
    assert_eq!(again.experiment.as_str(), "X26-002");
    let orders: std::collections::BTreeSet<String> = (0..20)
        .map(|seed| {
            let facts = story.ask(PlanExperiment { seed: format!("{seed}"), ..plan() }).unwrap();
            format!("{facts:?}").split("runs: ").nth(1).unwrap().to_owned()
        })
        .collect();
    assert!(orders.len() > 10, "other seeds give other orders");
}

#[test]
fn a_plan_that_tells_nothing_is_refused() {
    let story = ready();
    let levels = |levels: &[&str]| levels.iter().map(|one| (*one).to_owned()).collect::<Vec<_>>();
    for (request, says) in [
        (
            PlanExperiment { levels: levels(&["13000", "15000"]), ..plan() },
            "levels: the 12000 revolutions of the method lie outside of the levels 13000 to 15000 revolutions",
        ),
        (
            PlanExperiment { levels: levels(&["12000"]), ..plan() },
            "levels: fewer than two levels are named",
        ),
        (
            PlanExperiment { levels: levels(&["9000", "12000", "9000.0"]), ..plan() },
            "levels.2: the level 9000.0 is named twice",
        ),
        (
            PlanExperiment { levels: levels(&["-1", "12000"]), ..plan() },
            "levels.0: -1 revolutions cannot be",
        ),
        (
            PlanExperiment { replicates: "0".into(), ..plan() },
            "replicates: “0” is not a whole number from 1 to 20",
        ),
        (
            PlanExperiment { levels: levels(&["9000", "12000"]), replicates: "1".into(), ..plan() },
            "replicates: 2 levels with 1 runs each make 2 runs",
        ),
        (
            PlanExperiment { seed: String::new(), ..plan() },
            "seed: “” is not a whole number from 0 to 4294967295",
        ),
        (
            PlanExperiment { condition: "speed".into(), ..plan() },
            "condition: “speed” is not a condition of a run that is known here; known: revolutions, charge, water-temperature and water-volume",
        ),
        (
            PlanExperiment { method: "en-1097-1".into(), ..plan() },
            "method: the method “en-1097-1” is not in use here",
        ),
        (PlanExperiment { grading: "25".into(), ..plan() }, "[grading-unknown]"),
        (PlanExperiment { sample: "S26-009".into(), ..plan() }, "[sample-unknown]"),
    ] {
        let refused = story.refused(request);
        assert!(refused.contains(says), "{refused}");
    }
}

/// A specimen runs at its planned level without a deviation and gives no result, ever.
#[test]
fn an_experiment_runs_at_its_levels_and_gives_no_result() {
    let mut story = ready();
    story.given(plan());
    let sample = story.sample("19.0");
    let before_g = 1500;
    // Losses of 11, 15 and 19 % at the levels, 0.2 % more and less.
    for number in 1..=6 {
        let percent_tenths = match level(&story, number).as_str() {
            "9000" => 110,
            "12000" => 150,
            _ => 190,
        };
        let again = (1..number).any(|other| level(&story, other) == level(&story, number));
        let lost_tenths = percent_tenths + if again { 2 } else { -2 };
        let after_g = f64::from(before_g) * (1000.0 - f64::from(lost_tenths)) / 1000.0;
        run_next(&mut story, &sample, number, &format!("{after_g:.0}"));
    }
    assert!(story.lab.results.is_empty());
    assert!(!story.lab.next().iter().any(|next| matches!(next, Next::Release { .. })));
    let specimen = story.lab.experiments["X26-001"].run(1).unwrap().specimen().unwrap().to_string();
    let refused = story.refused(WorkOutResult {
        specimens: vec![specimen.clone()],
        deviation: "all the same".into(),
    });
    assert!(refused.contains("[specimen-of-experiment]"), "{refused}");

    // By hand: Sxx = 4 · 3000², residual sum of squares 6 · 0.04 with 4 degrees of freedom, so
    // u(b) = √(0.06 / 3.6e7) and u(a) = √(0.06 / 6) at the centre; S = 120 · 100 · b / a.
    let found = analysis(&story, "X26-001");
    assert_eq!((found.model, found.nominal.unwrap().to_string().as_str()), (Model::Line, "12000"));
    let sensitivity = found.sensitivity.clone().unwrap();
    assert!((sensitivity.percent_of_loss - 16.0 / 15.0).abs() < 1e-9);
    let (b, a) = (4.0 / 3000.0, 15.0_f64);
    let u = 12_000.0 / a * (0.06_f64 / 3.6e7 + (b / a).powi(2) * 0.01).sqrt();
    assert!((sensitivity.standard_uncertainty - u).abs() < 1e-9, "{sensitivity:?}");
    let (value, expanded) = sensitivity.recorded.unwrap();
    assert_eq!((value.to_string(), expanded.to_string()), ("1.067".into(), "0.067".into()));
    assert_eq!(
        found.sensitivity_in_words(),
        "the loss changes by 1.067 % ± 0.067 % (k = 2) of itself per 1 % more revolutions"
    );
    let there = found.at_nominal.as_ref().unwrap();
    assert!((there.value - 15.0).abs() < 1e-9);

    // What was found is recorded as it is proposed.
    story.given(RecordSensitivity {
        condition: "revolutions".into(),
        method: "astm-d6928".into(),
        percent_of_loss: value.to_string(),
        uncertainty: expanded.to_string(),
        experiment: story.lab.experiments["X26-001"].name(),
    });
    let id = story.lab.experiments["X26-001"].method.clone();
    let recorded = story.lab.sensitivity(Condition::Revolutions, &id).unwrap();
    assert_eq!(recorded.value.experiment, "experiment X26-001, loss over revolutions");

    // A run that is left out no longer counts, and stays on record with its reason.
    story.given(LeaveOutOfExperiment {
        experiment: "x26-001".into(),
        run: "1".into(),
        reason: "the jar leaked".into(),
    });
    assert_eq!(analysis(&story, "X26-001").points.len(), 5);
    assert_eq!(story.lab.experiment_losses(&story.lab.experiments["X26-001"]).len(), 6);
}

#[test]
fn a_planned_level_is_a_rule_like_any_other() {
    let mut story = ready();
    story.given(plan());
    let sample = story.sample("19.0");
    let specimen = story.specimen(&sample);
    story.given(AssignToExperiment {
        experiment: "X26-001".into(),
        run: "1".into(),
        specimen: specimen.clone(),
        ..AssignToExperiment::default()
    });
    let wanted = level(&story, 1);
    let facts = story.given(story.start(&specimen));
    let Fact::RunStarted { run, .. } = &facts[0] else { panic!("{facts:?}") };
    let off = if wanted == "12000" { "9000" } else { "12000" };
    let stop = |revolutions: &str| StopRun {
        run: run.to_string(),
        revolutions: revolutions.into(),
        ..StopRun::default()
    };
    let refused = story.refused(stop(off));
    assert!(refused.contains(&format!("the count is {off} revolutions")), "{refused}");
    story.at = story.at.checked_add(30.minutes()).unwrap();
    assert!(story.ask(stop(&wanted)).is_ok());

    // Of one sample two specimens: the other one is the client's, by the method's own rules.
    let clients = story.specimen(&sample);
    let (_, grading) = story.lab.rules_of(&story.lab.specimens[clients.as_str()]).unwrap();
    assert_eq!(grading.revolutions.as_ref().unwrap().nominal.value.to_string(), "12000");

    // A number that is corrected later holds in the experiment, too.
    story.given(ConfirmFigure {
        method: "astm-d6928".into(),
        figure: "speed_rpm.tolerance".into(),
        value: "3".into(),
        against: "our copy".into(),
        ..ConfirmFigure::default()
    });
    let (method, grading) = story.lab.rules_of(&story.lab.specimens[specimen.as_str()]).unwrap();
    assert_eq!(method.speed_rpm.as_ref().unwrap().limits().to_string(), "97 to 103");
    assert_eq!(grading.revolutions.as_ref().unwrap().nominal.value.to_string(), wanted);
}

#[test]
fn a_specimen_belongs_to_one_run_for_good() {
    let mut story = ready();
    story.given(PlanExperiment { sample: String::new(), ..plan() });
    let sample = story.sample("19.0");
    let (one, other) = (story.specimen(&sample), story.specimen(&sample));
    let assign = |specimen: &str, run: &str, reason: &str| AssignToExperiment {
        experiment: "X26-001".into(),
        run: run.into(),
        specimen: specimen.into(),
        reason: reason.into(),
    };
    story.given(assign(&one, "1", ""));
    for (request, says) in [
        (assign(&one, "2", ""), "S26-001-1 is the specimen of run 1 of X26-001"),
        (assign(&other, "1", ""), "run 1 has the specimen S26-001-1"),
        (assign(&other, "7", ""), "X26-001 has no run “7”; it has the runs 1 to 6"),
        (assign("S26-001-9", "2", ""), "[specimen-unknown]"),
        (
            AssignToExperiment { experiment: "X26-009".into(), ..assign(&other, "2", "") },
            "[experiment-unknown]",
        ),
    ] {
        let refused = story.refused(request);
        assert!(refused.contains(says), "{refused}");
    }
    story.given(assign(&other, "1", "the first was spilt"));
    // The first one may have run beside the method: it stays a specimen of the experiment.
    assert_eq!(story.lab.experiment_of(&one.as_str().into()).unwrap().1.number, 1);
    let clients = story.specimen_of_a_client();
    story.run(&clients);
    let turned = story.lab.specimens.values().rfind(|one| one.run.is_some()).unwrap();
    let refused = story.refused(assign(turned.code.as_str(), "2", ""));
    assert!(refused.contains("[specimen-run]"), "{refused}");
}

impl Story {
    fn specimen_of_a_client(&mut self) -> String {
        let sample = self.sample("19.0");
        self.specimen(&sample)
    }
}

/// NIST Statistical Reference Datasets, Linear Regression, Norris: 36 points, certified values.
/// Its y is taken here as a loss, so that it is a tenth of itself and with it the coefficients.
#[test]
fn a_published_regression_comes_through_the_whole_path() {
    let mut story = ready();
    let norris = include_str!("../../../stats/checks/strd_norris.csv");
    let rows = norris.lines().skip(1).filter(|line| !line.is_empty()).map(|line| {
        let (y, x) = line.split_once(',').unwrap();
        let tenth =
            y.parse::<stonewear_measure::Decimal>().unwrap() / stonewear_measure::Decimal::TEN;
        format!("{x},{tenth}\n")
    });
    let table: String = std::iter::once("level,loss\n".to_owned()).chain(rows).collect();
    let facts = story.given(imported(&table));
    let Fact::ExperimentImported(recorded) = &facts[0] else { panic!("{facts:?}") };
    assert_eq!(recorded.rows.len(), 36);
    let found = analysis(&story, "X26-001");
    let near = |value: f64, certified: f64, what: &str| {
        let off = (value * 10.0 - certified).abs() / certified.abs();
        assert!(off < 1e-12, "{what}: {value}, {off:e} off");
    };
    let figures =
        |one: &Coefficient| (one.estimate.clone().unwrap(), one.standard_error.clone().unwrap());
    let (b0, b1) = (figures(&found.line.coefficients[0]), figures(&found.line.coefficients[1]));
    near(b0.0, -0.262_323_073_774_029, "B0");
    near(b0.1, 0.232_818_234_301_152, "standard deviation of B0");
    near(b1.0, 1.002_116_818_020_45, "B1");
    near(b1.1, 0.429_796_848_199_937e-3, "standard deviation of B1");
    near(found.line.residual_standard_deviation.clone().unwrap(), 0.884_796_396_144_373, "s");
    // The method turns 12 000 times, far beyond these levels.
    let why = found.sensitivity.unwrap_err();
    assert!(why.contains("lie outside of the levels"), "{why}");
}

/// Losses that bend: 11, 15, 17 %. At the middle the slope is (17 - 11) / 6000 and S = 12000 / 15
/// times that.
#[test]
fn a_curve_is_taken_where_the_line_does_not_fit() {
    let mut story = ready();
    story.given(imported(
        "level,loss\n9000,10.9\n9000,11.1\n12000,14.9\n12000,15.1\n15000,16.9\n15000,17.1\n",
    ));
    let found = analysis(&story, "X26-001");
    assert_eq!(found.model, Model::Quadratic);
    assert!(found.line_fits.is_significant(), "{}", found.line_fits.in_words());
    assert!(found.why.starts_with("the line does not fit (lack of fit F = "), "{}", found.why);
    let sensitivity = found.sensitivity.clone().unwrap();
    assert!((sensitivity.percent_of_loss - 0.8).abs() < 1e-9, "{sensitivity:?}");
    assert!((found.loss_at(12000.0).unwrap().value - 15.0).abs() < 1e-9);
    // Without replicates nothing speaks against a line, and that is said.
    story.given(imported("level,loss\n9000,11\n12000,15\n15000,17\n"));
    let found = analysis(&story, "X26-002");
    assert_eq!(found.model, Model::Line);
    assert!(found.why.contains("no level was run twice"), "{}", found.why);
}

/// The temperature counts by the degree: losses of 14.8, 15.0, 15.2 % at 15, 20, 25 °C change by
/// 0.04 % a degree, which is 0.267 % of 15.
#[test]
fn a_temperature_counts_by_the_degree() {
    let mut story = ready();
    story.given(ImportExperiment {
        condition: "water-temperature".into(),
        ..imported("level,loss\n15,14.79\n15,14.81\n20,14.99\n20,15.01\n25,15.19\n25,15.21\n")
    });
    let sensitivity = analysis(&story, "X26-001").sensitivity.unwrap();
    assert!((sensitivity.percent_of_loss - 100.0 * 0.04 / 15.0).abs() < 1e-9, "{sensitivity:?}");
}

#[test]
fn a_table_with_faults_leaves_nothing_behind() {
    let story = ready();
    for (table, says) in [
        ("level,loss\n9000,11\n12000,x\n15000,101\n", "table: line 3, column loss"),
        ("level,loss\n9000,11\n12000,x\n15000,101\n", "table: line 4: a loss of 101 % cannot be"),
        (
            "level,loss\n9000,11\n12000,15\n",
            "the table has 2 rows; an experiment has at least 3 losses",
        ),
        ("level,loss\n9000,11\n9000,12\n9000,15\n", "all losses were found at one level"),
        ("x,y\n1,2\n", "[input-table]"),
        ("", "[input-table]"),
    ] {
        let refused = story.refused(imported(table));
        assert!(refused.contains(says), "{table}: {refused}");
    }
    let refused = story.refused(ImportExperiment {
        source: String::new(),
        ..imported("level,loss\n1,1\n2,2\n3,3\n")
    });
    assert!(refused.contains("source: where the figures are on record is missing"), "{refused}");
}

proptest::proptest! {
    #![proptest_config(proptest::prelude::ProptestConfig::with_cases(60))]

    /// The order in which losses are recorded does not matter, and a stone that loses half as much
    /// of everything has the same sensitivity: it is a share of the loss.
    #[test]
    fn a_sensitivity_is_a_share_whatever_the_order(
        losses in proptest::collection::vec(800_u32..2_000, 8),
        order in proptest::prelude::Strategy::prop_shuffle(proptest::prelude::Just([0_usize, 1, 2, 3, 4, 5, 6, 7])),
    ) {
        let mut story = ready();
        let levels = [9000, 9000, 11000, 11000, 13000, 13000, 15000, 15000];
        let mut import = |order: &[usize], parts: u32| {
            let row = |place: &usize| {
                // Thousandths and two-thousandths, exactly.
                let loss = stonewear_measure::Decimal::new(i64::from(losses[*place] * 10 / parts), 3);
                format!("{},{loss}\n", levels[*place])
            };
            let table = format!("level,loss\n{}", order.iter().map(row).collect::<String>());
            let facts = story.given(imported(&table));
            let Fact::ExperimentImported(recorded) = &facts[0] else { panic!("{facts:?}") };
            let found = analysis(&story, recorded.experiment.as_str()).sensitivity.unwrap();
            (found.percent_of_loss, found.standard_uncertainty)
        };
        let plain = import(&[0, 1, 2, 3, 4, 5, 6, 7], 1);
        for other in [import(&order, 1), import(&order, 2)] {
            proptest::prop_assert!((plain.0 - other.0).abs() <= 1e-9 * plain.0.abs().max(1.0), "{plain:?} {other:?}");
            proptest::prop_assert!((plain.1 - other.1).abs() <= 1e-9 * plain.1.max(1.0), "{plain:?} {other:?}");
        }
    }
}
