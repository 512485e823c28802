//! Rounding against published cases, and its laws.

use super::*;
use proptest::prelude::*;
use rust_decimal::RoundingStrategy;

fn round(value: &str, place: &str, rule: Rule) -> String {
    let place: Decimal = place.parse().unwrap();
    let value: Decimal = value.parse().unwrap();
    Rounding::new(place, rule).unwrap().apply(&Exact::from(value)).unwrap().to_string()
}

/// 37 cases read in Alberta ATT-70/96, a state DOT field manual after ASTM E29, Ontario LS-100
/// Rev. 16 and Iowa IM 202; each row of the file names its own source.
#[test]
fn the_published_cases_of_four_agencies() {
    let mut rows = csv::ReaderBuilder::new()
        .comment(Some(b'#'))
        .from_reader(include_str!("../../tests/rounding_examples.csv").as_bytes());
    let mut count = 0;
    for row in rows.records() {
        let row = row.unwrap();
        let rule = if &row[0] == "half_even" { Rule::HalfEven } else { Rule::HalfUp };
        assert_eq!(round(&row[2], &row[3], rule), row[4], "{row:?}");
        count += 1;
    }
    assert_eq!(count, 37);
}

/// ISO 80000-1 Annex B (B.3 to B.5): from memory, unconfirmed.
#[test]
fn the_examples_of_iso_80000_1() {
    for (value, place, rule, rounded) in [
        ("12.223", "0.1", Rule::HalfEven, "12.2"),
        ("12.251", "0.1", Rule::HalfEven, "12.3"),
        ("12.275", "0.1", Rule::HalfEven, "12.3"),
        ("1222.3", "10", Rule::HalfEven, "1220"),
        ("1225.1", "10", Rule::HalfEven, "1230"),
        ("1227.5", "10", Rule::HalfEven, "1230"),
        ("12.25", "0.1", Rule::HalfEven, "12.2"),
        ("12.35", "0.1", Rule::HalfEven, "12.4"),
        ("1225.0", "10", Rule::HalfEven, "1220"),
        ("1235.0", "10", Rule::HalfEven, "1240"),
        ("12.25", "0.1", Rule::HalfUp, "12.3"),
        ("12.35", "0.1", Rule::HalfUp, "12.4"),
        ("1225.0", "10", Rule::HalfUp, "1230"),
        ("1235.0", "10", Rule::HalfUp, "1240"),
    ] {
        assert_eq!(round(value, place, rule), rounded, "{value} to {place} {rule}");
    }
}

/// ASTM E29 Table 1 and clause 6.4 (rounding intervals by doubling): from memory, unconfirmed.
#[test]
fn intervals_other_than_powers_of_ten() {
    assert_eq!(round("6.025", "0.05", Rule::HalfEven), "6.00");
    assert_eq!(round("6.075", "0.05", Rule::HalfEven), "6.10");
    assert_eq!(round("59940", "100", Rule::HalfEven), "59900");
    assert_eq!(round("62.5", "25", Rule::HalfEven), "50");
    assert_eq!(round("62.5", "25", Rule::HalfUp), "75");
}

/// The two agencies part on the same number, and nobody rounds twice (LS-100 clause 3.3).
#[test]
fn the_conflict_and_the_two_step_trap() {
    assert_eq!(round("50.5", "1", Rule::HalfEven), "50");
    assert_eq!(round("50.5", "1", Rule::HalfUp), "51");
    assert_eq!(round("1.347", "0.1", Rule::HalfUp), "1.3");
}

#[test]
fn negative_halves_go_away_from_zero_by_half_up_and_zero_has_no_sign() {
    assert_eq!(round("-0.25", "0.1", Rule::HalfUp), "-0.3");
    assert_eq!(round("-0.25", "0.1", Rule::HalfEven), "-0.2");
    assert_eq!(round("-0.04", "0.1", Rule::HalfUp), "0.0");
}

#[test]
fn a_place_must_be_positive() {
    assert!(Rounding::new(Decimal::ZERO, Rule::HalfUp).is_err());
    assert!(Rounding::new(Decimal::NEGATIVE_ONE, Rule::HalfUp).is_err());
}

proptest! {
    /// The decimal library, an independent implementation, agrees on powers of ten.
    #[test]
    fn agrees_with_the_decimal_library(units in -10_000_000_i64..10_000_000, scale in 0_u32..6, places in 0_u32..4) {
        let value = Decimal::new(units, scale);
        for (rule, strategy) in [
            (Rule::HalfEven, RoundingStrategy::MidpointNearestEven),
            (Rule::HalfUp, RoundingStrategy::MidpointAwayFromZero),
        ] {
            let ours = Rounding::new(Decimal::new(1, places), rule).unwrap().apply(&Exact::from(value)).unwrap();
            prop_assert_eq!(ours, value.round_dp_with_strategy(places, strategy));
        }
    }

    /// Rounding a second time changes nothing, and moves a value by half a place at most.
    #[test]
    fn idempotent_and_close(units in -1_000_000_i64..1_000_000, scale in 0_u32..5, place in prop::sample::select(vec!["0.05", "0.1", "1", "2", "25"])) {
        let value = Decimal::new(units, scale);
        let place: Decimal = place.parse().unwrap();
        for rule in [Rule::HalfEven, Rule::HalfUp] {
            let rounding = Rounding::new(place, rule).unwrap();
            let once = rounding.apply(&Exact::from(value)).unwrap();
            prop_assert_eq!(rounding.apply(&Exact::from(once)).unwrap(), once);
            prop_assert!((once - value).abs() * Decimal::TWO <= place);
        }
    }
}
