//! Nothing panics, and neither NaN nor infinity comes out as an answer, whatever goes in.

use std::fmt::Debug;

use proptest::prelude::*;
use stonewear_stats::anova::{
    Factor, Interactions, Reading, factorial, gauge, gauge_by_range, nested, one_way, tukey,
};
use stonewear_stats::chart::{
    CusumDesign, Established, EwmaDesign, EwmaLimits, Rule, baseline, cusum, ewma, individuals,
    mean_range, mean_sd,
};
use stonewear_stats::comparison::{
    Bounds, Design, Tails, equivalence_of_paired, equivalence_of_two, exact_power, paired,
    power_of_f, power_of_t, verification,
};
use stonewear_stats::conformity::{self, Process, Tolerance};
use stonewear_stats::interlab::{
    Cell, cochran, consistency, grubbs, grubbs_pair, precision, relations,
};
use stonewear_stats::regression::{
    Design as Columns, Responses, deming, fit, invert, limit_crossing, straight_line,
};
use stonewear_stats::table::Table;
use stonewear_stats::uncertainty::model::{Expression, Function};
use stonewear_stats::uncertainty::monte_carlo::{Setup, run};
use stonewear_stats::uncertainty::{
    Distribution, Input, first_order, observed, second_order, top_down,
};
use stonewear_stats::{
    acceptance, describe, distribution, normality, outlier, proficiency, run_length,
};

/// An answer holds no NaN and no infinity. (A refusal may quote the value that it refuses.)
fn sound<T: Debug, E: Debug>(what: &str, answer: Result<T, E>) {
    let Ok(answer) = answer else { return };
    let text = format!("{answer:?}");
    let bad = ["NaN", "-inf", ": inf", "(inf", "[inf", ", inf"];
    assert!(!bad.iter().any(|b| text.contains(b)), "{what}: {text}");
}

/// Numbers that break things.
fn hostile() -> impl Strategy<Value = f64> {
    prop_oneof![
        4 => -1e3..1e3f64,
        2 => Just(0.0),
        2 => Just(1.0),
        1 => Just(-0.0),
        1 => Just(1e308),
        1 => Just(-1e308),
        1 => Just(f64::MAX),
        1 => Just(5e-324),
        1 => Just(1e-200),
        1 => Just(1e149),
        1 => Just(1e200),
        1 => Just(f64::NAN),
        1 => Just(f64::INFINITY),
        1 => Just(f64::NEG_INFINITY),
    ]
}

fn values() -> impl Strategy<Value = Vec<f64>> {
    // Fully hostile lists are refused early; lists of finite extremes get further in.
    prop_oneof![
        prop::collection::vec(hostile(), 0..12),
        prop::collection::vec(
            hostile().prop_map(|v| if v.abs() <= 1e150 { v } else { 1e150 }),
            0..12
        ),
        (hostile(), 0..12usize).prop_map(|(v, n)| vec![v; n]),
        prop::collection::vec(prop_oneof![Just(1.0), Just(2.0), Just(1e-308)], 0..12),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(150))]

    #[test]
    fn one_column(x in values(), a in hostile(), b in hostile()) {
        sound("describe", describe::describe(&x));
        sound("quantile", describe::quantile(&x, a));
        sound("grubbs", grubbs(&x));
        sound("pair", if x.len() < 6 { grubbs_pair(&x).map(|p| p.statistic) } else { Ok(0.0) });
        sound("esd", outlier::generalized_esd(&x, 3, 0.05));
        sound("anderson", normality::anderson_darling(&x));
        sound("shapiro", normality::shapiro_wilk(&x));
        sound("acceptance", acceptance::acceptance(&x, Some(a), Some(b)));
        sound("acceptance", acceptance::acceptance(&x, None, Some(b)));
        sound("algorithm a", proficiency::algorithm_a(&x));
        sound("huber", proficiency::huber_proposal_2(&x));
        sound("mad", proficiency::mad_e(&x));
        sound("iqr", proficiency::n_iqr(&x));
        sound("q", proficiency::q_method(&x));
        sound("hampel", proficiency::hampel(&x, a));
        sound("clean up", proficiency::clean_up(&x));
        sound("top down", top_down(&x, (a, b), &[(a, b)]));
        let rules = [Rule::ONE, Rule::TWO, Rule::FOUR];
        sound("baseline", baseline(&x, &[], &rules));
        if let Ok(process) = Established::new(a, b) {
            sound("individuals", individuals(&x, process, &rules));
            let design = EwmaDesign { lambda: 0.2, width: 3.0, limits: EwmaLimits::Exact };
            sound("ewma", ewma(&x, process, design));
        }
        sound("cusum", cusum(&x, CusumDesign { target: a, allowance: b, decision: 4.0 }));
    }

    #[test]
    fn two_columns(x in values(), y in values(), a in hostile(), b in hostile()) {
        let n = x.len().min(y.len());
        let (x, y) = (&x[..n], &y[..n]);
        sound("line", straight_line(x, y));
        if let Ok(line) = straight_line(x, y) {
            sound("crossing", limit_crossing(&line, a, 0.95));
            sound("inverse", invert(&line, Responses::New(&[a, b]), 0.9));
        }
        if let Ok(design) = Columns::polynomial("x", x, 2, true)
            && let Ok(fit) = fit(design, y)
        {
            sound("coefficients", Ok::<_, ()>(&fit.coefficients));
            sound("s", Ok::<_, ()>(&fit.residual_standard_deviation));
            sound("prediction", fit.predict(&[a], 0.95));
        }
        sound("deming", deming(x, y, 1.0, 0.95));
        sound("verification", verification(x, y, 0.01));
        sound("paired", paired(x, y, 0.05));
        if let Ok(bounds) = Bounds::new(a, b) {
            sound("equivalence", equivalence_of_two(x, y, bounds, 0.05, false));
            sound("equivalence", equivalence_of_paired(x, y, bounds, 0.05));
            sound("power", exact_power(0.5 * a + 0.5 * b, 1.0, 10.0, bounds, 0.05));
        }
        sound("relations", relations(x, y));
        sound("observed", observed(&[x, y]));
        sound("within", proficiency::within_laboratory(x, y));
        sound("pooled", proficiency::der_simonian_laird(x, y));
        sound("pooled", proficiency::paule_mandel(x, y));
    }

    #[test]
    fn groups(data in prop::collection::vec(values(), 0..5)) {
        sound("one way", one_way(&data));
        if data.len() <= 3 {
            sound("tukey", tukey(&data, 0.95));
        }
        sound("mean range", mean_range(&data, &[]));
        sound("mean sd", mean_sd(&data, &[]));
        sound("nested", nested(&[data.clone(), data.clone()], "outer", "inner"));
        let cells: Vec<Cell> =
            data.iter().enumerate().filter_map(|(i, v)| Cell::new(&i.to_string(), v).ok()).collect();
        sound("precision", precision(&cells));
        sound("consistency", consistency(&cells, 0.005));
        sound("cochran", cochran(&cells));
        let flat: Vec<f64> = data.iter().flatten().copied().collect();
        let level = |modulus: usize| -> Vec<String> {
            (0..flat.len()).map(|i| (i / modulus % 2).to_string()).collect()
        };
        let (one, two) = (level(1), level(2));
        let factors = [Factor { name: "a", levels: &one }, Factor { name: "b", levels: &two }];
        sound("factorial", factorial(&flat, &factors, Interactions::Pairs));
        let readings: Vec<Reading> = flat
            .iter()
            .zip(one.iter().zip(&two))
            .map(|(&value, (part, who))| Reading { part: part.clone(), appraiser: who.clone(), value })
            .collect();
        sound("gauge", gauge(&readings));
        sound("gauge by range", gauge_by_range(&readings));
    }

    #[test]
    fn numbers(a in hostile(), b in hostile(), c in hostile(), n in 0..40usize) {
        sound("noncentral t", distribution::noncentral_t::below(a, b, c));
        sound("studentized range", distribution::studentized_range::below(a, n, b));
        sound("percent", acceptance::percent_within_limits(a, n));
        sound("index", acceptance::quality_index_for(a, n));
        sound("power of t", power_of_t(Design::OneSample, Tails::Two, a, 0.05, n));
        sound("power of f", power_of_f(a, 0.05, n));
        sound("scores", proficiency::scores((a, b.abs(), c.abs()), (b, c.abs(), a.abs()), c));
        if let Ok(tolerance) = Tolerance::new(Some(a), Some(b)) {
            sound("probability", conformity::conformance_probability(c, 1.0, &tolerance));
            sound("guarded", conformity::guarded(&tolerance, c, 0.05));
            let process = Process { mean: 0.0, sd: 1.0, u: c };
            sound("risk", conformity::global_risk(&process, &tolerance, &tolerance));
        }
        sound("ewma length", run_length::ewma(0.5, a, b));
        if c.abs() < 4.0 {
            sound("cusum length", run_length::cusum(a.abs(), c, b, run_length::Sides::Both));
        }
        sound("shewhart length", run_length::shewhart(&[Rule::ONE, Rule::TWO], a));
    }

    #[test]
    fn uncertain_inputs(a in hostile(), b in hostile(), c in hostile()) {
        let shapes = [
            Distribution::Normal { mean: a, sd: b },
            Distribution::Rectangular { lower: a, upper: b },
            Distribution::Triangular { lower: a, mode: c, upper: b },
            Distribution::Arcsine { lower: a, upper: b },
            Distribution::T { location: a, scale: b, freedom: c },
            Distribution::CurvilinearTrapezoid { lower: a, upper: b, inexactness: c },
        ];
        let model = Function(|x: &[f64]| 1.0 / x[0]);
        for shape in shapes {
            let Ok(input) = Input::new("x", shape) else { continue };
            let inputs = [input];
            sound("first order", first_order(&model, &inputs, &[], 0.95));
            sound("second order", second_order(&model, &inputs));
            let setup = Setup { inputs: &inputs, correlations: &[], level: 0.9, seed: 1 };
            sound("monte carlo", run(&model, setup, 200));
        }
    }

    #[test]
    fn any_text_is_a_table_or_an_error(text in "[a-c0-9,;\t\"\n.\\-eE# ]{0,80}") {
        if let Ok(table) = Table::read(text.as_bytes()) {
            for name in table.names() {
                sound("numbers", table.numbers(name));
                sound("numbers or empty", table.numbers_or_empty(name));
            }
        }
    }

    #[test]
    fn any_bytes_are_a_table_or_an_error(bytes in prop::collection::vec(any::<u8>(), 0..60)) {
        let _ = Table::read(&bytes);
    }

    #[test]
    fn any_text_is_an_expression_or_an_error(text in "[ab0-9+*/^()., e\\-]{0,24}") {
        let _ = Expression::new(&text, &["a", "b"]);
    }
}

#[test]
fn a_million_rows() {
    let mut text = String::from("index,loss\n");
    for i in 0..1_000_000u32 {
        text.push_str(&format!("{i},{}.{}\n", 10 + i % 7, i % 10));
    }
    let table = Table::read(text.as_bytes()).unwrap();
    assert_eq!(table.len(), 1_000_000);
    let loss = table.numbers("loss").unwrap();
    sound("describe", describe::describe(&loss));
    sound("line", straight_line(&table.numbers("index").unwrap(), &loss));
}
