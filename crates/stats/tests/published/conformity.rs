//! Conformity: probabilities, guard bands, risks, statements.

use stonewear_stats::conformity::{
    GuardedRule, Process, Rule, Tolerance, conformance_probability, global_risk,
    guard_band_for_consumer_risk, guard_factor, guarded, judge,
};

use crate::check::Check;

#[test]
fn specific_risk() {
    let upper = |limit| Tolerance::new(None, Some(limit)).unwrap();
    Check::load("jcgm106_specific_risk").relative(1e-9).verify(|name| {
        if let Some(risk) = name.strip_prefix("one-sided guard factor w/u for specific risk ") {
            return guard_factor(risk.parse().unwrap()).unwrap();
        }
        // A speed is proved too high when the true one lies above 100 with 99.9 %; u is 2 % of the
        // reading, so the smallest reading solves (v - 100) / (0.02 v) = z.
        let z = guard_factor(0.001).unwrap();
        let smallest = 100.0 / (1.0 - 0.02 * z);
        match name {
            "zener p_c" => conformance_probability(-5.47, 0.05, &upper(-5.40)).unwrap(),
            "speed: smallest indicated speed with P(v>100)>=99.9 %" => smallest.ceil(),
            "speed unrounded" => smallest,
            "P(v>100 | 107)" => 1.0 - conformance_probability(107.0, 2.14, &upper(100.0)).unwrap(),
            "two-sided p_c" => {
                let both = Tolerance::new(Some(1499.8), Some(1500.2)).unwrap();
                conformance_probability(1500.13, 0.04, &both).unwrap()
            }
            _ => f64::NAN,
        }
    });
}

#[test]
fn risks_of_a_production() {
    let symmetric = |half: f64| Tolerance::new(Some(-half), Some(half)).unwrap();
    Check::load("jcgm106_global_risk").relative(1e-8).verify(|name| {
        let words: Vec<&str> = name.split(' ').collect();
        let setting = |key: &str| {
            words.iter().find_map(|w| w.strip_prefix(key)).map(|v| v.parse::<f64>().unwrap())
        };
        let (process, tolerance, acceptance) = if words[0] == "Deaver" {
            let (limit, ratio) = (setting("SL=").unwrap(), setting("TUR=").unwrap());
            let factor = if name.contains("guard band") { 0.91 } else { 1.0 };
            let process = Process { mean: 0.0, sd: 1.0, u: 1.0 / ratio };
            (process, symmetric(limit), symmetric(factor * limit))
        } else {
            let process = Process { mean: 0.0, sd: 0.12, u: 0.04 };
            let tolerance = symmetric(0.2);
            (process, tolerance, tolerance.narrowed(setting("w=").unwrap_or(0.0)).unwrap())
        };
        let risk = global_risk(&process, &tolerance, &acceptance).unwrap();
        let consumer = words.contains(&"PFA") || words.contains(&"R_C");
        if consumer {
            // Asking for the guard band of that risk gives the one it came from.
            let w = guard_band_for_consumer_risk(&process, &tolerance, risk.consumer).unwrap();
            let meant = tolerance.upper.unwrap() - acceptance.upper.unwrap();
            assert!((w - meant).abs() < 1e-7, "{name}: {w} {meant}");
        }
        if consumer { risk.consumer } else { risk.producer }
    });
}

#[test]
fn guard_bands_of_the_guideline() {
    let check = Check::load("dr_ilac_g8").relative(1e-9);
    for rule in check.input("rules").as_array().unwrap() {
        let multiple = rule["r"].as_f64().unwrap();
        let risk = GuardedRule { multiple }.specific_risk();
        // A result on the guarded limit has that risk.
        let limit = Tolerance::new(None, Some(10.0)).unwrap();
        let on_limit = 10.0 - multiple * 2.0 * 0.1;
        let conforming = conformance_probability(on_limit, 0.1, &limit).unwrap();
        assert!((1.0 - conforming - risk).abs() < 1e-12);
    }
    check.verify_some(|name| {
        if let Some((rule, bound)) = name.split_once(" within published bound ") {
            let multiple = rule.trim_start_matches("r=").parse().unwrap();
            assert!(GuardedRule { multiple }.specific_risk() <= bound.parse().unwrap());
            return None;
        }
        if let Some(multiple) = name.strip_prefix("specific risk r=") {
            let multiple = multiple.parse().unwrap();
            return Some(GuardedRule { multiple }.specific_risk());
        }
        Some(1.0 - GuardedRule { multiple: -1.0 }.specific_risk())
    });
}

#[test]
fn statements() {
    let check = Check::load("dr_binary_nonbinary_upper_limit");
    let (limit, u) = (check.number("limit"), 0.5 * check.number("U"));
    let tolerance = Tolerance::new(None, Some(limit)).unwrap();
    let guard = GuardedRule { multiple: 1.0 };
    let texts = check.texts();
    assert_eq!(texts.len(), 15);
    for (name, expected) in texts {
        let value: f64 = name.split(['=', ' ']).nth(1).unwrap().parse().unwrap();
        let rule = match name.split_once(' ').unwrap().1 {
            "non-binary" => Rule::NonBinary(guard),
            "binary guard band" => Rule::Guarded(guard),
            _ => Rule::Simple,
        };
        let judgement = judge(value, u, &tolerance, rule).unwrap();
        assert_eq!(judgement.statement.words(), expected, "{name}");
    }
    check.relative(1e-9).verify_some(|name| {
        let value = name.strip_prefix("x=")?.strip_suffix(" P(true value > limit)")?;
        let judgement = judge(value.parse().unwrap(), u, &tolerance, Rule::Simple).unwrap();
        Some(1.0 - judgement.probability)
    });
}

#[test]
fn guarded_limits_hold_the_risk() {
    for (half, risk) in [(1.0, 0.05), (0.25, 0.05), (0.2, 0.049)] {
        let tolerance = Tolerance::new(Some(-half), Some(half)).unwrap();
        let acceptance = guarded(&tolerance, 0.1, risk).unwrap();
        let on_limit = conformance_probability(acceptance.upper.unwrap(), 0.1, &tolerance).unwrap();
        assert!((1.0 - on_limit - risk).abs() < 1e-12);
    }
    let narrow = Tolerance::new(Some(-0.1), Some(0.1)).unwrap();
    assert!(guarded(&narrow, 0.1, 0.05).is_err());
}
