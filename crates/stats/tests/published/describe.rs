//! NIST Statistical Reference Datasets, univariate.

use stonewear_stats::describe::describe;

use crate::check::{Check, column};

fn verify(check: Check, file: &str) {
    let summary = describe(&column(file, 0)).unwrap();
    check.verify(|name| match name {
        "mean" => summary.mean.clone().unwrap(),
        "sd" => summary.standard_deviation.clone().unwrap(),
        "autocorr_lag1" => summary.lag1_autocorrelation.clone().unwrap(),
        _ => f64::NAN,
    });
}

#[test]
fn lew() {
    verify(Check::load("strd_uni_lew").relative(1e-14), "strd_lew.csv");
}

#[test]
fn michelso() {
    // 299.85 and its like are not doubles: 5 decimals of five-digit values leave 13 digits of the
    // mean and 12 of what varies, which is all that the tolerance below gives away.
    let limits = [("sd", 1e-13), ("autocorr_lag1", 1e-12)];
    verify(Check::load("strd_uni_michelso").relative(1e-14).limited(&limits), "strd_michelso.csv");
}

#[test]
fn numacc1() {
    verify(Check::load("strd_uni_numacc1").relative(1e-15), "strd_numacc1.csv");
}

#[test]
fn numacc4() {
    // 10000000.2 is not a double; the nearest one is off by 7e-10, which is 7e-9 of the standard
    // deviation of 0.1. The mean still has all its digits.
    let limits = [("sd", 2e-8), ("autocorr_lag1", 2e-8)];
    verify(Check::load("strd_uni_numacc4").relative(1e-15).limited(&limits), "strd_numacc4.csv");
}
