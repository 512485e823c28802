//! Outliers and normality.

use stonewear_stats::normality::{anderson_darling, anderson_darling_critical, shapiro_wilk};
use stonewear_stats::outlier::{dixon, dixon_critical, generalized_esd, grubbs, grubbs_critical};

use crate::check::Check;

#[test]
fn rosner() {
    let check = Check::load("outlier_esd_rosner").relative(1e-9);
    let found = generalized_esd(&check.numbers("x"), 10, 0.05).unwrap();
    check.verify(|name| {
        let step = |digits: &str| &found.steps[digits.parse::<usize>().unwrap() - 1];
        if let Some(digits) = name.strip_prefix("lambda") {
            step(digits).critical
        } else if let Some(digits) = name.strip_prefix('R') {
            step(digits).statistic
        } else {
            found.outliers as f64
        }
    });
}

#[test]
fn uranium() {
    let check = Check::load("outlier_grubbs_uranium").relative(1e-9);
    let found = grubbs(&check.numbers("x")).unwrap();
    assert_eq!((found.index, found.value), (8, 245.57));
    check.verify(|name| match name {
        "G" => found.statistic,
        "critical one-sided" => grubbs_critical(8, 0.05, false).unwrap(),
        _ => grubbs_critical(8, 0.05, true).unwrap(),
    });
}

#[test]
fn dixon_ratios() {
    // The classical tables are wrong at four to six values; the file marks those cells.
    Check::load("outlier_dixon_critical").relative(1e-6).verify(|name| match name {
        // Dean and Dixon (1951), the example of the paper.
        "Dean & Dixon 1951 example r10 (low)" => {
            dixon(&[40.02, 40.12, 40.16, 40.18, 40.18, 40.20], 0.05).unwrap().low
        }
        "dataplot example n=8 r11 (high)" => {
            dixon(&[568.0, 570.0, 570.0, 570.0, 572.0, 578.0, 584.0, 596.0], 0.05).unwrap().high
        }
        _ => {
            let words: Vec<&str> = name.split(' ').collect();
            let n = words[1].trim_start_matches("n=").parse().unwrap();
            dixon_critical(n, words[2].parse::<f64>().unwrap() / 100.0).unwrap()
        }
    });
}

#[test]
fn eleven_weights() {
    let check = Check::load("normality_ad_sw_weights").relative(1e-7);
    let values = check.numbers("x");
    let (ad, sw) = (anderson_darling(&values).unwrap(), shapiro_wilk(&values).unwrap());
    check.verify(|name| match name {
        "A2" => ad.statistic,
        "A2 modified" => ad.modified,
        "A2 p-value" => ad.p,
        "W" | "W (R)" => sw.statistic,
        "W p (R)" => sw.p,
        _ => anderson_darling_critical(name.rsplit(' ').next().unwrap().parse().unwrap()).unwrap(),
    });
}
