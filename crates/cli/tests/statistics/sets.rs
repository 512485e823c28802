//! Single sets, comparisons and limits with published answers.

use crate::desk::{Desk, data, document, near, number};

/// Digits that agree with a certified value.
#[track_caller]
fn digits(document: &serde_json::Value, path: &str, certified: f64, wanted: f64) {
    let found = number(document, path);
    let agree = -((found - certified) / certified).abs().max(1e-17).log10();
    assert!(agree >= wanted, "{path}: {found}, certified {certified}: {agree:.1} digits");
}

/// NIST Statistical Reference Datasets, certified values.
#[test]
fn certified_sets() {
    let numacc = document("describe numacc4.csv");
    digits(&numacc, "mean", 10_000_000.2, 12.0);
    // The data leave double precision eight digits of their scatter: 0.1 on ten million.
    digits(&numacc, "standard_deviation", 0.1, 8.0);
    digits(&numacc, "lag1_autocorrelation", -0.999, 8.0);
    let norris = document("fit norris.csv");
    digits(&norris, "coefficients/0/estimate", -0.262_323_073_774_029, 9.0);
    digits(&norris, "coefficients/0/standard_error", 0.232_818_234_301_152, 9.0);
    digits(&norris, "coefficients/1/estimate", 1.002_116_818_020_45, 9.0);
    digits(&norris, "coefficients/1/standard_error", 0.429_796_848_199_937e-3, 9.0);
    digits(&norris, "residual_standard_deviation", 0.884_796_396_144_373, 9.0);
    let longley = document("fit longley.csv --x x1 --x x2 --x x3 --x x4 --x x5 --x x6");
    digits(&longley, "coefficients/0/estimate", -3_482_258.634_595_82, 9.0);
    digits(&longley, "coefficients/1/estimate", 15.061_872_271_373_3, 9.0);
    digits(&longley, "coefficients/1/standard_error", 84.914_925_774_766_9, 9.0);
    let sirstv = document("anova sirstv.csv --factor group");
    digits(&sirstv, "rows/0/sum_of_squares", 5.114_626_16e-2, 9.0);
    digits(&sirstv, "rows/0/f", 1.180_462_374_402_55, 9.0);
    digits(&sirstv, "rows/1/sum_of_squares", 2.166_365_6e-1, 9.0);
}

/// FHWA-HRT-04-046, chapter 7 (from memory, unconfirmed; it reproduces).
#[test]
fn producer_and_agency() {
    let found = document("compare producer.csv agency.csv --alpha 0.01");
    near(&found, "mean_a", 6.14, 0.005);
    near(&found, "mean_b", 5.68, 0.005);
    near(&found, "f", 1.92, 0.005);
    near(&found, "f_critical", 7.96, 0.005);
    near(&found, "t", 3.07, 0.005);
    near(&found, "t_critical", 3.012, 0.0005);
    near(&found, "t_p", 0.008_924_849_720_897, 1e-10);
    near(&found, "other/t", 2.738_181_475_957, 1e-9);
    near(&found, "other/t_degrees_of_freedom", 6.164_503_980_825, 1e-9);
    assert_eq!(found["equal_variances"], true);
}

/// The sleep data with bounds ± 0.5 (from memory of a documented analysis; it reproduces).
#[test]
fn equivalence_of_two_sets() {
    let found = document("equivalence sleep_1.csv sleep_2.csv --lower -0.5 --upper 0.5");
    near(&found, "difference", -1.58, 0.005);
    near(&found, "degrees_of_freedom", 17.78, 0.005);
    near(&found, "t", -1.861, 0.0005);
    near(&found, "p_difference", 0.079, 0.0005);
    near(&found, "t_lower", -1.272, 0.0005);
    near(&found, "p_lower", 0.89, 0.005);
    near(&found, "t_upper", -2.450, 0.0005);
    near(&found, "p_upper", 0.012, 0.0005);
    near(&found, "interval/lower", -3.053_381_497, 1e-8);
    near(&found, "interval/upper", -0.106_618_503, 1e-8);
    assert_eq!(found["equivalent"], false);
}

/// FHWA T 5080.12, table 1B, every cell of the columns from 3 to 9 results: the printed index and those
/// half a hundredth beside it enclose the per cent. One cell is a misprint.
#[test]
fn the_table_of_quality_indices() {
    let desk = Desk::new();
    let text = std::fs::read_to_string(data().join("pwl_table.csv")).unwrap();
    let rows: Vec<Vec<f64>> = text
        .lines()
        .filter(|line| line.starts_with(|c: char| c.is_ascii_digit()))
        .map(|line| line.split(',').map(|cell| cell.parse().unwrap()).collect())
        .collect();
    assert_eq!(rows.len(), 17);
    let mut apart = Vec::new();
    for n in 3..=9_u32 {
        let values: Vec<String> = (1..=n).map(|v| v.to_string()).collect();
        desk.write("lot.csv", format!("loss\n{}\n", values.join("\n")));
        // 1 to n: mean (n + 1) / 2, variance n (n + 1) / 12.
        let (size, mean) = (f64::from(n), f64::from(n + 1) / 2.0);
        let s = (size * (size + 1.0) / 12.0).sqrt();
        let within = |q: f64| {
            let limit = mean + q * s;
            let said = desk.run(&format!("acceptance lot.csv --upper {limit} --json"));
            let found: serde_json::Value = serde_json::from_str(&said.stdout).unwrap();
            near(&found, "q_upper", q, 1e-9);
            number(&found, "percent_within_limits")
        };
        for row in &rows {
            let (percent, q) = (row[0], row[n as usize - 2]);
            if !(within(q - 0.0051)..=within(q + 0.0051)).contains(&percent) {
                apart.push((n, percent, q));
            }
        }
    }
    assert_eq!(apart, [(5, 67.0, 0.47)]);
}

/// JCGM 106:2012 (numbers from memory, unconfirmed; they reproduce): a breakdown voltage, and the guard
/// bands of its clause 8.
#[test]
fn conformity() {
    let found = document("judge --value -5.47 --u 0.05 --upper -5.4");
    near(&found, "probability_conforming", 0.92, 0.005);
    let found = document("judge --value 1500.13 --u 0.04 --lower 1499.8 --upper 1500.2");
    near(&found, "probability_conforming", 0.959_940_843_136, 1e-10);
    for (risk, factor) in
        [(0.05, 1.645), (0.1, 1.282), (0.01, 2.326), (0.025, 1.960), (0.001, 3.090)]
    {
        let found =
            document(&format!("judge --value 0 --u 1 --upper 10 --rule guarded --risk {risk}"));
        near(&found, "acceptance_upper", 10.0 - factor, 0.0005);
    }
    let said = crate::desk::run_in(
        &data(),
        "judge --value 17.4 --u 0.4 --upper 18 --rule guarded --strict",
    );
    assert_eq!(said.status, 1, "{}", said.stdout);
}
