//! Rounds between laboratories: published rounds through the laboratory's own path (files in,
//! figures out), and what is refused on the way.

use crate::story::Story;
use proptest::prelude::*;
use std::path::Path;
use stonewear_lab::Fact;
use stonewear_lab::fact::round::RoundFact;
use stonewear_lab::request::*;
use stonewear_lab::round::{Analysis, HomogeneityVerdict, analyse, csv, document, homogeneity};
use stonewear_lab::state::Round;
use stonewear_measure::Decimal;

/// One published result: laboratory, material, replicate, value.
type Row = (String, String, usize, String);

fn row(laboratory: &str, material: &str, replicate: usize, value: &str) -> Row {
    (laboratory.to_owned(), material.to_owned(), replicate, value.to_owned())
}

/// The published data that the statistics are checked with; the source stands in each file.
fn published(file: &str) -> String {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../stats/checks");
    std::fs::read_to_string(folder.join(file)).unwrap()
}

fn cells(text: &str) -> Vec<Vec<String>> {
    text.lines()
        .filter(|line| !line.starts_with('#') && !line.trim().is_empty())
        .skip(1)
        .map(|line| line.split(',').map(|cell| cell.trim().to_owned()).collect())
        .collect()
}

fn distinct<'a>(all: impl Iterator<Item = &'a String>) -> Vec<String> {
    let mut found = Vec::new();
    for one in all {
        if !found.contains(one) {
            found.push(one.clone());
        }
    }
    found
}

/// Plans a round for these results with everybody in it; nothing has come yet.
fn planned(quantity: &str, rows: &[Row]) -> Story {
    let mut story = Story::founded();
    let laboratories = distinct(rows.iter().map(|row| &row.0));
    let materials = distinct(rows.iter().map(|row| &row.1));
    story.given(PlanRound {
        title: "published round".into(),
        method: "as published".into(),
        quantity: quantity.into(),
        materials: materials.join("\n"),
        replicates: rows.iter().map(|row| row.2).max().unwrap().to_string(),
        participants: laboratories
            .iter()
            .map(|name| format!("Laboratory <{name}>; somebody there\n"))
            .collect(),
        closes_on: "2026-06-30".into(),
        seed: "5725".into(),
        ..PlanRound::default()
    });
    story
}

fn round(story: &Story) -> &Round {
    story.lab.rounds.values().next().unwrap()
}

/// The code that a laboratory has drawn.
fn code(story: &Story, laboratory: &str) -> String {
    let name = format!("Laboratory <{laboratory}>");
    let joined = round(story).participants.values().find(|one| one.value.laboratory == name);
    joined.unwrap().value.participant.to_string()
}

/// The file of results that a set of rows makes.
fn file<'a>(story: &Story, rows: impl IntoIterator<Item = &'a Row>) -> String {
    let mut text = "code,material,replicate,value\n".to_owned();
    for (laboratory, material, replicate, value) in rows {
        text += &format!("{},{material},{replicate},{value}\n", code(story, laboratory));
    }
    text
}

fn take_in(story: &mut Story, table: String) {
    story.given(TakeInResults { round: "B26-001".into(), table, ..TakeInResults::default() });
}

/// The whole way: planned, one combined file in.
fn played(quantity: &str, rows: &[Row]) -> Story {
    let mut story = planned(quantity, rows);
    let table = file(&story, rows);
    take_in(&mut story, table);
    story
}

fn leave_out(story: &mut Story, laboratory: &str, material: &str) {
    let participant = code(story, laboratory);
    story.given(JudgeCell {
        round: "b26-001".into(),
        participant,
        material: material.into(),
        left_out: "yes".into(),
        reason: "outlier at 1 % in the published table".into(),
    });
}

fn precision(analysis: &Analysis, material: &str) -> (usize, f64, f64, f64) {
    let found = analysis.materials.iter().find(|one| one.material == material).unwrap();
    let precision = found.precision.as_ref().unwrap();
    (
        precision.laboratories,
        precision.mean,
        precision.s_r.clone().unwrap(),
        precision.s_reproducibility.clone().unwrap(),
    )
}

#[track_caller]
fn close(found: f64, published: f64, half_a_digit: f64) {
    assert!((found - published).abs() <= half_a_digit, "{found} is not {published}");
}

/// BRE, data and precision of the European cross-testing experiment on the Los Angeles test,
/// tables 1: 28 laboratories, three levels, two portions; outliers A and X of level 3 left out.
#[test]
fn the_european_round_of_drum_attrition() {
    let rows: Vec<Row> = cells(&published("la_ils_european_bre.csv"))
        .iter()
        .flat_map(|cells| {
            [3, 4].map(|column| row(&cells[1], &cells[2], column - 2, &cells[column]))
        })
        .collect();
    // Empty values are rows of the form that nobody filled in.
    let mut story = played("loss, %", &rows);
    assert_eq!(round(&story).progress(), (28 * 6 - 10, 28 * 6));
    let all = analyse(round(&story));
    close(precision(&all, "3").1, 37.3, 0.05);
    // Published flags of level 3: 83 and 158 at 1 %; the tests of ISO 5725-2 say so of 83.
    assert_eq!(all.materials[2].cochran.as_ref().unwrap().laboratory, code(&story, "83"));
    for laboratory in ["83", "158"] {
        leave_out(&mut story, laboratory, "3");
    }
    let analysis = analyse(round(&story));
    for (material, laboratories, mean, s_r, s_reproducibility) in
        [("1", 28, 8.3, 0.213, 0.459), ("2", 28, 21.6, 0.487, 1.364), ("3", 26, 37.5, 0.572, 2.348)]
    {
        let found = precision(&analysis, material);
        assert_eq!(found.0, laboratories, "material {material}");
        close(found.1, mean, 0.05);
        close(found.2, s_r, 0.0005);
        close(found.3, s_reproducibility, 0.0005);
    }
    // What is left out still has its score, and the robust mean hardly moves.
    let cell = analysis.materials[2].cell(&code(&story, "83")).unwrap();
    assert!(cell.left_out.is_some() && cell.h().is_none() && cell.score.is_some());

    // The closed round keeps the figures as decimals.
    story.given(CloseRound { round: "B26-001".into(), remark: String::new() });
    let figures = &round(&story).closed().unwrap().value.figures[2];
    assert_eq!(figures.laboratories, 26);
    assert_eq!(figures.s_reproducibility, Some("2.34805".parse().unwrap()));
}

/// ASTM E691, glucose in serum: 8 laboratories, 5 materials, 3 replicates. Materials A, D and E as
/// published (from memory of the standard, reproduced); B and C of the distributed file do not
/// give the figures of the standard and are no check.
#[test]
fn the_round_of_glucose_in_serum() {
    let rows: Vec<Row> = cells(&published("e691_glucose.csv"))
        .iter()
        .flat_map(|cells| {
            [2, 3, 4].map(|column| row(&cells[1], &cells[0], column - 1, &cells[column]))
        })
        .collect();
    let story = played("glucose, mg/dL", &rows);
    let analysis = analyse(round(&story));
    for (material, mean, s_r, s_reproducibility) in [
        ("A", 41.5183, 1.0632, 1.0632),
        ("D", 194.7170, 2.6251, 3.3657),
        ("E", 294.4920, 3.9350, 4.1923),
    ] {
        let found = precision(&analysis, material);
        close(found.1, mean, 0.00015);
        close(found.2, s_r, 0.00005);
        close(found.3, s_reproducibility, 0.00005);
    }
    // h and k of laboratory 8 for A, recomputed with numpy; the critical values as published.
    let cell = analysis.materials[0].cell(&code(&story, "8")).unwrap();
    close(cell.h().unwrap(), 1.746_057_446_424_871_2, 1e-7);
    close(cell.k().unwrap(), 0.773_548_630_539_705_6, 1e-9);
    let limits = cell.consistency.as_ref().unwrap();
    close(limits.h_critical.clone().unwrap(), 2.15, 0.005);
    close(limits.k_critical.clone().unwrap(), 2.06, 0.005);
}

/// ISO 5725-2:1994, Annex B.1, sulfur in coal: 8 laboratories, 4 levels, cells of unequal size
/// (data and figures from memory, reproduced).
#[test]
fn the_round_of_sulfur_in_coal() {
    let check: serde_json::Value =
        serde_json::from_str(&published("ils_iso5725_sulfur.json")).unwrap();
    let mut rows = Vec::new();
    for (level, laboratories) in (1..).zip(check["inputs"]["levels"].as_array().unwrap()) {
        for (laboratory, values) in (1..).zip(laboratories.as_array().unwrap()) {
            for (replicate, value) in (1..).zip(values.as_array().unwrap()) {
                let (laboratory, level) = (format!("{laboratory}"), format!("level {level}"));
                rows.push(row(&laboratory, &level, replicate, &value.to_string()));
            }
        }
    }
    let story = played("sulfur, %", &rows);
    let analysis = analyse(round(&story));
    for (material, mean, s_r, s_reproducibility) in [
        ("level 1", 0.690, 0.015, 0.026),
        ("level 2", 1.252, 0.029, 0.061),
        ("level 3", 1.667, 0.017, 0.035),
        ("level 4", 3.250, 0.026, 0.058),
    ] {
        let found = precision(&analysis, material);
        close(found.1, mean, 0.0012);
        close(found.2, s_r, 0.0012);
        close(found.3, s_reproducibility, 0.0012);
    }
}

/// ISO 13528:2015, Annex E.3, herbicide in water: 34 participants with one result each (figures
/// from memory, s* also expected by a public test file).
#[test]
fn the_round_of_herbicide_in_water() {
    let check: serde_json::Value =
        serde_json::from_str(&published("pt_iso13528_algA.json")).unwrap();
    let values = check["inputs"]["x"].as_array().unwrap().iter();
    let rows: Vec<Row> = (1..)
        .zip(values)
        .map(|(laboratory, value)| row(&format!("{laboratory}"), "water", 1, &value.to_string()))
        .collect();
    let story = played("herbicide, µg/L", &rows);
    let analysis = analyse(round(&story));
    let material = &analysis.materials[0];
    close(material.robust.as_ref().unwrap().standard_deviation, 0.0395, 0.00005);
    close(material.assigned().unwrap(), 0.257_011_039_281_490_05, 1e-9);
    close(material.assigned_uncertainty.unwrap(), 0.008_472_010_217_748_89, 1e-9);
    // No replicates: repeatability is undefined, and says why.
    let why = material.precision.as_ref().unwrap().s_r.clone().unwrap_err().to_string();
    assert!(why.contains("two results"), "{why}");
    // The lowest result: (0.04 - 0.2570) / 0.0395.
    let lowest = material.cell(&code(&story, "1")).unwrap();
    close(lowest.score.unwrap(), -5.491, 0.001);
}

#[test]
fn a_homogeneous_and_an_uneven_material() {
    let rows = [row("1", "even", 1, "10"), row("2", "uneven", 1, "10")];
    let mut story = planned("loss, %", &rows);
    story.given(PlanRound {
        title: "with spreads".into(),
        method: "astm-d6928".into(),
        materials: "even; granite; 0.5\nuneven; slag; 0,5".into(),
        replicates: "2".into(),
        closes_on: "2026-06-30".into(),
        seed: "1".into(),
        ..PlanRound::default()
    });
    // Ten bags of two; the means of “uneven” are 10 to 11.8 in steps of 0.2, and each pair lies
    // 0.2 apart: s_w² = 0.02, s of the means² = 0.3667, so s_s = √(0.3667 - 0.01) = 0.5972.
    let mut table = "material;bag;value\n".to_owned();
    for bag in 0..10 {
        let tenths = 100 + 2 * bag;
        table += &format!("uneven;{bag};{},{}\n", (tenths - 1) / 10, (tenths - 1) % 10);
        table += &format!("uneven;{bag};{},{}\n", (tenths + 1) / 10, (tenths + 1) % 10);
        table += &format!("even;{bag};9,9\neven;{bag};10,1\n");
    }
    story.given(TestHomogeneity {
        round: "B26-002".into(),
        table: table.clone(),
        ..TestHomogeneity::default()
    });
    let round = &story.lab.rounds["B26-002"];
    let found = homogeneity(&story.lab, round);
    assert_eq!(found[0].verdict, HomogeneityVerdict::Homogeneous);
    assert_eq!(found[0].between, Some(0.0));
    assert_eq!(found[1].verdict, HomogeneityVerdict::NotHomogeneous);
    close(found[1].between.unwrap(), 0.597_215, 1e-6);
    close(found[1].limit.unwrap(), 0.15, 1e-12);
    assert!(found[1].remarks.is_empty(), "{:?}", found[1].remarks);
    let again = TestHomogeneity { round: "B26-002".into(), table, ..TestHomogeneity::default() };
    assert!(story.refused(again).contains("[value-replaced]"));
}

#[test]
fn a_bad_file_is_named_line_by_line_and_nothing_of_it_is_taken() {
    let rows = [row("1", "stone", 1, "10"), row("2", "stone", 2, "10")];
    let mut story = planned("loss, %", &rows);
    let good = code(&story, "1");
    let table = format!(
        "code,material,replicate,value\n{good},stone,1,10.1\nXX-99,stone,1,10\n{good},sand,1,10\n\
         {good},stone,3,10\n{good},stone,2,many\n{good},stone,2,101\n{good},Stone,1,10.2\n"
    );
    let taken = TakeInResults { round: "B26-001".into(), table, ..TakeInResults::default() };
    let said = story.refused(taken);
    for expected in [
        "line 3: nobody takes part under the code “XX-99”",
        "line 4: there is no material “sand”; known: stone",
        "line 5: “3” is no replicate; they are numbered from 1 to 2",
        "line 6: ",
        "line 7: a loss of 101 % cannot be",
        "line 8: ",
        "stands already on line 2",
    ] {
        assert!(said.contains(expected), "{expected}\n{said}");
    }
    assert!(round(&story).values.is_empty());

    let one = |value: &str, deviation: &str| TakeInResults {
        round: "B26-001".into(),
        table: format!("code,material,replicate,value\n{good},stone,1,{value}\n"),
        source: "letter".into(),
        deviation: deviation.into(),
    };
    story.given(one("10.1", ""));
    assert!(story.refused(one("10.1", "")).contains("[nothing-new]"));
    assert!(story.refused(one("10.2", "")).contains("[value-replaced]"));
    story.given(one("10.2", "slip of the pen, says their letter"));
    let current = round(&story).current();
    let kept = current[&(good.as_str(), "stone", 1)].value.value.value;
    assert_eq!(kept, "10.2".parse::<Decimal>().unwrap());
    assert_eq!(round(&story).values.len(), 2, "the first value stays on record");
    assert_eq!(round(&story).deviations[0].value.reason, "slip of the pen, says their letter");

    story.at = "2026-07-02T12:00:00Z".parse().unwrap();
    let late = TakeInResults {
        table: format!("code,material,replicate,value\n{good},stone,2,10.3\n"),
        ..one("", "")
    };
    let said = story.refused(late.clone());
    assert!(said.contains("[round-late]") && said.contains("until 2026-06-30"), "{said}");
    story.given(TakeInResults { deviation: "the post was slow".into(), ..late });
}

#[test]
fn an_ended_round_takes_nothing_until_it_is_reopened() {
    let rows = [row("1", "stone", 1, "10"), row("2", "stone", 1, "11")];
    let mut story = planned("loss, %", &rows);
    let end = || CloseRound { round: "B26-001".into(), remark: "thank you".into() };
    assert!(story.refused(end()).contains("[round-empty]"));
    let table = file(&story, &rows);
    take_in(&mut story, table);
    let nobody = code(&story, "1");
    let judge = |left_out: &str| JudgeCell {
        round: "B26-001".into(),
        participant: nobody.clone(),
        material: "stone".into(),
        left_out: left_out.into(),
        reason: "their sieve was torn".into(),
    };
    assert!(story.refused(judge("no")).contains("[nothing-new]"));
    assert!(story.refused(judge("perhaps")).contains("[input-unknown]"));
    assert!(story.refused(JudgeCell { reason: String::new(), ..judge("yes") }).contains("missing"));
    story.given(judge("yes"));
    story.given(judge("no"));
    assert!(round(&story).left_out(&nobody, "stone").is_none());
    story.given(end());
    assert!(story.refused(judge("yes")).contains("[round-closed]"));
    assert!(story.refused(end()).contains("[round-closed]"));
    let join = || JoinRound {
        round: "B26-001".into(),
        laboratory: "Late Laboratory".into(),
        ..JoinRound::default()
    };
    assert!(story.refused(join()).contains("[round-closed]"));
    let again = ReopenRound { round: "B26-001".into(), reason: "a result was late".into() };
    story.given(again.clone());
    assert!(story.refused(again).contains("[round-open]"));
    story.given(join());
    assert!(story.refused(join()).contains("[participant-known]"));
    assert_eq!(round(&story).participants.len(), 3, "the new code is none of the others'");
    story.by = "CD".into();
    assert!(story.refused(end()).contains("[right-missing]"));
}

#[test]
fn our_own_results_come_from_our_own_records() {
    let mut story = Story::equipped();
    let (_, result) = story.loss();
    story.given(PlanRound {
        title: "with us".into(),
        method: "astm-d6928".into(),
        materials: "stone".into(),
        replicates: "1".into(),
        participants: "own\nInvented Other".into(),
        closes_on: "2026-06-30".into(),
        seed: "7".into(),
        ..PlanRound::default()
    });
    let ours = round(&story).ours().unwrap().clone();
    assert_eq!(ours.laboratory, "Invented laboratory");
    let typed = TakeInResults {
        round: "B26-001".into(),
        table: format!("code,material,replicate,value\n{},stone,1,14.8\n", ours.participant),
        ..TakeInResults::default()
    };
    assert!(story.refused(typed).contains("[round-own-results]"));
    let own = |results: &str| TakeInOwnResults {
        round: "B26-001".into(),
        material: "Stone".into(),
        results: results.into(),
        ..TakeInOwnResults::default()
    };
    assert!(story.refused(own("L26-099")).contains("[result-unknown]"));
    assert!(story.refused(own("L26-001 L26-001")).contains("[round-replicates]"));
    assert!(story.refused(own(&result)).contains("[result-not-released]"));
    story.given(ReleaseResult { result: result.clone(), ..ReleaseResult::default() });
    let facts = story.given(own(&result));
    let Some(Fact::Round(RoundFact::ResultsTakenIn(taken))) = facts.first() else {
        panic!("{facts:?}")
    };
    assert_eq!(taken.values[0].value, "14.8".parse::<Decimal>().unwrap());
    assert_eq!(taken.values[0].result.as_ref().unwrap().as_str(), result);
}

#[test]
fn a_plan_says_what_is_wrong_with_it() {
    let story = Story::founded();
    let good = || PlanRound {
        title: "round".into(),
        method: "astm-d6928".into(),
        materials: "stone".into(),
        replicates: "2".into(),
        closes_on: "2026-06-30".into(),
        seed: "1".into(),
        ..PlanRound::default()
    };
    for (wrong, rule) in [
        (PlanRound { title: String::new(), ..good() }, "[input-missing]"),
        (PlanRound { materials: String::new(), ..good() }, "0 materials are named"),
        (PlanRound { materials: "a\nA".into(), ..good() }, "[named-twice]"),
        (PlanRound { materials: "a; b; -1".into(), ..good() }, "line 1: “-1” is no standard"),
        (PlanRound { replicates: "0".into(), ..good() }, "is no number of results"),
        (PlanRound { closes_on: "2026-02-30".into(), ..good() }, "[input-date]"),
        (PlanRound { closes_on: "2026-01-30".into(), ..good() }, "2026-01-30 is over"),
        (PlanRound { seed: "9007199254740992".into(), ..good() }, "is no seed"),
        (PlanRound { participants: "A\na".into(), ..good() }, "[participant-known]"),
    ] {
        let said = story.refused(wrong.clone());
        assert!(said.contains(rule), "{rule}: {said}");
    }
    assert!(story.ask(good()).is_ok());
}

fn some_rows() -> impl Strategy<Value = Vec<Row>> {
    (3_usize..8, 1_usize..4, 1_usize..4, any::<u64>()).prop_map(|(labs, materials, n, seed)| {
        let mut state = seed;
        let mut rows = Vec::new();
        for laboratory in 0..labs {
            for material in 0..materials {
                for replicate in 1..=n {
                    state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
                    let value = format!("{}.{}", 10 + 5 * material, state >> 60);
                    let name = format!("stone {material}");
                    rows.push(row(&format!("{laboratory}"), &name, replicate, &value));
                }
            }
        }
        rows
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(8))]

    /// One combined file, or one for each participant in any order: the same round.
    #[test]
    fn the_order_of_files_does_not_matter(rows in some_rows(), backwards in any::<bool>()) {
        let together = played("loss, %", &rows);
        let mut one_by_one = planned("loss, %", &rows);
        let mut laboratories = distinct(rows.iter().map(|row| &row.0));
        if backwards {
            laboratories.reverse();
        } else {
            laboratories.rotate_left(1);
        }
        for laboratory in laboratories {
            let of = rows.iter().rev().filter(|row| row.0 == laboratory);
            let table = file(&one_by_one, of);
            take_in(&mut one_by_one, table);
        }
        prop_assert_eq!(
            document(&together.lab, round(&together)),
            document(&one_by_one.lab, round(&one_by_one))
        );
    }

    /// What goes to a participant holds no other code and no other name.
    #[test]
    fn a_participant_learns_no_other_code(rows in some_rows()) {
        let story = played("loss, %", &rows);
        let round = round(&story);
        for own in round.participants.keys() {
            let document =
                stonewear_lab::round::participant_document(round, own.as_str()).unwrap().to_string();
            let sent = [document, csv(round, Some(own.as_str())), stonewear_lab::round::result_form(round, own)];
            for text in &sent {
                prop_assert!(text.contains(own.as_str()));
                for (code, other) in round.participants.iter().filter(|(code, _)| *code != own) {
                    prop_assert!(!text.contains(code.as_str()), "{} in {}", code, text);
                    prop_assert!(!text.contains(&other.value.laboratory));
                }
            }
        }
    }
}
