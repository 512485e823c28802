//! Designed studies, from the request to the verdict, with published data.

use crate::story::Story;
use proptest::prelude::*;
use std::collections::BTreeSet;
use stonewear_lab::Fact;
use stonewear_lab::fact::{Design, PlannedRun, StudyPlanned};
use stonewear_lab::request::*;
use stonewear_lab::study::Analysis;
use stonewear_measure::Decimal;

/// A 5 × 5 Latin square, five rocket propellants over batches and operators: D. C. Montgomery,
/// Design and Analysis of Experiments, example 4.3, tables 4.9 to 4.12 (from memory, unconfirmed).
const PROPELLANTS: &str = "batch,operator,propellant,rate\n\
    1,1,A,24\n1,2,B,20\n1,3,C,19\n1,4,D,24\n1,5,E,24\n\
    2,1,B,17\n2,2,C,24\n2,3,D,30\n2,4,E,27\n2,5,A,36\n\
    3,1,C,18\n3,2,D,38\n3,3,E,26\n3,4,A,27\n3,5,B,21\n\
    4,1,D,26\n4,2,E,31\n4,3,A,26\n4,4,B,23\n4,5,C,22\n\
    5,1,E,22\n5,2,A,30\n5,3,B,20\n5,4,C,29\n5,5,D,31\n";

/// Life of batteries of three materials at three temperatures: D. C. Montgomery, as above, table 5.1
/// (from memory, unconfirmed).
const BATTERIES: &str = "material,temperature,life\n\
    1,15,130\n1,15,155\n1,15,74\n1,15,180\n\
    1,70,34\n1,70,40\n1,70,80\n1,70,75\n\
    1,125,20\n1,125,70\n1,125,82\n1,125,58\n\
    2,15,150\n2,15,188\n2,15,159\n2,15,126\n\
    2,70,136\n2,70,122\n2,70,106\n2,70,115\n\
    2,125,25\n2,125,70\n2,125,58\n2,125,45\n\
    3,15,138\n3,15,110\n3,15,168\n3,15,160\n\
    3,70,174\n3,70,120\n3,70,150\n3,70,139\n\
    3,125,96\n3,125,104\n3,125,82\n3,125,60\n";

/// Resistivity of silicon by five instruments: NIST Statistical Reference Datasets, Analysis of
/// Variance, SiRstv (certified values).
const RESISTIVITY: &str = "instrument,value\n\
    1,196.3052\n1,196.1240\n1,196.1890\n1,196.2569\n1,196.3403\n\
    2,196.3042\n2,196.3825\n2,196.1669\n2,196.3257\n2,196.0422\n\
    3,196.1303\n3,196.2005\n3,196.2889\n3,196.0343\n3,196.1811\n\
    4,196.2795\n4,196.1748\n4,196.1494\n4,196.1485\n4,195.9885\n\
    5,196.2119\n5,196.1051\n5,196.1850\n5,196.0052\n5,196.2090\n";

/// Hours of sleep won with two drugs, taken as two sets: Student's sleep data, with the margins of
/// the TOSTER vignette by D. Lakens and A. Caldwell (from memory, unconfirmed; recomputed).
const SLEEP: &str = "drug,hours\n\
    1,0.7\n1,-1.6\n1,-0.2\n1,-1.2\n1,-0.1\n1,3.4\n1,3.7\n1,0.8\n1,0.0\n1,2.0\n\
    2,1.9\n2,0.8\n2,1.1\n2,0.1\n2,-0.1\n2,4.4\n2,5.5\n2,1.6\n2,4.6\n2,3.4\n";

fn founded() -> Story {
    Story::founded()
}

fn imported(question: &str, table: &str) -> PlanStudy {
    PlanStudy {
        title: "published data".into(),
        question: question.into(),
        table: table.into(),
        unit: "units".into(),
        document: "named beside the data".into(),
        ..PlanStudy::default()
    }
}

/// Asks for the study, and analyses what it became.
fn analysed(request: PlanStudy) -> (StudyPlanned, Analysis) {
    let mut story = founded();
    story.given(request);
    let study = &story.lab.studies["Y26-001"];
    (study.plan.value.clone(), story.lab.study_analysis(study).unwrap())
}

fn near(found: Option<Decimal>, published: &str, tolerance: &str) {
    let (found, published) = (found.unwrap(), published.parse::<Decimal>().unwrap());
    let off = (found - published).abs();
    assert!(off <= tolerance.parse().unwrap(), "{found} in place of {published}");
}

fn row(analysis: &Analysis, source: &str) -> stonewear_lab::study::TableRow {
    let all = &analysis.table;
    all.iter().find(|row| row.source == source).unwrap_or_else(|| panic!("{all:?}")).clone()
}

#[test]
fn a_latin_square_that_was_carried_out_elsewhere_gives_the_published_table() {
    let (plan, analysis) = analysed(imported("same", PROPELLANTS));
    assert_eq!(plan.design, Design::LatinSquare);
    for (source, squares) in [("batch", "68"), ("operator", "150"), ("propellant", "330")] {
        near(row(&analysis, source).sum_of_squares, squares, "0.005");
        assert_eq!(row(&analysis, source).freedom, 4);
    }
    let propellant = row(&analysis, "propellant");
    near(propellant.f, "7.73", "0.005");
    near(propellant.p, "0.0025", "0.00005");
    let residuals = analysis.residuals.as_ref().unwrap();
    assert_eq!(residuals.freedom, 12);
    near(residuals.deviation, "3.26599", "0.00001");
    assert!(
        analysis
            .verdict
            .iter()
            .any(|said| said.starts_with("The levels of propellant are not the same"))
    );
    assert!(
        analysis
            .verdict
            .iter()
            .any(|said| said.starts_with("No difference between the levels of batch"))
    );
}

#[test]
fn two_factors_with_repetitions_give_the_published_table() {
    let (plan, analysis) = analysed(imported("same", BATTERIES));
    assert_eq!(plan.design, Design::Crossed);
    for (source, squares, f) in [
        ("material", "10683.72", "7.91"),
        ("temperature", "39118.72", "28.97"),
        ("material × temperature", "9613.78", "3.56"),
    ] {
        near(row(&analysis, source).sum_of_squares, squares, "0.01");
        near(row(&analysis, source).f, f, "0.005");
    }
    assert!(
        analysis.verdict.iter().any(|said| said.contains("act together")),
        "{:?}",
        analysis.verdict
    );
}

#[test]
fn one_factor_gives_the_certified_table() {
    let (plan, analysis) = analysed(imported("same", RESISTIVITY));
    assert_eq!(plan.design, Design::OneWay);
    let instrument = row(&analysis, "instrument");
    near(instrument.sum_of_squares, "0.0511462616", "0.00000001");
    near(instrument.f, "1.180462374", "0.000001");
    near(analysis.residuals.unwrap().deviation, "0.1040760683", "0.0000001");
    assert!(!analysis.factors[0].differs);
    assert!(analysis.factors[0].would_have_been_seen.unwrap() > Decimal::ZERO);
}

#[test]
fn agreement_of_two_sets_gives_the_published_tests() {
    let (plan, analysis) = analysed(PlanStudy {
        difference: "0.5".into(),
        difference_source: "the vignette".into(),
        ..imported("equivalent", SLEEP)
    });
    assert_eq!(plan.design, Design::TwoSamples);
    let found = analysis.equivalence.unwrap();
    near(found.difference, "-1.58", "0.000001");
    near(found.freedom, "17.78", "0.005");
    near(found.t, "-1.861", "0.0005");
    near(found.t_lower, "-1.272", "0.0005");
    near(found.t_upper, "-2.450", "0.0005");
    near(found.p_lower, "0.89", "0.0005");
    near(found.p_upper, "0.012", "0.0005");
    near(found.lower, "-3.053381", "0.00001");
    near(found.upper, "-0.106619", "0.00001");
    assert!(!found.agrees && !found.differs);
    assert!(analysis.verdict[0].starts_with("Agreement is not shown"), "{:?}", analysis.verdict);
}

fn ready() -> (Story, String) {
    let mut story = Story::equipped();
    story.given(AdoptMethod { method: "astm-d6928".into() });
    let sample = story.sample("19.0");
    (story, sample)
}

fn factor(name: &str, levels: &str) -> FactorForm {
    FactorForm { name: name.into(), levels: levels.into() }
}

fn jars(sample: &str) -> PlanStudy {
    PlanStudy {
        title: "are the jars the same".into(),
        question: "same".into(),
        method: "astm-d6928".into(),
        sample: sample.into(),
        factors: vec![factor("jar", "j1, j2")],
        difference: "0.8".into(),
        deviation: "0.3".into(),
        deviation_source: "invented".into(),
        repetitions: "2".into(),
        seed: "5".into(),
        ..PlanStudy::default()
    }
}

fn planned(story: &Story) -> StudyPlanned {
    story.lab.studies["Y26-001"].plan.value.clone()
}

#[test]
fn a_plan_has_as_many_runs_as_its_power_needs_and_says_so() {
    let (mut story, sample) = ready();
    story.given(PlanStudy { repetitions: String::new(), ..jars(&sample) });
    let plan = planned(&story);
    assert_eq!(plan.figures.runs_needed, Some(8));
    assert_eq!(plan.runs.len(), 8);
    assert!(plan.figures.planned_power_percent.unwrap() >= Decimal::from(80));
    assert!(plan.figures.planned_difference.unwrap() <= "0.8".parse().unwrap());
    assert!(plan.why.iter().any(|said| said.starts_with("With 8 runs")), "{:?}", plan.why);
}

#[test]
fn a_plan_is_refused_with_everything_that_is_wrong() {
    let (story, sample) = ready();
    for (request, says) in [
        (
            PlanStudy { seed: "x".into(), ..jars(&sample) },
            "[input-number] seed: “x” is not a whole number",
        ),
        (PlanStudy { question: "why".into(), ..jars(&sample) }, "known: same"),
        (
            PlanStudy { factors: vec![factor("jar", "J1, J9")], ..jars(&sample) },
            "there is no jar “J9”",
        ),
        (PlanStudy { factors: vec![factor("jar", "J1, J1")], ..jars(&sample) }, "named twice"),
        (
            PlanStudy { factors: vec![], ..jars(&sample) },
            "[study-factors] factors: no factor is named",
        ),
        (
            PlanStudy { deviation: String::new(), ..jars(&sample) },
            "neither a standard deviation nor",
        ),
        (PlanStudy { repetitions: "1".into(), ..jars(&sample) }, "leave nothing to judge"),
        (PlanStudy { repetitions: "150".into(), ..jars(&sample) }, "the plan has 300 runs"),
        (
            PlanStudy { question: "equivalent".into(), ..jars(&sample) },
            "where the margin comes from is missing",
        ),
        (
            PlanStudy {
                document: "d".into(),
                table: "jar,loss\nA,200\nB,1".into(),
                ..jars(&sample)
            },
            "line 2: a loss of 200 % cannot be",
        ),
    ] {
        let refusal = story.refused(request);
        assert!(refusal.contains(says), "{refusal}");
    }
}

#[test]
fn runs_are_assigned_departures_are_recorded_and_the_study_is_concluded() {
    let (mut story, sample) = ready();
    story.given(jars(&sample));
    let plan = planned(&story);
    assert_eq!(plan.runs.len(), 4);
    // The first run is made in J1, whatever the plan says of it.
    let first = story.specimen(&sample);
    story.run(&first);
    let fits = plan.runs.iter().find(|run| run.levels[0] == "J1").unwrap().run;
    let other = plan.runs.iter().find(|run| run.levels[0] == "J2").unwrap().run;
    let assign = |run: u32, deviation: &str| AssignStudyRun {
        study: "Y26-001".into(),
        run: run.to_string(),
        specimen: first.clone(),
        deviation: deviation.into(),
        ..AssignStudyRun::default()
    };
    assert!(story.refused(assign(other, "")).contains("jar J1 in place of J2"));
    let facts = story.given(assign(other, "the other jar leaked"));
    let Fact::StudyRunAssigned(assigned) = &facts[0] else { panic!("{facts:?}") };
    assert_eq!(assigned.deviations[0].rule, "study-departure");
    assert!(story.refused(assign(fits, "")).contains("is the specimen of run"));
    story.given(WeighAfter {
        specimen: first.clone(),
        mass_g: "1278".into(),
        ..WeighAfter::default()
    });
    let study = &story.lab.studies["Y26-001"];
    let standing = &story.lab.study_runs(study)[other as usize - 1];
    assert_eq!(standing.value.unwrap(), "14.8".parse().unwrap());
    assert_eq!(standing.excused.as_deref(), Some("the other jar leaked"));
    assert!(story.lab.study_analysis(study).is_err(), "one value says nothing");

    let import = |table: &str, reason: &str| ImportStudyValues {
        study: "Y26-001".into(),
        table: table.into(),
        document: "invented notebook".into(),
        reason: reason.into(),
    };
    let replaces = story.refused(import(&format!("run,loss\n{other},15"), ""));
    assert!(replaces.contains("[replaces-record]"), "{replaces}");
    assert!(story.refused(import("run,loss\n9,15", "")).contains("line 2: Y26-001 has no run “9”"));
    let rest: Vec<u32> = (1..=4).filter(|run| *run != other).collect();
    let (two, last) = rest.split_at(2);
    story.given(import(&format!("run,loss\n{},15.0\n{},14.9\n", two[0], two[1]), ""));
    let conclude = |deviation: &str| ConcludeStudy {
        study: "Y26-001".into(),
        remark: "the jars stay in use".into(),
        deviation: deviation.into(),
        ..ConcludeStudy::default()
    };
    let missing = story.refused(conclude(""));
    assert!(missing.contains(&format!("these runs have no value: {}", last[0])), "{missing}");
    let facts = story.given(conclude("the stone ran out"));
    let Fact::StudyConcluded(concluded) = &facts[0] else { panic!("{facts:?}") };
    assert!(!concluded.verdict.is_empty() && concluded.figures.len() > 3, "{concluded:?}");
    assert!(story.refused(conclude("")).contains("Y26-001 is concluded"));
}

#[test]
fn a_qualification_agrees_with_its_reference_value_or_says_what_it_lacks() {
    let (mut story, sample) = ready();
    let request = PlanStudy {
        title: "qualification".into(),
        question: "reference".into(),
        item: "MILL".into(),
        factors: vec![],
        repetitions: "5".into(),
        difference: "1".into(),
        difference_source: "invented contract".into(),
        reference_value: "14.8".into(),
        reference_uncertainty: "0.1".into(),
        reference_source: "invented certificate".into(),
        ..jars(&sample)
    };
    story.given(request);
    assert_eq!(planned(&story).design, Design::OneSample);
    story.given(ImportStudyValues {
        study: "Y26-001".into(),
        table: "run,loss\n1,14.9\n2,14.6\n3,15.1\n4,14.7\n5,14.9\n".into(),
        document: "invented notebook".into(),
        reason: String::new(),
    });
    let study = &story.lab.studies["Y26-001"];
    let analysis = story.lab.study_analysis(study).unwrap();
    let found = analysis.equivalence.unwrap();
    // Mean 14.84; s = 0.19494; u = √(0.19494² / 5 + 0.1²) = 0.13266.
    near(found.difference, "0.04", "0.000001");
    near(found.standard_error, "0.132665", "0.000001");
    assert!(found.agrees);
    assert!(analysis.verdict[0].starts_with("Agreement is shown"), "{:?}", analysis.verdict);
    assert_eq!(story.lab.studies_of(&"MILL".into()).count(), 1);
}

fn positions(size: usize, seed: u64) -> PlanStudy {
    let levels =
        |letter: char| (1..=size).map(|n| format!("{letter}{n}")).collect::<Vec<_>>().join(",");
    PlanStudy {
        factors: vec![
            factor("position", &levels('P')),
            factor("batch", &levels('B')),
            factor("turning", &levels('T')),
        ],
        repetitions: "1".into(),
        seed: seed.to_string(),
        ..jars("")
    }
}

fn runs_of(story: &Story, request: PlanStudy) -> Vec<PlannedRun> {
    let facts = story.ask(request).unwrap();
    let Fact::StudyPlanned(plan) = &facts[0] else { panic!("{facts:?}") };
    plan.runs.clone()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn every_square_has_each_level_once_with_each_other_and_comes_from_its_seed(size in 3_usize..7, seed: u64) {
        let (story, sample) = ready();
        let request = PlanStudy { sample, ..positions(size, seed) };
        let runs = runs_of(&story, request.clone());
        for (one, other) in [(0, 1), (0, 2), (1, 2)] {
            let pairs: BTreeSet<_> = runs.iter().map(|run| (&run.levels[one], &run.levels[other])).collect();
            prop_assert_eq!(pairs.len(), size * size);
        }
        // What turns together stays together.
        let turnings: Vec<&String> = runs.iter().map(|run| &run.levels[2]).collect();
        prop_assert_eq!(turnings.windows(2).filter(|pair| pair[0] != pair[1]).count(), size - 1);
        prop_assert_eq!(runs_of(&story, request), runs);
    }

    #[test]
    fn the_order_of_the_runs_does_not_change_the_analysis(order in Just((0..25_usize).collect::<Vec<_>>()).prop_shuffle()) {
        let lines: Vec<&str> = PROPELLANTS.lines().collect();
        let mixed: Vec<&str> = order.iter().map(|at| lines[at + 1]).collect();
        let table = format!("{}\n{}\n", lines[0], mixed.join("\n"));
        let (_, mixed) = analysed(imported("same", &table));
        let (_, plain) = analysed(imported("same", PROPELLANTS));
        for source in ["batch", "operator", "propellant"] {
            let (one, other) = (row(&mixed, source), row(&plain, source));
            prop_assert_eq!((one.f, one.p), (other.f, other.p));
        }
    }
}
