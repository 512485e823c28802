//! Tests of exact ratios.

use super::*;
use crate::rounding::{Rounding, Rule};
use proptest::prelude::*;

fn exact(text: &str) -> Exact {
    Exact::from(text.parse::<Decimal>().unwrap())
}

#[test]
fn shows_the_whole_decimal_or_says_that_it_goes_on() {
    assert_eq!(exact("14.8").to_string(), "14.8");
    assert_eq!(exact("1500").to_string(), "1500");
    assert_eq!(exact("-0.50").to_string(), "-0.5");
    let third = exact("1").divided_by(&exact("3")).unwrap();
    assert_eq!(third.to_string(), "0.333333333333…");
    assert_eq!(third.to_decimals(5), "0.33333");
    assert_eq!(exact("-0.001").to_decimals(2), "0");
    assert_eq!(third.as_decimal(), None);
}

#[test]
fn a_mean_that_ends_on_a_half_is_found_although_its_parts_do_not_end() {
    // 98/3 and 1/3 sum to 33 exactly, so the mean is 16.5 and to the place 0.2 an exact
    // half; decimals of a fixed number of digits miss it.
    let third = |n: &str| exact(n).divided_by(&exact("3")).unwrap();
    let mean = Exact::mean(&[third("98"), third("1")]).unwrap();
    assert_eq!(mean.as_decimal(), Some("16.5".parse().unwrap()));
    let place: Decimal = "0.2".parse().unwrap();
    let even = Rounding::new(place, Rule::HalfEven).unwrap().apply(&mean);
    let up = Rounding::new(place, Rule::HalfUp).unwrap().apply(&mean);
    assert_eq!(even, Some("16.4".parse().unwrap()));
    assert_eq!(up, Some("16.6".parse().unwrap()));
}

#[test]
fn nothing_is_divided_by_zero() {
    assert_eq!(exact("1").divided_by(&exact("0.00")), None);
    assert_eq!(Exact::mean(&[]), None);
}

/// The same by numbers of any size alone, in lowest terms after each step.
fn in_lowest_terms(value: &Exact) -> BigRational {
    value.of_any_size()
}

/// A decimal of any size that the library holds, with small ones more often.
fn decimals() -> impl Strategy<Value = Decimal> {
    let any = |bits: u32| {
        let most = (1_i128 << bits) - 1;
        (-most..=most, 0..=Decimal::MAX_SCALE)
            .prop_map(|(mantissa, scale)| Decimal::from_i128_with_scale(mantissa, scale))
    };
    prop_oneof![any(20), any(40), any(96)]
}

proptest! {
    #[test]
    fn machine_numbers_give_what_numbers_of_any_size_give(
        values in proptest::collection::vec(decimals(), 2..6),
        steps in proptest::collection::vec(0..4_u8, 6),
    ) {
        let (first, others) = values.split_first().unwrap();
        let mut ours = Exact::from(*first);
        let mut theirs = in_lowest_terms(&ours);
        for (value, step) in others.iter().zip(steps) {
            let other = Exact::from(*value);
            let their_other = in_lowest_terms(&other);
            (ours, theirs) = match step {
                0 => (ours.plus(&other), theirs + their_other),
                1 => (ours.minus(&other), theirs - their_other),
                2 => (ours.times(&other), theirs * their_other),
                _ if value.is_zero() => {
                    prop_assert_eq!(ours.divided_by(&other), None);
                    (ours, theirs)
                }
                _ => (ours.divided_by(&other).unwrap(), theirs / their_other),
            };
            prop_assert_eq!(&in_lowest_terms(&ours), &theirs);
            prop_assert_eq!(in_lowest_terms(&ours.floor()), theirs.floor());
            let than = Exact::from(*value);
            prop_assert_eq!(ours.cmp(&than), theirs.cmp(&in_lowest_terms(&than)));
            prop_assert_eq!(ours == than, theirs == in_lowest_terms(&than));
        }
    }

    #[test]
    fn a_decimal_comes_back_as_it_is(value in decimals()) {
        let back = Exact::from(value).as_decimal();
        prop_assert_eq!(back, Some(value));
        prop_assert_eq!(back.unwrap().scale(), value.normalize().scale());
    }

    #[test]
    fn the_steps_and_what_is_left_of_them_make_up_the_whole(value in decimals(), by in 1..400_i64, step in 1..400_i64) {
        let value = Exact::from(value).divided_by(&Exact::from(Decimal::from(by))).unwrap();
        let step = Decimal::new(step, 2);
        let Some((below, rest)) = value.in_steps(step) else { return Ok(()) };
        let left = value.minus(&Exact::from(step).times(&Exact(Held::Ratio(below, 1))));
        prop_assert!(left >= Exact::from(Decimal::ZERO) && left < Exact::from(step));
        prop_assert_eq!(rest, left.cmp(&Exact::from(step / Decimal::TWO)));
    }
}
