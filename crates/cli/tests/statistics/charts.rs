//! Control charts, run lengths and trends of published data.

use crate::desk::{data, document, near, run_in};

/// NIST/SEMATECH e-Handbook, 6.3.2.2. The page takes d2 as 1.128, which moves the limits by 0.0017.
#[test]
fn individuals_of_the_flow_rate() {
    let chart = document("chart individuals flow_rate.csv");
    near(&chart, "centre", 50.81, 0.005);
    near(&chart, "moving_range_mean", 1.8778, 5e-5);
    near(&chart, "upper", 55.8041, 0.002);
    near(&chart, "lower", 45.8159, 0.002);
    near(&chart, "moving_range_upper", 6.133_821, 2e-3);
    assert_eq!(run_in(&data(), "chart individuals flow_rate.csv").status, 0);
}

/// D. C. Montgomery, piston rings. The book's mean s of 0.0094 and its upper limit 0.0196, as recalled,
/// are not what the distributed data give.
#[test]
fn means_of_the_piston_rings() {
    let chart = document("chart mean-sd rings.csv");
    near(&chart, "centre", 74.001, 0.0005);
    near(&chart, "upper", 74.014, 0.0005);
    near(&chart, "lower", 73.988, 0.0005);
    near(&chart, "spread_centre", 0.009_240_037, 1e-9);
    near(&chart, "spread_upper", 0.019_302_417, 1e-9);
    let chart = document("chart mean-range rings.csv");
    near(&chart, "spread_centre", 0.022_76, 1e-9);
    near(&chart, "upper", 74.014_304_408, 1e-8);
    near(&chart, "lower", 73.988_047_592, 1e-8);
}

/// NIST/SEMATECH e-Handbook, 6.3.2.4.
#[test]
fn moving_average() {
    let line = "chart ewma ewma.csv --target 50 --sigma 2.0539 --lambda 0.3 --asymptotic";
    let chart = document(line);
    near(&chart, "upper", 52.5884, 2e-4);
    near(&chart, "lower", 47.4115, 2e-4);
    let series = [
        50.60, 49.52, 50.56, 50.18, 50.16, 49.21, 49.75, 49.85, 50.26, 50.33, 50.11, 49.36, 49.52,
        50.05, 49.38, 49.92, 50.73, 51.23, 51.94, 51.99,
    ];
    for (point, average) in series.iter().enumerate() {
        near(&chart, &format!("points/{point}/statistic"), *average, 0.005);
    }
}

/// NIST/SEMATECH e-Handbook, 6.3.2.3: the first signal is at group 14; exit status 1 says so.
#[test]
fn cumulative_sums() {
    let line = "chart cusum cusum.csv --target 325 --k 0.3175 --h 4.1959";
    let chart = document(line);
    assert_eq!(chart["first_signal"], 14);
    let published =
        [(3, 0.0, 0.33), (12, 3.01, 0.0), (13, 4.94, 0.0), (14, 7.45, 0.0), (19, 19.04, 0.0)];
    for (point, high, low) in published {
        near(&chart, &format!("points/{point}/high"), high, 0.011);
        near(&chart, &format!("points/{point}/low"), low, 0.011);
    }
    assert_eq!(run_in(&data(), line).status, 1);
}

/// C. W. Champ and W. H. Woodall, Technometrics 29 (1987) 393-399.
#[test]
fn run_lengths() {
    for (rules, length) in [("1", 370.40), ("1,4", 152.73), ("1,2,3,4", 91.75), ("1,2", 225.44)] {
        let found = document(&format!("run-length shewhart --rules {rules} --shift 0"));
        near(&found, "average_run_length", length, 0.005);
    }
}

/// Invented data, worked by an independent implementation (N. R. Draper and H. Smith, section 3.2).
#[test]
fn a_trend_meets_its_limit() {
    let found = document("trend decline.csv --limit 4975");
    near(&found, "slope", -0.042_619_047_619, 1e-10);
    near(&found, "crossing/estimate", 730.502_793_296, 1e-7);
    near(&found, "crossing/lower", 703.547_985_037, 1e-7);
    near(&found, "crossing/upper", 760.224_294_013, 1e-7);
    assert_eq!(found["crossing"]["kind"], "between");
    // One end of the two-sided 90 % is the one-sided 95 %.
    let one_sided = document("trend decline.csv --limit 4975 --level 0.90");
    near(&one_sided, "crossing/lower", 708.890_317_486, 1e-7);
}

#[test]
fn a_trend_that_is_none_has_no_interval() {
    let found = document("trend level.csv --limit 9.0");
    near(&found, "crossing/g", 10.015_898_541, 1e-8);
    let crossing = &found["crossing"];
    assert!(crossing["lower"].is_null() && crossing["upper"].is_null(), "{crossing}");
    assert!(crossing["undefined"]["lower"].as_str().unwrap().contains("not significant"));
    assert_ne!(crossing["kind"], "between");
}
