//! What happens when a spread goes to zero, or a correlation to one.

use stonewear_stats::comparison::{Bounds, exact_power};
use stonewear_stats::conformity::{Tolerance, conformance_probability};
use stonewear_stats::uncertainty::model::{Expression, PercentLoss};
use stonewear_stats::uncertainty::monte_carlo::{Setup, Wanted, adaptive, run};
use stonewear_stats::uncertainty::{Correlation, Distribution, Input, first_order};

fn normal(name: &str, mean: f64, sd: f64) -> Input {
    Input::new(name, Distribution::Normal { mean, sd }).unwrap()
}

#[test]
fn without_uncertainty_a_result_is_a_number() {
    let inputs = [normal("before", 500.0, 0.0), normal("after", 441.5, 0.0)];
    let setup = Setup { inputs: &inputs, correlations: &[], level: 0.95, seed: 1 };
    let found = run(&PercentLoss, setup, 5_000).unwrap();
    assert!(
        (found.mean.unwrap() - 11.7).abs() < 1e-12 && found.standard_deviation.unwrap() < 1e-12
    );
    assert_eq!(found.interval.lower, found.interval.upper);
    let first = first_order(&PercentLoss, &inputs, &[], 0.95).unwrap();
    assert_eq!(first.standard_uncertainty, 0.0);
    assert!(first.expanded.is_err() && first.contributions[0].share.is_err());
}

#[test]
fn first_order_and_monte_carlo_meet_where_the_model_is_straight() {
    for scale in [1.0, 0.1, 1e-3] {
        let inputs = [normal("before", 500.0, 0.2 * scale), normal("after", 441.5, 0.3 * scale)];
        let setup = Setup { inputs: &inputs, correlations: &[], level: 0.95, seed: 2 };
        let found = run(&PercentLoss, setup, 400_000).unwrap();
        let first = first_order(&PercentLoss, &inputs, &[], 0.95).unwrap();
        let ratio = found.standard_deviation.unwrap() / first.standard_uncertainty;
        assert!((ratio - 1.0).abs() < 5e-3, "{ratio}");
    }
}

#[test]
fn perfect_correlation_cancels() {
    let inputs = [normal("a", 10.0, 1.0), normal("b", 4.0, 1.0)];
    let model = Expression::new("a - b", &["a", "b"]).unwrap();
    for (coefficient, expected) in [(1.0, 0.0), (0.0, 2f64.sqrt()), (-1.0, 2.0), (0.5, 1.0)] {
        let correlations = [Correlation { one: 0, other: 1, coefficient }];
        let first = first_order(&model, &inputs, &correlations, 0.95).unwrap();
        assert!((first.standard_uncertainty - expected).abs() < 1e-12);
        let setup = Setup { inputs: &inputs, correlations: &correlations, level: 0.95, seed: 5 };
        let found = run(&model, setup, 200_000).unwrap();
        assert!((found.standard_deviation.unwrap() - expected).abs() < 0.01, "{coefficient}");
    }
    // Three inputs cannot all be opposite to each other.
    let inputs = [normal("a", 0.0, 1.0), normal("b", 0.0, 1.0), normal("c", 0.0, 1.0)];
    let opposite =
        [(0, 1), (0, 2), (1, 2)].map(|(one, other)| Correlation { one, other, coefficient: -0.9 });
    let model = Expression::new("a + b + c", &["a", "b", "c"]).unwrap();
    let setup = Setup { inputs: &inputs, correlations: &opposite, level: 0.95, seed: 5 };
    assert!(run(&model, setup, 1000).is_err());
}

#[test]
fn adaptive_runs_reach_the_digits_asked_for() {
    let inputs = [normal("a", 0.0, 1.0), normal("b", 0.0, 1.0)];
    let model = Expression::new("a + b", &["a", "b"]).unwrap();
    let setup = Setup { inputs: &inputs, correlations: &[], level: 0.95, seed: 11 };
    let wanted = Wanted { digits: 2, shortest: false, most: 5_000_000 };
    let found = adaptive(&model, setup, wanted).unwrap();
    assert!(found.settled);
    assert!((found.tolerance - 0.05).abs() < 1e-15);
    let exact = 1.959_963_984_540_054 * 2f64.sqrt();
    assert!((found.result.interval.upper - exact).abs() < found.tolerance);
    let hasty = Wanted { digits: 4, shortest: true, most: 150_000 };
    assert!(!adaptive(&model, setup, hasty).unwrap().settled);
}

#[test]
fn a_certain_result_conforms_or_does_not() {
    let limit = Tolerance::new(None, Some(25.0)).unwrap();
    for (value, expected) in [(24.9, 1.0), (25.1, 0.0)] {
        for u in [1e-3, 1e-9, 0.0] {
            let p = conformance_probability(value, u, &limit).unwrap();
            assert!((p - expected).abs() < 1e-12);
        }
    }
}

#[test]
fn equivalence_is_certain_without_scatter_and_impossible_with_too_much() {
    let bounds = Bounds::new(-1.0, 1.0).unwrap();
    assert!(exact_power(0.0, 1e-6, 10.0, bounds, 0.05).unwrap() > 1.0 - 1e-12);
    assert!(exact_power(0.0, 1e6, 10.0, bounds, 0.05).unwrap() < 1e-6);
    // On a bound the power is the level.
    let on_bound = exact_power(1.0, 0.1, 20.0, bounds, 0.05).unwrap();
    assert!((on_bound - 0.05).abs() < 1e-6, "{on_bound}");
}

/// Three observations leave two degrees of freedom: the interval exists, the standard deviation does not.
#[test]
fn few_observations_have_an_interval_and_no_standard_deviation() {
    let of = |freedom| {
        let shape = Distribution::T { location: 5.0, scale: 1.0, freedom };
        let inputs = [Input::new("x", shape).unwrap()];
        let model = Expression::new("x", &["x"]).unwrap();
        run(&model, Setup { inputs: &inputs, correlations: &[], level: 0.95, seed: 3 }, 200_000)
            .unwrap()
    };
    let two = of(2.0);
    assert!(two.mean.is_ok() && two.standard_deviation.is_err());
    // t at 0.975 with two degrees of freedom is 4.303.
    assert!((two.interval.upper - 5.0 - 4.303).abs() < 0.1, "{}", two.interval.upper);
    assert!(of(1.0).mean.is_err());
    let five = of(5.0).standard_deviation.unwrap();
    assert!((five - (5.0f64 / 3.0).sqrt()).abs() < 0.02, "{five}");
}
