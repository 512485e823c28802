//! Two sets of results.

use stonewear_stats::comparison::{
    Bounds, Design, Tails, equivalence_of_two, exact_power, sample_size_for_equivalence,
    sample_size_for_t, verification,
};
use stonewear_stats::distribution::noncentral_t;

use crate::check::Check;

#[test]
fn producer_against_agency() {
    let check = Check::load("verification_f_t").relative(1e-9);
    let (producer, agency) = (check.numbers("producer"), check.numbers("agency"));
    let found = verification(&producer, &agency, check.number("alpha")).unwrap();
    assert!(found.equal_variances);
    assert_eq!(found.chosen(), &found.pooled);
    check.verify(|name| match name {
        "mean_A" => found.means[0],
        "mean_B" => found.means[1],
        "var_A" => found.variances[0],
        "var_B" => found.variances[1],
        "F" => found.f.clone().unwrap(),
        "F_crit" => found.f_critical,
        "sp2" => found.pooled_variance,
        "t" => found.pooled.t.clone().unwrap(),
        "t_crit" => found.pooled.critical,
        "p_t" => found.pooled.p.clone().unwrap(),
        "welch_t" => found.welch.t.clone().unwrap(),
        "welch_df" => found.welch.freedom,
        "satterthwaite_df_plus2" => found.freedom_n_plus_one.clone().unwrap(),
        _ => f64::NAN,
    });
}

#[test]
fn two_one_sided_tests() {
    let check = Check::load("tost_sleep_welch").relative(1e-9);
    let bounds = Bounds::new(check.number("low"), check.number("high")).unwrap();
    let (a, b) = (check.numbers("group1"), check.numbers("group2"));
    let found = equivalence_of_two(&a, &b, bounds, check.number("alpha"), false).unwrap();
    assert!(!found.equivalent);
    check.verify(|name| match name {
        "difference" => found.difference,
        "df" => found.freedom,
        "t two-sided" => found.t.clone().unwrap(),
        "p two-sided" => found.p_difference.clone().unwrap(),
        "t lower" => found.t_lower.clone().unwrap(),
        "t upper" => found.t_upper.clone().unwrap(),
        "p lower" => found.p_lower.clone().unwrap(),
        "p upper" => found.p_upper.clone().unwrap(),
        "90 % CI low" => found.interval.lower,
        "90 % CI high" => found.interval.upper,
        _ => f64::NAN,
    });
}

#[test]
fn noncentral_t_far_out() {
    Check::load("noncentral_t_cdf").relative(1e-12).verify(|name| {
        let numbers: Vec<f64> =
            name[2..name.len() - 1].split([';', ',']).map(|n| n.parse().unwrap()).collect();
        noncentral_t::below(numbers[0], numbers[1], numbers[2]).unwrap()
    });
}

#[test]
fn sample_size_of_t_tests() {
    // The reference was solved to seven digits.
    Check::load("ss_ttest").relative(1e-6).verify(|name| {
        let d = name.split("d=").nth(1).unwrap().split(' ').next().unwrap().parse().unwrap();
        let design = if name.starts_with("two") { Design::TwoSamples } else { Design::OneSample };
        let tails = if name.contains("two-sided") { Tails::Two } else { Tails::One };
        let power = if name.contains("power=.90") { 0.9 } else { 0.8 };
        let (real, whole) = sample_size_for_t(design, tails, d, 0.05, power).unwrap();
        if name.ends_with("integer n") { whole as f64 } else { real }
    });
}

/// Power of a two-period crossover on the logarithmic scale.
fn crossover_power(theta: f64, cv: f64, sequences: (usize, usize)) -> f64 {
    let (n1, n2) = (sequences.0 as f64, sequences.1 as f64);
    let spread = (1.0 + cv * cv).ln().sqrt();
    let error = spread * (0.5 * (1.0 / n1 + 1.0 / n2)).sqrt();
    let bounds = Bounds::new(0.8f64.ln(), 1.25f64.ln()).unwrap();
    exact_power(theta.ln(), error, n1 + n2 - 2.0, bounds, 0.05).unwrap()
}

#[test]
fn power_of_equivalence_on_a_logarithmic_scale() {
    Check::load("ss_tost").relative(1e-9).verify(|name| {
        if name == "CV=.30 n=40 power" {
            return crossover_power(0.95, 0.3, (20, 20));
        }
        if name == "CV=.30 n=39 power (20/19)" {
            return crossover_power(0.95, 0.3, (20, 19));
        }
        let setting = |key: &str| -> f64 {
            name.split(' ').find_map(|w| w.strip_prefix(key)).unwrap().parse().unwrap()
        };
        let (theta, cv) = (setting("theta="), setting("CV="));
        let half = (2..).find(|h| crossover_power(theta, cv, (*h, *h)) >= 0.8).unwrap();
        if name.ends_with(" n") {
            (2 * half) as f64
        } else {
            crossover_power(theta, cv, (half, half))
        }
    });
}

#[test]
fn sample_size_for_equivalence_of_two_sets() {
    let check = Check::load("ss_tost_additive").relative(1e-9);
    let (delta, sigma) = (check.number("delta"), check.number("sigma"));
    check.verify(|name| {
        let setting = |key: &str| -> f64 {
            name.split(' ').find_map(|w| w.strip_prefix(key)).unwrap().parse().unwrap()
        };
        let bounds = Bounds::new(-delta, delta).unwrap();
        let (theta, power) = (setting("theta="), setting("power="));
        let found =
            sample_size_for_equivalence(Design::TwoSamples, theta, sigma, bounds, 0.05, power);
        let (n, achieved) = found.unwrap();
        if name.ends_with("group") { n as f64 } else { achieved }
    });
}
