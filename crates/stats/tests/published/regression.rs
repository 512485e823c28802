//! NIST Statistical Reference Datasets, linear regression; inversion of a line.

use stonewear_stats::regression::{
    Crossing, Design, Fit, Interval, Responses, fit, invert, limit_crossing, straight_line,
};

use crate::check::{Check, column};

/// Holds a fit against a case whose names are B0, se_B0, …, residual_sd, r_squared.
fn verify(check: &Check, fit: &Fit, first: usize) {
    check.verify(|name| {
        let coefficient =
            |digits: &str| &fit.coefficients[digits.parse::<usize>().unwrap() - first];
        if let Some(digits) = name.strip_prefix("se_B") {
            return coefficient(digits).standard_error.clone().unwrap();
        }
        match name {
            "residual_sd" => fit.residual_standard_deviation.clone().unwrap(),
            "r_squared" => fit.r_squared.clone().unwrap(),
            "regression_ss" => fit.regression_sum_of_squares,
            "residual_ss" => fit.residual_sum_of_squares,
            "F" => {
                let explained = fit.n - fit.degrees_of_freedom - (1 - first);
                fit.regression_sum_of_squares
                    / explained as f64
                    / (fit.residual_sum_of_squares / fit.degrees_of_freedom as f64)
            }
            _ => coefficient(name.strip_prefix('B').unwrap()).estimate.clone().unwrap(),
        }
    });
}

#[test]
fn norris() {
    let design = Design::polynomial("x", &column("strd_norris.csv", 1), 1, true).unwrap();
    let fit = fit(design, &column("strd_norris.csv", 0)).unwrap();
    verify(&Check::load("strd_lin_norris").relative(1e-13), &fit, 0);
}

#[test]
fn noint1() {
    let design = Design::polynomial("x", &column("strd_noint1.csv", 1), 1, false).unwrap();
    let fit = fit(design, &column("strd_noint1.csv", 0)).unwrap();
    verify(&Check::load("strd_lin_noint1").relative(1e-14), &fit, 1);
}

#[test]
fn longley() {
    let columns: Vec<Vec<f64>> = (1..7).map(|i| column("strd_longley.csv", i)).collect();
    let named: Vec<(&str, &[f64])> = columns.iter().map(|c| ("x", c.as_slice())).collect();
    let fit =
        fit(Design::predictors(&named, true).unwrap(), &column("strd_longley.csv", 0)).unwrap();
    verify(&Check::load("strd_lin_longley").relative(1e-12), &fit, 0);
}

#[test]
fn wampler() {
    for number in [1, 3, 5] {
        let file = format!("strd_wampler{number}.csv");
        let design = Design::polynomial("x", &column(&file, 1), 5, true).unwrap();
        let fit = fit(design, &column(&file, 0)).unwrap();
        let check = Check::load(&format!("strd_lin_wampler{number}")).relative(1e-13);
        verify(&check, &fit, 0);
    }
}

fn ends(crossing: &Crossing) -> Interval {
    match crossing {
        Crossing::Between(ends) => *ends,
        other => panic!("not bounded: {other:?}"),
    }
}

#[test]
fn calibration_is_inverted() {
    let check = Check::load("calib_inverse_arsenic").relative(1e-12);
    let (x, y) = (check.numbers("x"), check.numbers("y"));
    let line = straight_line(&x, &y).unwrap();
    let whole = fit(Design::polynomial("x", &x, 1, true).unwrap(), &y).unwrap();
    let inverse = invert(&line, Responses::New(&[check.number("y0")]), 0.9).unwrap();
    let regulation = invert(&line, Responses::MeanLine(3.0), 0.9).unwrap();
    let prediction = whole.predict(&[5.5], 0.9).unwrap();
    check.verify(|name| match name {
        "intercept" => line.intercept,
        "slope" => line.slope,
        "s" => whole.residual_standard_deviation.clone().unwrap(),
        "estimate" => inverse.estimate,
        "inversion lower" => ends(inverse.crossing.as_ref().unwrap()).lower,
        "inversion upper" => ends(inverse.crossing.as_ref().unwrap()).upper,
        "se" => inverse.standard_error.clone().unwrap(),
        "Wald lower" => inverse.wald.clone().unwrap().lower,
        "Wald upper" => inverse.wald.clone().unwrap().upper,
        "regulation (mean response 3) lower" => ends(regulation.crossing.as_ref().unwrap()).lower,
        "regulation upper" => ends(regulation.crossing.as_ref().unwrap()).upper,
        "prediction at x=5.5" => prediction.value,
        "90 % prediction half-width at x=5.5" => {
            prediction.prediction.clone().unwrap().upper - prediction.value
        }
        _ => f64::NAN,
    });
}

#[test]
fn a_declining_mass_meets_its_limit() {
    let check = Check::load("decline_limit_crossing").relative(1e-10);
    let (x, y, limit) = (check.numbers("T"), check.numbers("mass"), check.number("limit"));
    let line = straight_line(&x, &y).unwrap();
    let both = limit_crossing(&line, limit, 0.95).unwrap();
    let one = limit_crossing(&line, limit, 0.90).unwrap();
    let single = invert(&line, Responses::New(&[limit]), 0.90).unwrap();
    check.verify(|name| match name {
        "intercept" => line.intercept,
        "slope" => line.slope,
        "s" => (line.residual_squares / line.degrees_of_freedom as f64).sqrt(),
        "crossing estimate" => both.estimate,
        "Fieller 95 % lower" | "numeric root, lower line" => {
            ends(both.crossing.as_ref().unwrap()).lower
        }
        "Fieller 95 % upper" | "numeric root, upper line" => {
            ends(both.crossing.as_ref().unwrap()).upper
        }
        "one-sided 95 %: lower confidence line of the mean meets the limit at" => {
            ends(one.crossing.as_ref().unwrap()).lower
        }
        "one-sided 95 %: lower prediction line meets the limit at" => {
            ends(single.crossing.as_ref().unwrap()).lower
        }
        "g" => both.g.clone().unwrap(),
        _ => f64::NAN,
    });
}

#[test]
fn a_slope_that_is_not_significant_gives_no_interval() {
    let check = Check::load("decline_not_significant");
    assert_eq!(check.names()[3], "two-sided interval");
    let line = straight_line(&check.numbers("T"), &check.numbers("y")).unwrap();
    let crossing = limit_crossing(&line, check.number("limit"), 0.95).unwrap();
    assert!((line.slope + 0.065_714_285_714_285_63).abs() < 1e-14);
    assert!((crossing.g.clone().unwrap() - 10.015_898_540_975_805).abs() < 1e-9);
    assert!((crossing.estimate - 17.463_768_115_942_045).abs() < 1e-9);
    // Reported as what it is: not two numbers.
    assert!(!matches!(crossing.crossing, Ok(Crossing::Between(_))));
}
