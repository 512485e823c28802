//! What the strip may never draw.

use super::*;
use proptest::prelude::*;

fn d(text: &str) -> Decimal {
    text.parse().unwrap()
}

fn strip(lower: &str, upper: &str, guard: &str, value: &str) -> ToleranceStrip {
    let read = |text: &str| (!text.is_empty()).then(|| d(text));
    ToleranceStrip {
        label: "Mass".into(),
        unit: "g".into(),
        lower: read(lower),
        upper: read(upper),
        guard: read(guard),
        value: read(value),
        expanded_uncertainty: None,
    }
}

#[test]
fn a_value_stands_where_the_limits_say() {
    use Standing::{Edge, Inside, Open, Outside};
    let cases = [
        ("1495", "1505", "", "1500", Inside),
        ("1495", "1505", "", "1505", Edge),
        ("1495", "1505", "", "1505.1", Outside),
        ("1495", "1505", "", "1494.9", Outside),
        ("1495", "1505", "1", "1504.5", Edge),
        ("1495", "1505", "1", "1504", Inside),
        ("", "18", "", "0", Inside),
        ("500", "", "", "499.99", Outside),
        ("12", "12", "", "12", Inside),
        ("12", "12", "", "11", Outside),
        ("20", "10", "", "15", Outside),
        ("", "", "", "7", Open),
        ("1", "2", "", "", Open),
    ];
    for (lower, upper, guard, value, wanted) in cases {
        let strip = strip(lower, upper, guard, value);
        assert_eq!(strip.standing(), wanted, "{strip:?}");
    }
}

#[test]
fn the_sentence_says_what_is_seen() {
    let mut seen = strip("1495", "1505", "1", "1504.5");
    seen.expanded_uncertainty = Some(d("0.3"));
    insta::assert_snapshot!(seen.sentence().replace('\u{a0}', " "), @"1504.5 g, at the edge; allowed is 1495 g to 1505 g; expanded uncertainty 0.3 g; guard band 1 g");
    insta::assert_snapshot!(strip("", "18", "", "").sentence().replace('\u{a0}', " "), @"no value yet; allowed is at most 18 g");
}

#[test]
fn limits_have_fixed_places_and_the_middle_is_the_middle() {
    for (lower, upper, value) in [("1495", "1505", "1500"), ("-0.0002", "0.0002", "0")] {
        let geometry = strip(lower, upper, "", value).geometry();
        assert_eq!(geometry.band, LIMITS);
        assert!((geometry.mark.unwrap().x - 180.0).abs() < 1e-9);
    }
}

#[test]
fn far_outside_is_an_arrow_at_the_edge() {
    let mark = strip("1495", "1505", "", "9000").geometry().mark.unwrap();
    assert!(mark.off_scale);
    assert_eq!(mark.x, ENDS.1);
    let mark = strip("1495", "1505", "", "1506").geometry().mark.unwrap();
    assert!(!mark.off_scale);
}

#[test]
fn a_small_strip_draws_as_expected() {
    let lines = strip("", "18", "", "").svg().replace("><", ">\n<").replace('\u{a0}', " ");
    insta::assert_snapshot!(lines, @r##"
    <svg xmlns="http://www.w3.org/2000/svg" class="picture tolerance-strip" role="img" viewBox="0 0 360 72" width="360" height="72" font-family="IBM Plex Sans, sans-serif">
    <title>Mass</title>
    <desc>no value yet; allowed is at most 18 g</desc>
    <path d="M2 39L358 39" fill="none" stroke-width="1.5" stroke-linecap="round" stroke-linejoin="round" class="stroke-line" stroke="#c9c1b1">
    </path>
    <rect x="0" y="32" width="244" height="14" class="fill-good-pale" fill="#dce6d3">
    </rect>
    <path d="M0 32L244 32" fill="none" stroke-width="1" stroke-linecap="round" stroke-linejoin="round" class="stroke-good" stroke="#2f6537">
    </path>
    <path d="M0 46L244 46" fill="none" stroke-width="1" stroke-linecap="round" stroke-linejoin="round" class="stroke-good" stroke="#2f6537">
    </path>
    <path d="M244 27L244 51" fill="none" stroke-width="2" stroke-linecap="round" stroke-linejoin="round" class="stroke-ink" stroke="#23292d">
    </path>
    <text x="244" y="67" font-size="14" font-weight="400" text-anchor="middle" class="fill-quiet" fill="#535a5d">18 g</text>
    </svg>
    "##);
}

fn decimal() -> impl Strategy<Value = Decimal> {
    prop_oneof![
        (-100_000_i64..100_000, 0_u32..4).prop_map(|(n, scale)| Decimal::new(n, scale)),
        (any::<i64>(), 0_u32..28).prop_map(|(n, scale)| Decimal::new(n, scale)),
        Just(Decimal::MAX),
        Just(Decimal::MIN),
        Just(Decimal::ZERO),
        Just(Decimal::from_i128_with_scale(1, 28)),
    ]
}

fn any_strip() -> impl Strategy<Value = ToleranceStrip> {
    let maybe = || proptest::option::of(decimal());
    (maybe(), maybe(), maybe(), maybe(), maybe(), ".{0,9}", ".{0,4}").prop_map(
        |(lower, upper, guard, value, expanded_uncertainty, label, unit)| ToleranceStrip {
            label,
            unit,
            lower,
            upper,
            guard,
            value,
            expanded_uncertainty,
        },
    )
}

proptest! {
    #[test]
    fn outside_is_never_drawn_inside(strip in any_strip()) {
        let geometry = strip.geometry();
        if let Some(mark) = geometry.mark {
            let within = (geometry.band.0..=geometry.band.1).contains(&mark.x);
            match strip.standing() {
                Standing::Outside => {
                    prop_assert!(mark.x <= geometry.band.0 - CLEAR || mark.x >= geometry.band.1 + CLEAR);
                }
                Standing::Inside => {
                    prop_assert!(within && mark.x >= geometry.clear.0 && mark.x <= geometry.clear.1);
                }
                Standing::Edge => prop_assert!(within),
                Standing::Open => {}
            }
            prop_assert!((0.0..=WIDTH).contains(&mark.x));
        }
        if let Some((from, to)) = geometry.whisker {
            prop_assert!(from >= 0.0 && to <= WIDTH && from <= to);
        }
    }

    #[test]
    fn every_strip_is_a_drawing_of_numbers(mut strip in any_strip()) {
        strip.label = "l".into();
        strip.unit = "g".into();
        let svg = strip.svg();
        prop_assert!(!svg.contains("NaN") && !svg.contains("inf"), "{}", svg);
        prop_assert_eq!(svg, strip.svg());
    }
}
