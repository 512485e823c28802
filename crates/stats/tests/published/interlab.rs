//! Interlaboratory precision, outliers among laboratories, and published data of the trade.

use stonewear_stats::interlab::{
    self, Cell, Observation, Study, Verdict, cochran, cochran_critical, consistency, grubbs,
    grubbs_critical, grubbs_pair_critical, h_critical, k_critical, precision, relations,
    sensitivity_ratio,
};

use crate::check::{Check, list, rows};

#[test]
fn e691() {
    let observations: Vec<Observation> = rows("e691_glucose.csv")
        .iter()
        .flat_map(|row| {
            row[2..5].iter().map(|value| Observation {
                laboratory: row[1].clone(),
                material: row[0].clone(),
                value: value.parse().unwrap(),
            })
        })
        .collect();
    let study = Study::new(&observations).unwrap();
    let check = Check::load("ils_e691_glucose").relative(1e-9);
    check.verify(|name| {
        if name.starts_with("critical h") {
            return h_critical(8, 0.005).unwrap();
        }
        if name.starts_with("critical k") {
            return k_critical(8, 3, 0.005).unwrap();
        }
        let words: Vec<&str> = name.split(' ').collect();
        let cells = &study.materials.iter().find(|(m, _)| m == words[0]).unwrap().1;
        let of_material = precision(cells).unwrap();
        if let [_, statistic, laboratory] = words[..] {
            let wanted = laboratory.trim_start_matches("lab");
            let all = consistency(cells, 0.005).unwrap();
            let one = all.into_iter().find(|c| c.laboratory == wanted).unwrap();
            return if statistic == "h" { one.h.unwrap() } else { one.k.unwrap() };
        }
        match words[1] {
            "mean" => of_material.mean,
            "s_x" => of_material.s_x.unwrap(),
            "s_r" => of_material.s_r.unwrap(),
            "s_R" => of_material.s_reproducibility.unwrap(),
            "r" => of_material.repeatability_limit.unwrap(),
            "R" => of_material.reproducibility_limit.unwrap(),
            _ => f64::NAN,
        }
    });
}

#[test]
fn unequal_cells() {
    let check = Check::load("ils_iso5725_sulfur").relative(1e-9);
    let levels: Vec<Vec<Cell>> = check
        .input("levels")
        .as_array()
        .unwrap()
        .iter()
        .map(|level| {
            let laboratories = level.as_array().unwrap().iter().enumerate();
            laboratories.map(|(i, v)| Cell::new(&format!("{}", i + 1), &list(v)).unwrap()).collect()
        })
        .collect();
    check.verify(|name| {
        let words: Vec<&str> = name.split(' ').collect();
        let cells = &levels[words[1].parse::<usize>().unwrap() - 1];
        let precision = precision(cells).unwrap();
        let means: Vec<f64> = cells.iter().map(Cell::mean).collect();
        match words[2] {
            "m" => precision.mean,
            "s_r" => precision.s_r.unwrap(),
            "s_L" => precision.s_l.unwrap(),
            "s_R" => precision.s_reproducibility.unwrap(),
            "Grubbs" => grubbs(&means).unwrap().statistic,
            _ => f64::NAN,
        }
    });
}

#[test]
fn critical_values() {
    // The double test's reference is a simulation, with a noise of 1 to 3 % in the statistic; at five
    // laboratories and 1 % it even lies below what Bonferroni's inequality allows (0.00172).
    let check = Check::load("ils_cochran_grubbs_critical");
    let doubles: Vec<String> = check.names().into_iter().filter(|n| n.contains("double")).collect();
    assert_eq!(doubles.len(), 8);
    let number = |name: &str, key: &str| -> usize {
        name.split(' ').find_map(|w| w.strip_prefix(key)).unwrap().parse().unwrap()
    };
    check.relative(3e-2).verify(|name| {
        let alpha = if name.ends_with("1%") { 0.01 } else { 0.05 };
        let p = number(name, "p=");
        match name.split(' ').take(2).collect::<Vec<_>>()[..] {
            ["Cochran", _] => cochran_critical(p, number(name, "n="), alpha).unwrap(),
            ["Grubbs", "single"] => grubbs_critical(p, alpha, true).unwrap(),
            _ => grubbs_pair_critical(p, alpha).unwrap(),
        }
    });
    Check::load("ils_cochran_grubbs_critical").relative(1e-9).verify_some(|name| {
        let alpha = if name.ends_with("1%") { 0.01 } else { 0.05 };
        let p = number(name, "p=");
        match name.split(' ').take(2).collect::<Vec<_>>()[..] {
            ["Cochran", _] => Some(cochran_critical(p, number(name, "n="), alpha).unwrap()),
            ["Grubbs", "single"] => Some(grubbs_critical(p, alpha, true).unwrap()),
            _ => None,
        }
    });
}

/// The European drum-attrition round: every result, with the flag the source printed.
fn european_round(level: &str, drop_outliers: bool) -> Vec<Cell> {
    let kept: Vec<Observation> = rows("la_ils_european_bre.csv")
        .iter()
        .filter(|row| row[2] == level)
        .filter(|row| !drop_outliers || row.get(5).is_none_or(|flag| flag != "outlier"))
        .flat_map(|row| {
            row[3..5].iter().filter(|v| !v.is_empty()).map(|v| Observation {
                laboratory: row[0].clone(),
                material: level.to_string(),
                value: v.parse().unwrap(),
            })
        })
        .collect();
    Study::new(&kept).unwrap().materials.remove(0).1
}

/// BRE, data and precision of the European cross-testing experiment on the drum-attrition test,
/// 28 laboratories: stragglers kept, outliers (level 3: A and X) dropped, single results kept.
#[test]
fn european_drum_attrition_round() {
    let published = [
        ("1", 28, 8.3, 0.213, 0.459),
        ("2", 28, 21.6, 0.487, 1.364),
        ("3", 26, 37.5, 0.572, 2.348),
    ];
    let all_results = [("1", 8.3), ("2", 21.6), ("3", 37.3)];
    for (level, laboratories, mean, s_r, s_r_upper) in published {
        let precision = precision(&european_round(level, true)).unwrap();
        assert_eq!(precision.laboratories, laboratories, "level {level}");
        assert!((precision.mean - mean).abs() <= 0.05, "level {level}: {}", precision.mean);
        let found = (precision.s_r.unwrap(), precision.s_reproducibility.unwrap());
        assert!((found.0 - s_r).abs() <= 0.0005, "level {level}: {}", found.0);
        assert!((found.1 - s_r_upper).abs() <= 0.0005, "level {level}: {}", found.1);
    }
    for (level, mean) in all_results {
        let with_outliers = precision(&european_round(level, false)).unwrap();
        assert!((with_outliers.mean - mean).abs() <= 0.05);
    }
    // The source calls A and X outliers at 1 %; Cochran's test finds them too, one after the other.
    let mut cells = european_round("3", false);
    let mut outliers = Vec::new();
    loop {
        let test = cochran(&cells).unwrap();
        if test.verdict != Verdict::Outlier {
            break;
        }
        cells.retain(|c| c.laboratory != test.laboratory);
        outliers.push(test.laboratory);
    }
    assert_eq!(outliers, ["A", "X"]);
}

const WET_LEVELS: [f64; 3] = [6.4, 11.7, 25.6];
const WET_REPEATABILITY: [f64; 3] = [0.291, 0.385, 0.335];
const WET_REPRODUCIBILITY: [f64; 3] = [0.344, 0.890, 1.086];
const DRUM_LEVELS: [f64; 3] = [8.3, 21.6, 37.5];
const DRUM_REPEATABILITY: [f64; 3] = [0.213, 0.487, 0.572];
const DRUM_REPRODUCIBILITY: [f64; 3] = [0.459, 1.364, 2.348];

/// BRE, precision of the wet-attrition test, table 2: s = a + bX by the iterated weighted line.
#[test]
fn functional_relation_of_wet_attrition() {
    let r = relations(&WET_LEVELS, &WET_REPEATABILITY).unwrap().linear.unwrap();
    let big_r = relations(&WET_LEVELS, &WET_REPRODUCIBILITY).unwrap().linear.unwrap();
    for (found, published) in [(r.0, 0.319), (r.1, 0.001), (big_r.0, 0.093), (big_r.1, 0.049)] {
        assert!((found - published).abs() <= 0.0005, "{found} {published}");
    }
    let factor = interlab::LIMIT_FACTOR;
    for (found, published) in [(r.0, 0.893), (r.1, 0.003), (big_r.0, 0.260), (big_r.1, 0.137)] {
        assert!((factor * found - published).abs() <= 0.0006, "{found} {published}");
    }
    // An unweighted line would not do: it gives 0.283 + 0.034 X.
    let line =
        stonewear_stats::regression::straight_line(&WET_LEVELS, &WET_REPRODUCIBILITY).unwrap();
    assert!((line.intercept - 0.283).abs() < 5e-4 && (line.slope - 0.034).abs() < 5e-4);
}

/// BRE, precision of the drum-attrition test, table 2: s proportional to X.
#[test]
fn functional_relation_of_drum_attrition() {
    let r = relations(&DRUM_LEVELS, &DRUM_REPEATABILITY).unwrap().proportional.unwrap();
    let big_r = relations(&DRUM_LEVELS, &DRUM_REPRODUCIBILITY).unwrap().proportional.unwrap();
    assert!((r - 0.021).abs() <= 0.0005 && (big_r - 0.060).abs() <= 0.0005);
    let factor = interlab::LIMIT_FACTOR;
    assert!((factor * r - 0.06).abs() <= 0.005 && (factor * big_r - 0.17).abs() <= 0.005);
}

/// BRE, tables 4 of both tests; 5.55 prints as 5.6 and 16.85 as 16.9, hence 0.06.
#[test]
fn sensitivity_ratios() {
    let cases = [
        (WET_LEVELS, WET_REPEATABILITY, [11.0, 27.2, 43.3]),
        (WET_LEVELS, WET_REPRODUCIBILITY, [5.6, 9.9, 16.9]),
        (DRUM_LEVELS, DRUM_REPEATABILITY, [25.0, 21.2, 47.8]),
        (DRUM_LEVELS, DRUM_REPRODUCIBILITY, [9.2, 5.9, 12.2]),
    ];
    for (levels, deviations, published) in cases {
        for ((i, j), published) in [(0, 1), (1, 2), (0, 2)].into_iter().zip(published) {
            let at = |k: usize| (levels[k], deviations[k]);
            let found = sensitivity_ratio(at(i), at(j)).unwrap();
            assert!((found - published).abs() <= 0.06, "{found} {published}");
        }
    }
}

/// Limits printed beside standard deviations: 2.8 s within the rounding of both.
#[test]
fn printed_limits_are_2_8_standard_deviations() {
    let columns = [
        ("md_ils_precision_bre.csv", [(4, 7), (5, 8)], 0.05, 1),
        ("la_ils_precision_bre.csv", [(4, 6), (5, 7)], 0.05, 1),
        ("density_absorption_precision_bre.csv", [(4, 7), (5, 8)], 0.005, 2),
    ];
    for (file, pairs, half_unit, _) in columns {
        for row in rows(file) {
            for (s, limit) in pairs {
                let s: f64 = row[s].parse().unwrap();
                let printed: f64 = row[limit].parse().unwrap();
                let rounding = half_unit + interlab::LIMIT_FACTOR * 0.0005;
                let found = interlab::LIMIT_FACTOR * s;
                // One cell of the wet-attrition table, French level 3, prints 1.0 for 2.8 × 0.339 =
                // 0.949: the source rounded from more digits, within the rounding of s.
                assert!((found - printed).abs() <= rounding + 1e-12, "{file} {row:?}: {found}");
            }
        }
    }
}
