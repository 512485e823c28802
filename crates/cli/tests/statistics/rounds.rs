//! Rounds between laboratories that were published.

use crate::desk::{Desk, document, near, number};

/// BRE, European cross-testing experiment on the drum-attrition test, 28 laboratories, tables of data
/// and of precision: stragglers kept, the outliers A and X of level 3 dropped, single results kept.
#[test]
fn the_european_drum_attrition_round() {
    let kept = document("interlab drum_round.csv --drop A@3 --drop X@3");
    let published = [
        (28, 8.3, 0.213, 0.459, 0.6, 1.3),
        (28, 21.6, 0.487, 1.364, 1.4, 3.8),
        (26, 37.5, 0.572, 2.348, 1.6, 6.6),
    ];
    for (level, (laboratories, mean, s_r, s_upper, r, upper)) in published.iter().enumerate() {
        let at = |field: &str| format!("materials/{level}/{field}");
        assert_eq!(kept["materials"][level]["laboratories_used"], *laboratories);
        near(&kept, &at("mean"), *mean, 0.05);
        near(&kept, &at("s_r"), *s_r, 0.0005);
        near(&kept, &at("s_R"), *s_upper, 0.0005);
        near(&kept, &at("r"), *r, 0.05);
        near(&kept, &at("R"), *upper, 0.05);
    }
    // The source's row of averages is of all results, its outliers included.
    let all = document("interlab drum_round.csv");
    for (level, mean) in [8.3, 21.6, 37.3].iter().enumerate() {
        near(&all, &format!("materials/{level}/mean"), *mean, 0.05);
    }
    let flags = all["materials"][2]["laboratories"][0]["flags"].to_string();
    assert!(flags.contains("Cochran outlier"), "{flags}");
}

/// ASTM E691, glucose in serum. Materials B and C are left out: the distributed data do not give the
/// statistics that the standard prints for them.
#[test]
fn the_glucose_round() {
    let found = document("interlab glucose.csv");
    let published = [
        (0, 41.5183, 0.6061, 1.0632, 1.0632),
        (3, 194.7170, 2.5950, 2.6251, 3.3657),
        (4, 294.4920, 2.6931, 3.9350, 4.1923),
    ];
    for (material, mean, s_x, s_r, s_upper) in published {
        let at = |field: &str| format!("materials/{material}/{field}");
        near(&found, &at("mean"), mean, 1.5e-4);
        near(&found, &at("s_x"), s_x, 5e-5);
        near(&found, &at("s_r"), s_r, 5e-5);
        near(&found, &at("s_R"), s_upper, 5e-5);
        near(&found, &at("r"), 2.8 * s_r, 6.1e-3);
    }
    near(&found, "h_critical", 2.15, 0.005);
    near(&found, "k_critical", 2.06, 0.005);
    near(&found, "materials/0/laboratories/0/h", -0.387_707_243_787_255, 1e-9);
    near(&found, "materials/0/laboratories/0/k", 0.209_748_520_187_872, 1e-9);
}

/// BRE, precision values of the micro-Deval test, table 2: the iterated weighted line of ISO 5725-2.
#[test]
fn the_functional_relation_of_the_wet_test() {
    let repeat = document("relations micro_deval_precision.csv --sd s_r");
    near(&repeat, "linear/intercept", 0.319, 0.0005);
    near(&repeat, "linear/slope", 0.001, 0.0005);
    near(&repeat, "limit_linear/intercept", 0.893, 0.0005);
    near(&repeat, "limit_linear/slope", 0.003, 0.0005);
    let reproduce = document("relations micro_deval_precision.csv --sd s_R");
    near(&reproduce, "linear/intercept", 0.093, 0.0005);
    near(&reproduce, "linear/slope", 0.049, 0.0005);
    near(&reproduce, "limit_linear/intercept", 0.260, 0.0005);
    near(&reproduce, "limit_linear/slope", 0.137, 0.0005);
    // A line without weights is another one; whoever fits it does not reproduce the source.
    let plain = document("fit micro_deval_precision.csv --x mean --y s_R");
    near(&plain, "coefficients/0/estimate", 0.283, 0.0005);
    assert!((number(&plain, "coefficients/0/estimate") - 0.093).abs() > 0.1);
}

/// BRE, precision values of the drum-attrition test, table 2: lines through the origin.
#[test]
fn the_functional_relation_of_the_dry_test() {
    for (sd, proportional, limit) in [("s_r", 0.021, 0.06), ("s_R", 0.060, 0.17)] {
        let found = document(&format!("relations drum_precision.csv --sd {sd}"));
        near(&found, "proportional", proportional, 0.0005);
        near(&found, "limit_proportional", limit, 0.005);
    }
}

/// BRE, both tests, table 4. Pairs of levels are printed as 1-2, 2-3, 1-3; ours are 1-2, 1-3, 2-3. The
/// source rounds 5.55 to 5.6 and 16.85 to 16.9.
#[test]
fn the_sensitivity_ratios() {
    let published = [
        ("micro_deval_precision.csv", "s_r", [11.0, 43.3, 27.2]),
        ("micro_deval_precision.csv", "s_R", [5.6, 16.9, 9.9]),
        ("drum_precision.csv", "s_r", [25.0, 47.8, 21.2]),
        ("drum_precision.csv", "s_R", [9.2, 12.2, 5.9]),
    ];
    for (file, sd, ratios) in published {
        let found = document(&format!("relations {file} --sd {sd}"));
        for (pair, ratio) in ratios.iter().enumerate() {
            near(&found, &format!("sensitivity_ratios/{pair}/ratio"), *ratio, 0.06);
        }
    }
}

/// The clean-up of the proficiency programme: only its formulas are published, so they are worked by
/// hand on an invented round: 4.11 and 2.35 inner-75 % ranges, z = (x - mean) / s, and
/// [(Y - X) - (mean of Y - mean of X)] / √2 within a laboratory.
#[test]
fn the_clean_up_of_a_proficiency_round() {
    let desk = Desk::new();
    let mut text = String::from("lab,x,y\n");
    let round: [(f64, f64); 10] = [
        (11.8, 17.7),
        (12.0, 18.0),
        (12.1, 18.2),
        (12.2, 17.9),
        (12.3, 18.4),
        (11.9, 18.1),
        (12.0, 17.8),
        (12.2, 18.3),
        (12.1, 18.0),
        (30.0, 18.1),
    ];
    for (lab, (x, y)) in round.iter().enumerate() {
        text.push_str(&format!("L{lab},{x},{y}\n"));
    }
    text.push_str("alone,12.0,\n");
    desk.write("round.csv", text);
    let said = desk.run("proficiency round.csv --json");
    assert_eq!(said.status, 0, "{}", said.stderr);
    let found: serde_json::Value = serde_json::from_str(&said.stdout).unwrap();
    let good = &round[..9];
    let mean = good.iter().map(|(x, _)| x).sum::<f64>() / 9.0;
    let s = (good.iter().map(|(x, _)| (x - mean).powi(2)).sum::<f64>() / 8.0).sqrt();
    near(&found, "x/mean", mean, 1e-12);
    near(&found, "x/standard_deviation", s, 1e-12);
    near(&found, "laboratories/0/z_x", (11.8 - mean) / s, 1e-9);
    let between = good.iter().map(|(x, y)| y - x).sum::<f64>() / 9.0;
    let within = (17.7 - 11.8 - between) / 2f64.sqrt();
    near(&found, "laboratories/0/within_laboratory", within, 1e-9);
    assert_eq!(found["laboratories"][9]["x"], "invalid");
    assert!(found["laboratories"][9]["within_laboratory"].is_null());
    assert_eq!(found["unpaired"][0], "alone");
}
