//! Proficiency: a provider's table comes in whole or not at all, and a bad score waits for somebody.

use crate::story::Story;
use stonewear_lab::proficiency::{ScoreKind, ScoreVerdict, scores_csv, series};
use stonewear_lab::request::*;

fn take_in(table: &str) -> TakeInScores {
    TakeInScores {
        provider: "Invented Rounds".into(),
        method: "astm-d6928".into(),
        table: table.into(),
        ..TakeInScores::default()
    }
}

/// The two cases of ISO 13528:2015, 9.4 to 9.7, with invented numbers (recomputed with numpy).
const SCORES: &str = "\
Round;Date;Material;Value, %;Assigned value, %;Standard deviation, %;Standard uncertainty;Assigned standard uncertainty
1;2025-03-04;A;25,4;23,0;1,2;0,6;0,3
2;2025-09-09;A;21,1;23,0;1,2;0,35;0,5
";

#[test]
fn a_table_with_decimal_commas_becomes_scores() {
    let mut story = Story::founded();
    story.given(take_in(SCORES));
    let all = series(&story.lab);
    assert_eq!(all.len(), 1);
    let [first, second] = all[0].points.as_slice() else { panic!("{all:?}") };
    assert_eq!((first.scored.kind, second.scored.kind), (ScoreKind::Z, ScoreKind::ZPrime));
    assert!((second.scored.value - -1.461_538_461_538_460_3).abs() < 1e-12);
    assert_eq!(first.scored.verdict, ScoreVerdict::Satisfactory, "2.4 is twice 1.2");
    let mean = f64::midpoint(2.0, -1.461_538_461_538_460_3);
    assert!((second.running_mean.unwrap() - mean).abs() < 1e-12);
    assert!(first.score.told.value.method.starts_with("astm-d6928"));
    assert!(scores_csv(&story.lab).contains("P26-001,Invented Rounds,1,2025-03-04,A,"));
    assert!(story.refused(take_in(SCORES)).contains("[nothing-new]"));

    let corrected = SCORES.replace("21,1", "21,7");
    assert!(story.refused(take_in(&corrected)).contains("P26-002, with other figures"));
    story.given(TakeInScores { reason: "their erratum".into(), ..take_in(&corrected) });
    assert_eq!(story.lab.scores["P26-002"].replaced_by.as_ref().unwrap().as_str(), "P26-003");
    assert_eq!(series(&story.lab)[0].points.len(), 2, "the first row was there already");
}

#[test]
fn every_bad_row_is_named_and_none_is_taken() {
    let story = Story::founded();
    let said = story.refused(take_in(
        "round,date,material,value,assigned,sigma_pt\n\
         1,2025-03-04,A,14.1,14.0,0.3\n\
         2,2025-13-04,A,14.1,14.0,0.3\n\
         3,2031-03-04,A,14.1,14.0,0.3\n\
         4,2025-03-04,,fourteen,14.0,0\n\
         5,2025-03-04,A,14.1,,\n\
         1,2025-03-04,a,14.2,14.0,0.3\n",
    ));
    for expected in [
        "line 3: “2025-13-04” is not a day",
        "line 4: 2031-03-04 has not come yet",
        "line 5: the material is missing",
        "line 5: value: ",
        "line 5: standard deviation: 0 cannot be",
        "line 6: assigned value: ",
        "line 6: nothing to score by",
        "line 7: round, material, method and quantity stand already on line 2",
    ] {
        assert!(said.contains(expected), "{expected}\n{said}");
    }
    assert!(!said.contains("line 2:"), "{said}");
    let without = "round,date,material,assigned\n1,2025-03-04,A,14\n";
    assert!(story.refused(take_in(without)).contains("no column “value”"));
    assert!(story.refused(take_in("")).contains("the file is empty"));
}

#[test]
fn our_value_can_be_a_result_on_record() {
    let mut story = Story::equipped();
    let (_, result) = story.loss();
    let table = format!(
        "round,date,material,result_code,assigned,sigma_pt\n1,2026-03-01,A,{result},14.0,0.5\n"
    );
    assert!(story.refused(take_in(&table)).contains("[result-not-released]"));
    story.given(ReleaseResult { result: result.clone(), ..ReleaseResult::default() });
    let both = format!(
        "round,date,material,value,result_code,assigned,sigma_pt\n1,2026-03-01,A,15,{result},14.0,0.5\n"
    );
    assert!(story.refused(take_in(&both)).contains("[score-other-value]"));
    story.given(take_in(&table));
    let told = &story.lab.scores["P26-001"].told.value;
    assert_eq!(told.value.to_string(), "14.8");
    assert_eq!(told.result.as_ref().unwrap().as_str(), result);
}

#[test]
fn a_questionable_score_waits_until_its_matter_is_closed() {
    let mut story = Story::founded();
    story.given(take_in(
        "round,date,material,value,assigned,sigma_pt\n\
         1,2025-03-04,A,14.1,14.0,0.3\n2,2025-09-04,A,14.7,14.0,0.3\n",
    ));
    let open = |story: &Story| {
        story.lab.open_scores().map(|score| score.code().to_string()).collect::<Vec<_>>()
    };
    assert_eq!(open(&story), ["P26-002"]);
    let close =
        |score: &str| CloseScore { score: score.into(), finding: "the next was good".into() };
    assert!(story.refused(close("P26-001")).contains("[score-not-open]"));
    assert!(story.refused(close("P26-002")).contains("[score-without-action]"));
    let act = ActOnScore {
        score: "p26-002".into(),
        cause: "torn sieve".into(),
        action: "new sieve, operators told".into(),
    };
    assert!(story.refused(ActOnScore { cause: String::new(), ..act.clone() }).contains("cause"));
    story.given(act.clone());
    assert_eq!(open(&story), ["P26-002"], "an action alone closes nothing");
    story.given(close("P26-002"));
    assert!(open(&story).is_empty());
    assert!(story.refused(act).contains("[score-not-open]"));
}

/// Invented scores that rise by 0.5 a year from -1: the slope and the mean follow by hand.
#[test]
fn bias_and_drift_are_said_in_words() {
    let mut story = Story::founded();
    let mut table = "round,date,material,value,assigned,sigma_pt\n".to_owned();
    for (year, value) in
        [(2021, "13.9"), (2022, "14.0"), (2023, "14.1"), (2024, "14.2"), (2025, "14.3")]
    {
        table += &format!("{year},{year}-06-01,A,{value},14.1,0.2\n");
    }
    story.given(take_in(&table));
    let all = series(&story.lab);
    let (slope, low, high) = all[0].slope.unwrap();
    assert!((slope - 0.5).abs() < 0.001 && low > 0.49 && high < 0.51, "{slope} {low} {high}");
    assert!(all[0].mean.unwrap().abs() < 1e-12);
    let words = all[0].sentence();
    assert!(words.contains("no bias is seen") && words.contains("they drift"), "{words}");
}
