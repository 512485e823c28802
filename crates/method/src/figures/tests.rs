//! Listing, confirming, correcting and comparing figures.

use super::*;
use crate::library::{built_in_methods, find};
use std::collections::BTreeSet;
use std::sync::LazyLock;

static METHODS: LazyLock<Vec<Method>> = LazyLock::new(built_in_methods);

fn method(id: &str) -> Method {
    find(&METHODS, id).unwrap().clone()
}

fn figure(method: &Method, path: &str) -> FigureAt {
    figures(method).into_iter().find(|figure| figure.path == path).unwrap()
}

#[test]
fn every_path_is_there_once_and_says_what_it_is() {
    for method in built_in_methods() {
        let all = figures(&method);
        let paths: BTreeSet<&str> = all.iter().map(|figure| &*figure.path).collect();
        let labels: BTreeSet<&str> = all.iter().map(|figure| &*figure.label).collect();
        assert_eq!((paths.len(), labels.len()), (all.len(), all.len()), "{}", method.key());
    }
}

/// Counts the figures in the method's JSON, which the model writes without the walk.
#[test]
fn the_walk_misses_no_figure() {
    fn confidences(json: &serde_json::Value) -> usize {
        match json {
            serde_json::Value::Object(map) => {
                usize::from(map.contains_key("confidence"))
                    + map.values().map(confidences).sum::<usize>()
            }
            serde_json::Value::Array(list) => list.iter().map(confidences).sum(),
            _ => 0,
        }
    }
    for method in built_in_methods() {
        let json = serde_json::to_value(&method).unwrap();
        assert_eq!(figures(&method).len(), confidences(&json), "{}", method.key());
        assert_eq!(
            serde_json::from_value::<Method>(json).unwrap(),
            method,
            "JSON keeps everything"
        );
    }
}

#[test]
fn figures_are_named_in_words_with_value_and_unit() {
    let astm = method("astm-d6928");
    let said: Vec<String> = [
        "water.volume_l.tolerance",
        "grading.19.0.revolutions.nominal",
        "grading.12.5.fraction.2.retained_mm",
        "loss.rounding_rule",
        "precision.reproducibility.level.1.difference_percent_of_mean",
        "interval.speed.months",
        "wash_sieves_mm.2",
    ]
    .iter()
    .map(|path| {
        let figure = figure(&astm, path);
        format!("{}: {} {} ({})", figure.label, figure.value, figure.unit, figure.confidence)
    })
    .collect();
    insta::assert_snapshot!(said.join("\n"), @r"
    water, tolerance: 0.05 L (memory)
    grading 19.0: revolutions: 12000 rev (seen)
    grading 12.5: fraction 2, retained on: 6.3 mm (memory)
    rounding rule: half-even  (practice)
    reproducibility, level 1: difference of two results, of their mean: 28 % (memory)
    time between two proofs: speed: 12 months (seen)
    wash sieve 2: 1.18 mm (seen)
    ");
}

#[test]
fn confirming_changes_the_confidence_and_nothing_else() {
    let astm = method("astm-d6928");
    for figure in figures(&astm) {
        let confirmed = confirm(&astm, &figure.path).unwrap();
        let after = self::figure(&confirmed, &figure.path);
        assert_eq!(after, FigureAt { confidence: Confidence::Confirmed, ..figure.clone() });
        assert!(diff(&astm, &confirmed).is_empty());
    }
}

#[test]
fn confirming_everything_leaves_nothing_unsure() {
    for method in built_in_methods() {
        let done = unsure(&method, None)
            .iter()
            .try_fold(method, |method, figure| confirm(&method, &figure.path))
            .unwrap();
        assert!(unsure(&done, None).is_empty(), "{}", done.key());
    }
}

#[test]
fn what_is_unsure_for_a_grading_leaves_the_other_gradings_out() {
    let astm = method("astm-d6928");
    let for_one = unsure(&astm, Some("19.0"));
    assert!(for_one.iter().any(|figure| figure.path == "water.volume_l.tolerance"));
    assert!(for_one.iter().any(|figure| figure.path == "grading.19.0.minutes.tolerance"));
    assert!(!for_one.iter().any(|figure| figure.path.starts_with("grading.12.5.")));
    assert!(!for_one.iter().any(|figure| figure.confidence.is_sure()));
    assert!(unsure(&astm, None).len() > for_one.len());
}

#[test]
fn a_correction_keeps_the_former_value_in_the_note() {
    let astm = method("astm-d6928");
    let corrected = correct(&astm, "water.volume_l.tolerance", " 0,10 ").unwrap();
    let after = figure(&corrected, "water.volume_l.tolerance");
    assert_eq!((&*after.value, after.confidence), ("0.10", Confidence::Confirmed));
    insta::assert_snapshot!(after.note.unwrap(), @"was 0.05 (from memory, unconfirmed)");
    let corrected = correct(&astm, "speed_rpm.nominal", "101").unwrap();
    let after = figure(&corrected, "speed_rpm.nominal");
    assert_eq!(after.source, "", "the source said otherwise");
    insta::assert_snapshot!(after.note.unwrap(), @"was 100 (seen in the source, T327, MN1216)");
    let twice = correct(&corrected, "speed_rpm.nominal", "102").unwrap();
    insta::assert_snapshot!(figure(&twice, "speed_rpm.nominal").note.unwrap(), @"was 101 (confirmed by the laboratory); was 100 (seen in the source, T327, MN1216)");
}

#[test]
fn correcting_to_the_value_that_stands_confirms_it() {
    let astm = method("astm-d6928");
    let path = "water.volume_l.tolerance";
    assert_eq!(correct(&astm, path, "0.050"), confirm(&astm, path));
}

#[test]
fn words_and_rules_can_be_corrected_too() {
    let astm = method("astm-d6928");
    let corrected = correct(&astm, "loss.rounding_rule", "half-up").unwrap();
    assert_eq!(corrected.loss.unwrap().rounding_rule.value, stonewear_measure::Rule::HalfUp);
    let corrected = correct(&astm, "specimen.count", "2").unwrap();
    assert_eq!(corrected.specimen.count.value, 2);
}

/// 6.3 mm in newer sets is 6.7 mm in older ones: one sieve, named on both sides.
#[test]
fn a_sieve_between_two_fractions_is_corrected_on_both_sides() {
    let astm = method("astm-d6928");
    for side in ["grading.12.5.fraction.2.retained_mm", "grading.12.5.fraction.3.passing_mm"] {
        let corrected = correct(&astm, side, "6.7").unwrap();
        let changed: Vec<String> =
            diff(&astm, &corrected).into_iter().map(|one| one.path).collect();
        assert_eq!(
            changed,
            ["grading.12.5.fraction.2.retained_mm", "grading.12.5.fraction.3.passing_mm"]
        );
    }
}

#[test]
fn figures_that_hang_together_are_corrected_together() {
    let astm = method("astm-d6928");
    let (first, second) =
        ("grading.9.5.fraction.1.mass_g.nominal", "grading.9.5.fraction.2.mass_g.nominal");
    assert!(matches!(correct(&astm, first, "700"), Err(FigureError::Rules(_))));
    // What was accepted once is taken as it was recorded.
    let recorded = correct_as_recorded(&astm, first, "700").unwrap();
    assert_eq!(figure(&recorded, first).value, "700");
    let corrected = correct_together(&astm, &[(first, "700"), (second, "800")]).unwrap();
    assert_eq!(figure(&corrected, second).value, "800");
}

#[test]
fn what_cannot_be_corrected_is_refused_in_words() {
    let astm = method("astm-d6928");
    let said = |path: &str, value: &str| correct(&astm, path, value).unwrap_err().to_string();
    insta::assert_snapshot!(said("water.volume.tolerance", "0.1"), @"astm-d6928@2010 has no figure “water.volume.tolerance”; near to it: water.volume_l.tolerance, water.volume_l.nominal, water.temperature_c.nominal, water.temperature_c.tolerance");
    insta::assert_snapshot!(said("water.volume_l.tolerance", "little"), @"water, tolerance: “little” is not a number; write digits with at most one decimal point, like 1500.2");
    insta::assert_snapshot!(said("water.volume_l.tolerance", "-0.05"), @"water, tolerance: -0.05 L is given; a tolerance is never negative");
    insta::assert_snapshot!(said("water.volume_l.nominal", "2000"), @"water: 2000 L is given; it must be more than 0 and at most 100 L");
    insta::assert_snapshot!(said("loss.rounding_rule", "nearest"), @"rounding rule: “nearest” is not a rounding rule; write half-even or half-up");
    insta::assert_snapshot!(said("loss.round_to_percent", "0"), @"loss rounded to: 0 % is given; it must be more than 0 and at most 100 %");
    insta::assert_snapshot!(said("specimen.count", "1.5"), @"specimens for one result: “1.5” is not a whole number; write one like 2");
    insta::assert_snapshot!(said("grading.19.0.fraction.1.passing_mm", "16.0"), @"grading 19.0: fraction 1 passes 16.0 mm and is retained on 16.0 mm; the sieve it passes must be the coarser one");
    insta::assert_snapshot!(said("grading.19.0.fraction.1.mass_g.nominal", "400"), @"the fractions of grading 19.0 add up to 1525 g; they must make a specimen of 1500 ± 5 g");
    assert!(matches!(confirm(&astm, "nothing"), Err(FigureError::Unknown { .. })));
}

#[test]
fn editions_and_agencies_are_compared_figure_by_figure() {
    let (astm, minnesota) = (method("astm-d6928"), method("minnesota-1216"));
    assert!(diff(&astm, &astm).is_empty());
    let said: Vec<String> = diff(&astm, &minnesota)
        .into_iter()
        .filter(|one| !one.path.starts_with("precision."))
        .map(|one| {
            let value =
                |side: Option<FigureAt>| side.map_or_else(|| "—".into(), |figure| figure.value);
            format!("{}: {} / {}", one.label, value(one.left), value(one.right))
        })
        .collect();
    insta::assert_snapshot!(said.join("\n"), @r"
    masses weighed to: 1 / 0.1
    outside diameter of the jar: 198 / —
    outside diameter of the jar, tolerance: 4 / —
    inside height of the jar: 173.5 / 170
    inside height of the jar, tolerance: 3.5 / 2.0
    grading 12.5: fraction 2, retained on: 6.3 / 6.7
    grading 12.5: fraction 3, passes: 6.3 / 6.7
    grading 9.5: fraction 1, retained on: 6.3 / 6.7
    grading 9.5: fraction 2, passes: 6.3 / 6.7
    inside diameter of the jar: — / 194
    inside diameter of the jar, tolerance: — / 2.0
    ");
    // The twins differ in nothing but the intervals that one of them adds.
    let twins = diff(&astm, &method("aashto-t327"));
    assert!(twins.iter().all(|one| one.left.is_none() && one.path.starts_with("interval.")));
}
