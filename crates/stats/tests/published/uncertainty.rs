//! Examples of the GUM (JCGM 100) and of its first supplement (JCGM 101).

use stonewear_stats::uncertainty::model::{Expression, Function};
use stonewear_stats::uncertainty::monte_carlo::{Setup, run};
use stonewear_stats::uncertainty::{
    Correlation, Distribution, Input, effective_freedom, expanded, first_order, observed,
    second_order, several,
};

use crate::check::Check;

fn normal(name: &str, mean: f64, sd: f64) -> Input {
    Input::new(name, Distribution::Normal { mean, sd }).unwrap()
}

fn rectangular(name: &str, lower: f64, upper: f64) -> Input {
    Input::new(name, Distribution::Rectangular { lower, upper }).unwrap()
}

#[test]
fn end_gauge() {
    let check = Check::load("gum_h1_end_gauge").relative(1e-6);
    let estimates = check.input("estimates");
    let uncertainties = check.input("standard_uncertainties");
    let freedoms = check.input("degrees_of_freedom");
    // Names of the model, of its uncertainty and of its degrees of freedom differ in the case.
    let names = [
        ("ls", "ls", "ls"),
        ("d", "dbar", "dbar"),
        ("d1", "d1", "d1"),
        ("d2", "d2", "d2"),
        ("alpha_s", "alpha_s", "alpha_s"),
        ("d_alpha", "d_alpha", "d_alpha"),
        ("theta_bar", "theta_bar", "theta"),
        ("Delta", "Delta", "theta"),
        ("d_theta", "d_theta", "d_theta"),
    ];
    let inputs: Vec<Input> = names
        .iter()
        .map(|(estimate, u, freedom)| {
            let mean = estimates[estimate].as_f64().unwrap();
            let input = normal(estimate, mean, uncertainties[u].as_f64().unwrap());
            match freedoms[freedom].as_f64() {
                Some(v) => input.with_freedom(v).unwrap(),
                None => input,
            }
        })
        .collect();
    let text = check.input("model").as_str().unwrap().split(" = ").nth(1).unwrap();
    let variables: Vec<&str> = names.iter().map(|n| n.0).collect();
    let model = Expression::new(text, &variables).unwrap();
    let result = first_order(&model, &inputs, &[], 0.99).unwrap();
    let of = |name: &str| result.contributions.iter().find(|c| c.name == name).unwrap().uncertainty;
    let of_d = [(5.8, Some(24.0)), (3.9, Some(5.0)), (6.7, Some(8.0))];
    let expansion = result.expanded.clone().unwrap();
    // Second-order terms of one pair of inputs at a time: the rest of the model left out.
    let second = |one: usize, other: usize| {
        let pair = [inputs[one].clone(), inputs[other].clone()];
        let centre = [pair[0].distribution.mean(), pair[1].distribution.mean()];
        let product =
            Function(move |x: &[f64]| 50_000_623.0 * (x[0] - centre[0]) * (x[1] - centre[1]));
        second_order(&product, &pair).unwrap()
    };
    check.verify(|name| match name {
        "l (nm)" => result.value,
        "contribution l_S" => of("ls"),
        "contribution d" => of("d").hypot(of("d1")).hypot(of("d2")),
        "contribution delta_alpha" => of("d_alpha"),
        "contribution delta_theta" => of("d_theta"),
        "u_c (nm)" => result.standard_uncertainty,
        // The case adds the printed contributions; ours has the coefficient 1 - … of the standard.
        "u_c^2" => result.standard_uncertainty.powi(2),
        "nu_eff(d)" => effective_freedom(&of_d).unwrap().unwrap(),
        "nu_eff" => expansion.freedom.unwrap(),
        "t99(16)" => expansion.factor,
        "U99 (nm)" => expansion.uncertainty,
        "second-order term delta_alpha*theta (nm)" => second(5, 6).hypot(second(5, 7)),
        "second-order term alpha_s*delta_theta (nm)" => second(4, 8),
        "u_c second order (nm)" => second_order(&model, &inputs).unwrap(),
        _ => f64::NAN,
    });
}

#[test]
fn resistance_and_reactance() {
    let check = Check::load("gum_h2_resistance_reactance").relative(1e-7);
    let columns = [check.numbers("V"), check.numbers("I"), check.numbers("phi")];
    let views: Vec<&[f64]> = columns.iter().map(Vec::as_slice).collect();
    let seen = observed(&views).unwrap();
    let r = |i: usize, j: usize| seen.correlations[i][j].clone().unwrap();
    let names = ["V", "I", "phi"];
    let inputs: Vec<Input> = names
        .iter()
        .zip(seen.means.iter().zip(&seen.uncertainties))
        .map(|(name, (mean, u))| normal(name, *mean, *u))
        .collect();
    let correlations: Vec<Correlation> = [(0, 1), (0, 2), (1, 2)]
        .map(|(one, other)| Correlation { one, other, coefficient: r(one, other) })
        .to_vec();
    let models = ["V / I * cos(phi)", "V / I * sin(phi)", "V / I"]
        .map(|text| Expression::new(text, &names).unwrap());
    let outputs = several(&[&models[0], &models[1], &models[2]], &inputs, &correlations).unwrap();
    let out = |i: usize, j: usize| outputs.correlations[i][j].clone().unwrap();
    check.verify(|name| match name {
        "mean V" => seen.means[0],
        "mean I" => seen.means[1],
        "mean phi" => seen.means[2],
        "u V" => seen.uncertainties[0],
        "u I" => seen.uncertainties[1],
        "u phi" => seen.uncertainties[2],
        "r(V,I)" => r(0, 1),
        "r(V,phi)" => r(0, 2),
        "r(I,phi)" => r(1, 2),
        "R" => outputs.values[0],
        "X" => outputs.values[1],
        "Z" => outputs.values[2],
        "u(R)" => outputs.uncertainties[0],
        "u(X)" => outputs.uncertainties[1],
        "u(Z)" => outputs.uncertainties[2],
        "r(R,X)" => out(0, 1),
        "r(R,Z)" => out(0, 2),
        "r(X,Z)" => out(1, 2),
        _ => f64::NAN,
    });
}

#[test]
fn welch_satterthwaite() {
    let check = Check::load("gum_welch_satterthwaite").relative(1e-9);
    let parts: Vec<(f64, Option<f64>)> = check
        .numbers("relative_u_percent")
        .into_iter()
        .zip(check.numbers("n"))
        .map(|(u, n)| (u, Some(n - 1.0)))
        .collect();
    let u = parts.iter().map(|(u, _)| u * u).sum::<f64>().sqrt();
    let freedom = effective_freedom(&parts).unwrap();
    // The guide prints 19 and uses t at 19; rounded down from 18.999 it would be t at 18.
    let at_19 = expanded(u, Some(19.0), 0.95).unwrap();
    // The reference multiplies by the factor of the unrounded 18.9987 degrees of freedom.
    let limits = [("U95 (%)", 5e-3)];
    check.limited(&limits).verify(|name| match name {
        "u_c (%)" => u,
        "nu_eff" => freedom.unwrap(),
        "t95(19)" => at_19.factor,
        "U95 (%)" => at_19.uncertainty,
        _ => f64::NAN,
    });
}

const TRIALS: usize = 1_000_000;

fn setup(inputs: &[Input], level: f64) -> Setup<'_> {
    Setup { inputs, correlations: &[], level, seed: 101 }
}

#[test]
fn additive_model() {
    let sum = Expression::new("a + b + c + d", &["a", "b", "c", "d"]).unwrap();
    let names = ["a", "b", "c", "d"];
    let normals: Vec<Input> = names.iter().map(|n| normal(n, 0.0, 1.0)).collect();
    let half = 3f64.sqrt();
    let rectangles: Vec<Input> = names.iter().map(|n| rectangular(n, -half, half)).collect();
    // The third digit of an end needs four million trials: one million leave it a noise of 0.004.
    let of_normals = run(&sum, setup(&normals, 0.95), 4 * TRIALS).unwrap();
    let of_rectangles = run(&sum, setup(&rectangles, 0.95), 4 * TRIALS).unwrap();
    let first = first_order(&sum, &rectangles, &[], 0.95).unwrap();
    // The ends are compared through their mean size.
    let end = |i: stonewear_stats::regression::Interval| 0.5 * (i.upper - i.lower);
    Check::load("gums1_92_additive").relative(2e-3).verify(|name| match name {
        "9.2.2 u(y)" => of_normals.standard_deviation.clone().unwrap(),
        "9.2.2 upper 95 %" => end(of_normals.interval),
        "9.2.3 u(y)" => of_rectangles.standard_deviation.clone().unwrap(),
        "9.2.3 upper 95 %" => end(of_rectangles.interval),
        "9.2.3 closed form 2 sqrt3 (2-(3/5)^(1/4))" => 2.0 * half * (2.0 - 0.6f64.powf(0.25)),
        "GUF upper 95 % (both)" => first.expanded.clone().unwrap().uncertainty,
        _ => f64::NAN,
    });
}

#[test]
fn mass_calibration() {
    let names = ["m", "dm", "rho_a", "rho_W", "rho_R"];
    let text = "(m + dm) * (1 + (rho_a - 1.2) * (1 / rho_W - 1 / rho_R)) - 100000";
    let model = Expression::new(text, &names).unwrap();
    let inputs = [
        normal("m", 100_000.0, 0.050),
        normal("dm", 1.234, 0.020),
        rectangular("rho_a", 1.10, 1.30),
        rectangular("rho_W", 7000.0, 9000.0),
        rectangular("rho_R", 7950.0, 8050.0),
    ];
    let mc = run(&model, setup(&inputs, 0.95), TRIALS).unwrap();
    let first = first_order(&model, &inputs, &[], 0.95).unwrap();
    let u2 = second_order(&model, &inputs).unwrap();
    let expansion = first.expanded.clone().unwrap().uncertainty;
    // The density is flat-topped, so the place of the shortest interval is ill-determined: its width
    // is what can be compared closely (see the notes of the case).
    // The moment formula gives 0.07548, so its printed 0.0754 is a Monte Carlo result; a million
    // trials of ours leave a noise of 0.00005, half of the printed digit.
    let limits = [("u exact moments", 1.5e-3)];
    Check::load("gums1_93_mass").relative(4e-3).limited(&limits).verify(|name| match name {
        "MCM estimate" => mc.mean.clone().unwrap(),
        "MCM u" | "u exact moments" => mc.standard_deviation.clone().unwrap(),
        "MCM lower" => mc.shortest.lower,
        "MCM upper" => mc.shortest.upper,
        "MCM interval width" => mc.shortest.upper - mc.shortest.lower,
        "GUF1 u" => first.standard_uncertainty,
        "GUF1 lower" => first.value - expansion,
        "GUF1 upper" => first.value + expansion,
        "GUF2 u" => u2,
        _ => f64::NAN,
    });
}

#[test]
fn gauge_block() {
    let names =
        ["L_s", "D", "d1", "d2", "alpha_s", "theta_0", "Delta", "delta_alpha", "delta_theta"];
    let t = |name: &str, location, scale, freedom| {
        Input::new(name, Distribution::T { location, scale, freedom }).unwrap()
    };
    let trapezoid = |name: &str, half: f64, inexactness| {
        let shape = Distribution::CurvilinearTrapezoid { lower: -half, upper: half, inexactness };
        Input::new(name, shape).unwrap()
    };
    let inputs = [
        t("L_s", 50_000_623.0, 25.0, 18.0),
        t("D", 215.0, 6.0, 24.0),
        t("d1", 0.0, 4.0, 5.0),
        t("d2", 0.0, 7.0, 8.0),
        rectangular("alpha_s", 9.5e-6, 13.5e-6),
        normal("theta_0", -0.1, 0.2),
        Input::new("Delta", Distribution::Arcsine { lower: -0.5, upper: 0.5 }).unwrap(),
        trapezoid("delta_alpha", 1.0e-6, 0.1e-6),
        trapezoid("delta_theta", 0.050, 0.025),
    ];
    let text = "L_s + D + d1 + d2 - L_s * (delta_alpha * (theta_0 + Delta) + alpha_s * delta_theta) \
                - 50000000";
    let model = Expression::new(text, &names).unwrap();
    let wide = run(&model, setup(&inputs, 0.99), TRIALS).unwrap();
    let narrow = run(&model, setup(&inputs, 0.95), TRIALS).unwrap();
    // The ends of a shortest interval scatter: the published ones (745, 932) are those of one adaptive
    // run, the reference (743.86, 931.05) those of one run of ten million; four of ours of ten million
    // gave 744.3 to 744.6 and 931.6 to 931.8, and one million as here scatters by 0.3.
    let limits = [("99 % lower", 2e-3), ("99 % upper", 2e-3)];
    assert!((wide.shortest.lower - 745.0).abs() < 2.0 && (wide.shortest.upper - 932.0).abs() < 2.0);
    Check::load("gums1_95_gauge_block").relative(2e-3).limited(&limits).verify_some(|name| {
        match name {
            "estimate" => Some(wide.mean.clone().unwrap()),
            "u" => Some(wide.standard_deviation.clone().unwrap()),
            "99 % lower" => Some(wide.shortest.lower),
            "99 % upper" => Some(wide.shortest.upper),
            "95 % lower" => Some(narrow.shortest.lower),
            "95 % upper" => Some(narrow.shortest.upper),
            // The first-order value belongs to the inputs of the GUM's own example: see `end_gauge`.
            _ => None,
        }
    });
}
