//! Checks of what the companion tests give.
//!
//! No published example of these tests with its inputs and its answer could be read; the facts give
//! the formulas. Every case here is one of those formulas worked out by hand.

use super::*;
use crate::library::{built_in_methods, find};
use proptest::prelude::*;
use std::sync::LazyLock;

static METHODS: LazyLock<Vec<Method>> = LazyLock::new(built_in_methods);

fn method(id: &str) -> Method {
    find(&METHODS, id).unwrap().clone()
}

fn decimal(text: &str) -> Decimal {
    text.parse().unwrap()
}

/// Reads `before=5000 kept.2=900`, as the command takes it.
fn input(text: &str) -> Input {
    let mut input = Input::default();
    for pair in text.split_whitespace() {
        let (name, value) = pair.split_once('=').unwrap();
        let value = decimal(value);
        match name.split_once('.') {
            None if name == "before" => input.before_g = Some(value),
            None if name == "after" => input.after_g = Some(value),
            None => drop(input.readings.insert((name.to_owned(), None), value)),
            Some((name, number)) => {
                let index = number.parse::<usize>().unwrap() - 1;
                if name == "fraction" {
                    input.fractions_g.insert(index, value);
                } else {
                    input.readings.insert((name.to_owned(), Some(index)), value);
                }
            }
        }
    }
    input
}

fn worked(id: &str, text: &str) -> Result<Vec<Worked>, WorkOutError> {
    let method = method(id);
    work_out(&method, &method.gradings[0], &[input(text)])
}

fn values(id: &str, text: &str) -> String {
    match worked(id, text) {
        Ok(worked) => {
            let one = |one: &Worked| format!("{} {}", one.name, one.with_unit());
            worked.iter().map(one).collect::<Vec<_>>().join(", ")
        }
        Err(error) => error.to_string(),
    }
}

const CYCLES: &str = "immersion=17 drained=15 cycles=5 gravity=1.16";

/// 100 (5000 − 3750) / 5000 = 25; (5000 − 4750) / (5000 − 3750) = 250 / 1250 = 0.2.
#[test]
fn the_drum_gives_loss_and_uniformity() {
    let read = "before=5000 kept_early=4750 after=3750";
    for id in ["astm-c131", "aashto-t96", "ls-603"] {
        assert_eq!(values(id, read), "loss 25 %, uniformity 0.20", "{id}");
    }
    // 100 (10000 − 7600) / 10000 = 24; 600 / 2400 = 0.25, more than 0.20.
    let large = worked("astm-c535", "before=10000 kept_early=9400 after=7600").unwrap();
    assert_eq!(large[1].with_unit(), "0.25");
    assert_eq!(large[1].at_most, Some(decimal("0.20")));
    // Nobody needs the ratio for the loss.
    assert_eq!(values("astm-c131", "before=5000 after=3750"), "loss 25 %");
    // (5000 − 4120) / 50 = 17.6, of the mass that the method prescribes.
    assert_eq!(values("en-1097-2", "before=5003 after=4120"), "loss 18 %");
}

/// Sizes with 40, 57 and 3 % of the sample lose 5 and 10 %; the smallest share takes its only
/// neighbour's 10 %: (40 × 5 + 57 × 10 + 3 × 10) / 100 = 8.
#[test]
fn soundness_weighs_the_sizes_by_the_grading() {
    let shares =
        "grading_percent.1=0 grading_percent.2=40 grading_percent.3=57 grading_percent.4=3";
    let masses = "fraction.2=1500 fraction.3=1000 kept.2=1425 kept.3=900";
    let read = format!("{CYCLES} {shares} {masses}");
    assert_eq!(values("astm-c88-sodium", &read), "loss 8.0 %");
    insta::assert_snapshot!(worked("astm-c88-sodium", &read).unwrap()[0].lines.join("\n"), @r"
    loss = Σ g × (100 × (A − B) / A) / 100
    37.5 to 19.0 mm: 40 % of the sample, A = 1500 g, B = 1425 g: 100 × (1500 − 1425) / 1500 = 5 %
    19.0 to 9.5 mm: 57 % of the sample, A = 1000 g, B = 900 g: 100 × (1000 − 900) / 1000 = 10 %
    9.5 to 4.75 mm: 3 % of the sample, not tested: its neighbour’s loss, 10 %
    weighted by the grading = 8 %
    rounded once to 0.1 %, an exact half goes to the even digit: 8.0 %
    ");
    // A size between two takes their mean, 6.5: (40 × 5 + 4 × 6.5 + 56 × 8) / 100 = 6.74.
    let shares =
        "grading_percent.1=0 grading_percent.2=40 grading_percent.3=4 grading_percent.4=56";
    let masses = "fraction.2=1500 fraction.4=300 kept.2=1425 kept.4=276";
    assert_eq!(values("astm-c88-magnesium", &format!("{CYCLES} {shares} {masses}")), "loss 6.7 %");
}

/// A = 1980, B = 2000, C = 1260: 1980 / 740 = 2.6757, 2000 / 740 = 2.7027, 1980 / 720 = 2.75 and
/// 100 × 20 / 1980 = 1.0101.
#[test]
fn densities_and_absorption() {
    let read = "soaked=17 saturated=2000 in_water=1260 dry=1980";
    assert_eq!(
        values("astm-c127", read),
        "oven_dry 2.68, saturated 2.70, apparent 2.75, absorption 1.0 %"
    );
    assert_eq!(
        values("aashto-t85", read),
        "oven_dry 2.676, saturated 2.703, apparent 2.750, absorption 1.0 %"
    );
    // Times water of 0.998: 2.6703, 2.6973, 2.7445.
    let european = worked("en-1097-6", "water_density=0.998 saturated=2000 in_water=1260 dry=1980");
    let european = european.unwrap();
    assert_eq!(european[0].with_unit(), "2.67 Mg/m³");
    insta::assert_snapshot!(european[2].lines.join("\n"), @r"
    apparent density = A / (A − C) × W
    1980 / (1980 − 1260) × 0.998 = 2.7445
    rounded once to 0.01 Mg/m³, an exact half goes to the even digit: 2.74 Mg/m³
    ");
}

#[test]
fn what_is_missing_is_named_as_it_is_typed() {
    let said = |id: &str, text: &str| values(id, text);
    insta::assert_snapshot!(said("astm-c131", "before=5000"), @"specimen 1: still missing: after");
    insta::assert_snapshot!(said("astm-c127", "dry=1980"), @"specimen 1: still missing: soaked, saturated, in_water");
    // A size with 5 % or more must be tested; one with less need not.
    insta::assert_snapshot!(said("astm-c88-sodium", &format!("{CYCLES} grading_percent.1=0 grading_percent.2=5 grading_percent.3=4.9 grading_percent.4=90.1 fraction.4=300 kept.4=290")), @"specimen 1: still missing: fraction.2, kept.2");
}

#[test]
fn what_is_impossible_is_said_in_words() {
    let shares =
        "grading_percent.1=0 grading_percent.2=40 grading_percent.3=57 grading_percent.4=3";
    let said = |id: &str, text: &str| values(id, text);
    insta::assert_snapshot!(said("astm-c131", "before=5000 kept_early=3700 after=3750"), @"3750 g kept at the end is more than 3700 g kept early; are the two in the wrong order, or is the stone still wet?");
    insta::assert_snapshot!(said("astm-c127", "soaked=24 saturated=1980 in_water=1260 dry=2000"), @"2000 g oven-dry is more than 1980 g saturated; are the two in the wrong order, or is the stone still wet?");
    insta::assert_snapshot!(said("astm-c127", "soaked=24 saturated=2000 in_water=1980 dry=1980"), @"1980 / (1980 − 1980) divides by nothing; look at the readings again");
    insta::assert_snapshot!(said("astm-c88-sodium", &format!("{CYCLES} {shares} fraction.2=1500 fraction.3=1000 kept.2=1425 kept.3=1001")), @"19.0 to 9.5 mm: 1001 g is kept, more than 1000 g before; are the two in the wrong order, or is the stone still wet?");
    insta::assert_snapshot!(said("astm-c88-sodium", &format!("{CYCLES} {} fraction.2=1500 fraction.3=1000 kept.2=1425 kept.3=900", shares.replace("=57", "=77"))), @"the sizes make up 120 % of the sample; together they cannot be more than 100 %");
    insta::assert_snapshot!(said("astm-c88-sodium", &format!("{CYCLES} grading_percent.1=0 grading_percent.2=2 grading_percent.3=2 grading_percent.4=2")), @"no size was tested; test at least one, and give what was weighed in and what is kept");
    let c127 = method("astm-c127");
    let wrong = contradiction(&c127, &c127.gradings[0], &input("saturated=1980 dry=2000"));
    assert!(wrong.is_err(), "found although the mass in water is still missing");
}

proptest! {
    /// Shares that make the whole sample: the loss lies between the least and the greatest.
    #[test]
    fn a_weighted_loss_lies_between_its_parts(
        kept in prop::array::uniform4(0_u32..=1000),
        first in 5_u32..40, second in 5_u32..30, third in 5_u32..30,
    ) {
        let shares = [first, second, third, 100 - first - second - third];
        let mut text = CYCLES.to_owned();
        for (number, (kept, share)) in (1..).zip(kept.iter().zip(shares)) {
            text.push_str(&format!(" grading_percent.{number}={share} fraction.{number}=1000 kept.{number}={kept}"));
        }
        let loss = worked("astm-c88-sodium", &text).unwrap().remove(0);
        let tenths = |kept: &u32| Exact::from(Decimal::new(i64::from(1000 - kept), 1));
        let least = tenths(kept.iter().max().unwrap());
        let greatest = tenths(kept.iter().min().unwrap());
        prop_assert!(least <= loss.exact && loss.exact <= greatest);
    }

    /// Oven-dry stone is never denser than saturated, nor saturated than without its pores; they
    /// are one where nothing is absorbed.
    #[test]
    fn densities_are_ordered(dry in 1_000_i64..5_000, water in 0_i64..200, in_water in 100_i64..900) {
        let text = format!("soaked=24 dry={dry} saturated={} in_water={in_water}", dry + water);
        let worked = worked("astm-c127", &text).unwrap();
        let [oven_dry, saturated, apparent, absorption] = &worked[..] else { panic!() };
        prop_assert!(oven_dry.exact <= saturated.exact && saturated.exact <= apparent.exact);
        prop_assert_eq!(oven_dry.exact == apparent.exact, water == 0);
        prop_assert_eq!(&absorption.exact, &Exact::from(Decimal::from(100 * water)).divided_by(&Exact::from(Decimal::from(dry))).unwrap());
    }

    /// Reading by reading, in any order, gives the same as all at once.
    #[test]
    fn the_order_of_readings_does_not_matter(order in Just(vec!["before=5000", "kept_early=4800", "after=4000"]).prop_shuffle()) {
        prop_assert_eq!(values("astm-c131", &order.join(" ")), "loss 20 %, uniformity 0.20");
    }
}
