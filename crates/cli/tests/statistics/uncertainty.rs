//! Models of the guides as files, through the program.

use crate::desk::{data, document, near, number, run_in};

/// JCGM 100:2008, H.1. The guide prints 16.7 degrees of freedom from rounded intermediate figures.
#[test]
fn the_end_gauge() {
    let found = document("uncertainty end_gauge.toml --trials 20000");
    near(&found, "first_order/value", 50_000_838.0, 0.5);
    near(&found, "first_order/standard_uncertainty", 32.0, 0.5);
    near(&found, "first_order/degrees_of_freedom", 16.7, 0.15);
    near(&found, "first_order/coverage_factor", 2.92, 0.005);
    near(&found, "first_order/expanded", 93.0, 0.6);
    near(&found, "contributions/0/uncertainty", 25.0, 0.1);
}

/// JCGM 101:2008, 9.2.2 and 9.2.3.
#[test]
fn sums_of_four() {
    for (model, upper) in [("additive_normal.toml", 3.92), ("additive_rectangular.toml", 3.88)] {
        let found = document(&format!("uncertainty {model} --trials 1000000 --seed 5"));
        near(&found, "first_order/standard_uncertainty", 2.0, 0.005);
        near(&found, "first_order/expanded", 3.92, 0.005);
        near(&found, "monte_carlo/standard_deviation", 2.0, 0.006);
        near(&found, "monte_carlo/interval/upper", upper, 0.015);
    }
}

/// JCGM 101:2008, 9.3. The density is flat on top, so the place of the shortest interval is not well
/// determined; its width is.
#[test]
fn the_mass_that_first_order_misses() {
    let found = document("uncertainty mass.toml --trials 1000000");
    near(&found, "first_order/standard_uncertainty", 0.0539, 5e-5);
    near(&found, "monte_carlo/mean", 1.2341, 0.0003);
    near(&found, "monte_carlo/standard_deviation", 0.0754, 0.0002);
    let width =
        number(&found, "monte_carlo/shortest/upper") - number(&found, "monte_carlo/shortest/lower");
    assert!((width - 0.2991).abs() < 0.001, "{width}");
}

/// JCGM 101:2008, 9.5.
#[test]
fn the_gauge_block() {
    let found = document("uncertainty gauge_block.toml --trials 1000000");
    near(&found, "monte_carlo/mean", 838.0, 0.5);
    near(&found, "monte_carlo/standard_deviation", 36.0, 0.5);
    near(&found, "monte_carlo/shortest/lower", 745.0, 2.5);
    near(&found, "monte_carlo/shortest/upper", 932.0, 2.5);
}

#[test]
fn a_seed_gives_the_same_figures_and_another_seed_others() {
    let of = |seed: u32| document(&format!("uncertainty mass.toml --trials 50000 --seed {seed}"));
    assert_eq!(of(3), of(3));
    assert_ne!(of(3)["monte_carlo"]["mean"], of(4)["monte_carlo"]["mean"]);
}

#[test]
fn a_model_that_cannot_be_read_names_its_file() {
    let said = run_in(&data(), "uncertainty decline.csv");
    assert_eq!((said.status, said.stdout.as_str()), (2, ""));
    assert!(
        said.stderr.contains("decline.csv") && said.stderr.contains("line "),
        "{}",
        said.stderr
    );
}
