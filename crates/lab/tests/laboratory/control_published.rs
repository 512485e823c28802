//! Published control-chart data, taken the way of a laboratory: past results from a table, a baseline,
//! the chart with its signals. NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2 (individuals
//! and moving range, flow rate), 6.3.2.4 (weighted average) and 6.3.2.3 (cumulative sums).
//!
//! The data were seen in public repositories that quote the handbook; the limits of 6.3.2.2 are from
//! memory of the page, unconfirmed, and agree with what is worked out here.

use crate::story::Story;
use jiff::ToSpan;
use stonewear_lab::control::{ControlChart, Role, State};
use stonewear_lab::estimate::double;
use stonewear_lab::request::*;
use stonewear_lab::{ItemCode, LotCode};

/// A laboratory that takes these values over, one a day, and lets nothing be held.
fn taken_over(values: &[&str], rules: &str) -> Story {
    let mut story = Story::with_lot();
    for (policy, value) in [("control-rules", rules), ("baseline-results", "10 results")] {
        story.given(SetPolicy {
            policy: policy.into(),
            value: value.into(),
            reason: "as the handbook".into(),
        });
    }
    let mut table = "date,loss\n".to_owned();
    for (day, value) in values.iter().enumerate() {
        let on = jiff::civil::date(2026, 1, 1) + i64::try_from(day).unwrap().days();
        table += &format!("{on},{value}\n");
    }
    story.given(ImportReference {
        lot: "RA-1".into(),
        apparatus: "MILL".into(),
        document: "NIST/SEMATECH e-Handbook".into(),
        table,
    });
    story
}

fn chart(story: &Story) -> ControlChart {
    story.lab.control_chart(&LotCode::from("RA-1"), &ItemCode::from("MILL")).unwrap()
}

fn stated(story: &mut Story, centre: &str, sigma: &str) {
    story.given(FreezeBaseline {
        lot: "RA-1".into(),
        apparatus: "MILL".into(),
        centre: "stated".into(),
        stated_centre: centre.into(),
        spread: "stated".into(),
        stated_sigma: sigma.into(),
        document: "NIST/SEMATECH e-Handbook".into(),
        reason: "as the handbook".into(),
        ..FreezeBaseline::default()
    });
}

#[track_caller]
fn near(found: f64, published: f64, tolerance: f64) {
    assert!((found - published).abs() <= tolerance, "{found} is not {published} ± {tolerance}");
}

/// 6.3.2.2: mean 50.81, limits 45.8159 and 55.8041 with d2 = 1.128, so within 0.002 with the exact d2.
#[test]
fn the_flow_rates_give_the_published_limits() {
    let flow = ["49.6", "47.6", "49.9", "51.3", "47.8", "51.2", "52.6", "52.4", "53.6", "52.1"];
    let mut story = taken_over(&flow, "1");
    story.given(FreezeBaseline {
        lot: "RA-1".into(),
        apparatus: "MILL".into(),
        reason: "all of them".into(),
        ..FreezeBaseline::default()
    });
    let drawn = chart(&story);
    let lines = drawn.lines.unwrap();
    near(double(lines.centre), 50.81, 0.005);
    near(double(lines.action.0), 45.8159, 0.002);
    near(double(lines.action.1), 55.8041, 0.002);
    near(double(lines.sigma) * std::f64::consts::FRAC_2_SQRT_PI, 1.8778, 0.000_1);
    assert!(drawn.points.iter().all(|point| point.role == Role::Baseline && !point.is_signal()));
    assert!(drawn.basis().contains("the mean moving range of 10 results over 1.128"));
}

/// 6.3.2.4: weight 0.3, start 50, s 2.0539; the published averages to 0.005, limits 47.4115 and
/// 52.5884 to 0.0002 (the page rounds a root to four digits); no value is out.
#[test]
fn the_weighted_averages_are_the_published_ones() {
    let values = [
        "52.0", "47.0", "53.0", "49.3", "50.1", "47.0", "51.0", "50.1", "51.2", "50.5", "49.6",
        "47.6", "49.9", "51.3", "47.8", "51.2", "52.6", "52.4", "53.6", "52.1",
    ];
    let published = [
        50.60, 49.52, 50.56, 50.18, 50.16, 49.21, 49.75, 49.85, 50.26, 50.33, 50.11, 49.36, 49.52,
        50.05, 49.38, 49.92, 50.73, 51.23, 51.94, 51.99,
    ];
    let mut story = taken_over(&values, "ewma 0.3 3");
    stated(&mut story, "50", "2.0539");
    let drawn = chart(&story);
    for (point, published) in drawn.points.iter().zip(published) {
        near(point.memory[0], published, 0.005_1);
        assert!(!point.is_signal() && point.role == Role::Judged);
    }
    let line = drawn.memory.unwrap();
    near(line.upper, 52.5884, 0.000_2);
    near(line.lower.unwrap(), 47.4115, 0.000_2);
    assert_eq!(drawn.state(), State::InControl);
}

/// 6.3.2.3: target 325, k 0.3175, h 4.1959, which are 0.5 and 6.608 standard deviations of 0.635. All
/// values less 300 here, since no loss is above 100 %; a cumulative sum does not change by that. The
/// page shows its sums to two decimals (tolerance 0.011) and the first signal at the 14th value.
#[test]
fn the_cumulative_sums_are_the_published_ones() {
    let values = [
        "24.925", "24.675", "24.725", "24.35", "25.35", "25.225", "24.125", "24.525", "25.225",
        "24.6", "24.625", "25.15", "28.325", "27.25", "27.825", "28.5", "26.675", "27.775",
        "26.875", "28.35",
    ];
    let high = [
        0.00, 0.00, 0.00, 0.00, 0.03, 0.00, 0.00, 0.00, 0.00, 0.00, 0.00, 0.00, 3.01, 4.94, 7.45,
        10.63, 11.99, 14.44, 16.00, 19.04,
    ];
    let low = [
        0.00, 0.01, 0.00, 0.33, 0.00, 0.00, 0.56, 0.72, 0.17, 0.25, 0.31, 0.00, 0.00, 0.00, 0.00,
        0.00, 0.00, 0.00, 0.00, 0.00,
    ];
    let mut story = taken_over(&values, "cusum 0.5 6.608");
    stated(&mut story, "25", "0.635");
    let drawn = chart(&story);
    for ((point, high), low) in drawn.points.iter().zip(high).zip(low) {
        near(point.memory[0], high, 0.011);
        near(point.memory[1], low, 0.011);
    }
    let first = drawn.points.iter().position(stonewear_lab::control::Point::is_signal);
    assert_eq!(first, Some(13));
    near(drawn.memory.unwrap().upper, 4.1959, 0.000_3);
    let said = drawn.points[13].signal_words().unwrap();
    assert_eq!(said, "the cumulative sum is out, high");
}
