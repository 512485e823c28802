//! Budgets of invented results against sums done by hand.

use super::*;

const HOW: How = How { level: 0.95, trials: 200_000, seed: 7 };
const ONE: [Masses; 1] = [Masses { before_g: 1500.0, after_g: 1278.0 }];

fn contributor(source: &str, acts_on: ActsOn, error: Distribution) -> Contributor {
    Contributor { source: source.to_owned(), acts_on, error, freedom: None }
}

fn normal(sd: f64) -> Distribution {
    Distribution::Normal { mean: 0.0, sd }
}

#[test]
fn every_source_has_its_own_part_of_the_sum() {
    let contributors = [
        contributor("balance", ActsOn::EachMass, normal(0.3)),
        contributor("sieving", ActsOn::Loss, normal(0.1)),
        contributor("revolutions", ActsOn::ShareOfLoss, normal(0.005)),
        contributor("temperature", ActsOn::Quantity { sensitivity: 0.02 }, normal(2.0)),
    ];
    let found = budget(&ONE, Whole::MassBefore, &contributors, HOW).expect("a budget");
    // By hand: dL/dB = -100/A, dL/dA = 100 B/A²; the loss is 14.8.
    let balance = 0.3 * (100.0 / 1500.0f64).hypot(100.0 * 1278.0 / 1500.0f64.powi(2));
    let wanted: [f64; 4] = [balance, 0.1, 0.005 * 14.8, 0.04];
    let u = wanted.iter().map(|c| c * c).sum::<f64>().sqrt();
    assert!((found.first_order.value - 14.8).abs() < 1e-9);
    assert!((found.first_order.standard_uncertainty - u).abs() < 1e-6);
    let names: Vec<&str> = found.sources.iter().map(|s| s.name.as_str()).collect();
    assert_eq!(names, ["sieving", "revolutions", "temperature", "balance"]);
    let shares: f64 = found.sources.iter().map(|s| *s.share.as_ref().expect("a share")).sum();
    assert!((shares - 1.0).abs() < 1e-9);
    let trials = found.monte_carlo.standard_deviation.expect("a standard deviation");
    assert!((trials / u - 1.0).abs() < 0.01, "{trials} {u}");
}

#[test]
fn a_mean_of_two_lessens_what_belongs_to_a_weighing_and_nothing_else() {
    let two = [ONE[0]; 2];
    let at = |specimens: &[Masses], acts_on| {
        let one = [contributor("source", acts_on, normal(0.2))];
        let found = budget(specimens, Whole::MassBefore, &one, HOW).expect("a budget");
        found.first_order.standard_uncertainty
    };
    let ratio = at(&ONE, ActsOn::EachMass) / at(&two, ActsOn::EachMass);
    assert!((ratio - 2f64.sqrt()).abs() < 1e-6, "{ratio}");
    assert!((at(&ONE, ActsOn::Loss) - at(&two, ActsOn::Loss)).abs() < 1e-12);
}

#[test]
fn a_formula_of_the_prescribed_mass_does_not_weigh_before() {
    let specimens = [Masses { before_g: 501.0, after_g: 441.5 }];
    let balance = [contributor("balance", ActsOn::EachMass, normal(0.5))];
    let found = budget(&specimens, Whole::Nominal(500.0), &balance, HOW).expect("a budget");
    assert!((found.first_order.value - 11.7).abs() < 1e-9);
    assert_eq!(found.first_order.contributions.len(), 1);
    assert!((found.first_order.standard_uncertainty - 0.1).abs() < 1e-9);
}

#[test]
fn a_common_residue_of_water_cancels_where_both_masses_carry_it() {
    let error = Distribution::Constant(0.001);
    let drying = [contributor("drying", ActsOn::ShareOfEachMass, error)];
    let found = budget(&ONE, Whole::MassBefore, &drying, HOW).expect("a budget");
    assert!((found.first_order.value - 14.8).abs() < 1e-9);
    assert_eq!(found.first_order.standard_uncertainty, 0.0);
    assert!(found.sources[0].share.is_err());
}

#[test]
fn what_makes_no_budget_says_why() {
    let balance = [contributor("balance", ActsOn::EachMass, normal(0.3))];
    let why = |r: Result<Budget, StatsError>| r.expect_err("a reason").to_string();
    assert_eq!(
        why(budget(&[], Whole::MassBefore, &balance, HOW)),
        "specimens: needs at least 1, there are 0"
    );
    assert_eq!(why(budget(&ONE, Whole::MassBefore, &[], HOW)), "no source of uncertainty is known");
    let empty = [Masses { before_g: 0.0, after_g: 0.0 }];
    assert!(why(budget(&empty, Whole::MassBefore, &balance, HOW)).contains("the mass before"));
}
