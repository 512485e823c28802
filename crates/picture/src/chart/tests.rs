//! The chart's places and words.

use super::layout::WIDTH;
use super::*;
use proptest::prelude::*;

fn points(values: &[f64]) -> Vec<Point> {
    let at = |n: usize| i64::try_from(n).unwrap() * 10;
    values
        .iter()
        .enumerate()
        .map(|(n, value)| Point {
            at: at(n),
            when: format!("day {n}"),
            value: *value,
            ..Point::default()
        })
        .collect()
}

fn chart(values: &[f64]) -> SeriesChart {
    SeriesChart { points: points(values), ..SeriesChart::default() }
}

#[test]
fn greater_values_stand_higher_and_later_ones_further_right() {
    let chart = chart(&[12.0, 14.0, 13.0]);
    let layout = Layout::of(&chart);
    let spots = &layout.spots;
    assert!(spots[1].y < spots[2].y && spots[2].y < spots[0].y);
    assert!(spots[0].x < spots[1].x && spots[1].x < spots[2].x);
    let middle = f64::midpoint(spots[0].y, spots[1].y);
    assert!((spots[2].y - middle).abs() < 1e-9);
}

#[test]
fn events_stand_between_the_values() {
    let mut chart = chart(&[1.0, 2.0, 3.0]);
    chart.events = [5, 25, -3].map(|at| Event { at, name: at.to_string() }).to_vec();
    let layout = Layout::of(&chart);
    let (a, b, c) = (layout.spots[0].x, layout.spots[1].x, layout.spots[2].x);
    let at: Vec<f64> = layout.events(&chart.events).iter().map(|label| label.at).collect();
    assert!(at[0] < a && (at[1] - f64::midpoint(a, b)).abs() < 1e-9 && at[2] > c, "{at:?}");
}

#[test]
fn signals_that_crowd_take_rows_of_their_own() {
    let mut chart = chart(&[1.0; 30]);
    for n in [10, 11, 12] {
        chart.points[n].signal = Some("beyond the action limit".into());
    }
    let layout = Layout::of(&chart);
    let heights: Vec<f64> = layout.signals().iter().map(|(_, label)| label.y).collect();
    assert!(heights[0] > heights[1] && heights[1] > heights[2], "{heights:?}");
}

#[test]
fn what_a_value_is_for_shows_in_its_shape_and_is_said() {
    let drawing = |mark: PointMark| {
        let mut chart = chart(&[14.2, 14.4]);
        chart.points[1].mark = mark;
        (chart.svg(), chart.sentence())
    };
    let (whole, ring, cross) =
        (drawing(PointMark::Whole), drawing(PointMark::Ring), drawing(PointMark::Cross));
    assert!(whole.0 != ring.0 && ring.0 != cross.0 && whole.0 != cross.0);
    assert_eq!(whole.1, "2 values");
    assert_eq!(ring.1, "2 values; 1 of them not judged");
    assert_eq!(cross.1, "2 values; 1 of them left out");
}

#[test]
fn the_sentence_names_the_signals() {
    let mut chart = chart(&[14.2, f64::NAN, 17.9]);
    chart.unit = "%".into();
    chart.centre = Some(14.5);
    chart.action = Some(Limits { lower: 12.1, upper: 16.9 });
    chart.points[2].signal = Some("beyond the action limit".into());
    insta::assert_snapshot!(chart.sentence(), @"2 values; centre 14.5 %; action limits 12.1 % and 16.9 %; 17.9 % on day 2: beyond the action limit");
    assert_eq!(SeriesChart::default().sentence(), "no values yet");
}

proptest! {
    #[test]
    fn every_chart_is_a_drawing_of_numbers(
        values in proptest::collection::vec(any::<f64>(), 0..12),
        ats in proptest::collection::vec(any::<i64>(), 0..4),
        centre in proptest::option::of(any::<f64>()),
        (lower, upper) in any::<(f64, f64)>(),
    ) {
        let mut chart = chart(&values);
        chart.centre = centre;
        chart.warning = Some(Limits { lower, upper });
        chart.events = ats.iter().map(|at| Event { at: *at, name: "event".into() }).collect();
        let svg = chart.svg();
        // The words may quote a limit that is no number; the drawing may not use it.
        let drawing = svg.split_once("</desc>").map_or("", |(_, drawing)| drawing);
        prop_assert!(!drawing.contains("NaN") && !drawing.contains("inf"), "{}", drawing);
        let layout = Layout::of(&chart);
        for spot in &layout.spots {
            prop_assert!((0.0..=WIDTH).contains(&spot.x) && (0.0..=layout.height).contains(&spot.y));
        }
    }
}

#[test]
fn no_leading_line_crosses_the_words_of_another_signal() {
    let mut chart = chart(&[1.0; 30]);
    for n in [14, 15, 17, 28] {
        chart.points[n].signal = Some("beyond the limit".into());
    }
    let layout = Layout::of(&chart);
    let labels: Vec<_> = layout.signals().into_iter().map(|(_, label)| label).collect();
    for one in &labels {
        for other in labels.iter().filter(|other| other.y < one.y) {
            let end = one.x + crate::draw::width_of(one.words, 13.0) * 0.95;
            assert!(!(one.x..end).contains(&other.at), "{one:?} {other:?}");
        }
    }
}
