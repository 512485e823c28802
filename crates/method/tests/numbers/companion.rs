//! The companion tests: the drum, the cycles of soundness, density and absorption.

use super::check::{Check, Row};

const DRY_AS_ELSEWHERE: &[Row<'_>] = &[
    ("drying.temperature_c.nominal", "110", "C"),
    ("drying.temperature_c.tolerance", "5", "C"),
    ("drying.constant_within_percent", "0.1", "C"),
    ("drying.weighings_apart_h", "2", "C"),
];

/// Arizona DOT.
const INTERVALS: &[Row<'_>] = &[
    ("interval.balance.months", "12", "S:ADOT05"),
    ("interval.sieves.months", "6", "S:ADOT05"),
    ("interval.oven.months", "4", "S:ADOT05"),
];

/// Sphere 46.8 mm, 390 to 445 g.
const SPHERE: &[Row<'_>] = &[
    ("balls.diameter_mm.nominal", "46.8", "S:MN1210"),
    ("balls.mass_g.nominal", "417.5", "S:MN1210"),
    ("balls.mass_g.tolerance", "27.5", "S:MN1210"),
];

const UNIFORMITY: &[Row<'_>] = &[
    ("property.uniformity.formula", "uniformity-ratio", "M"),
    ("property.uniformity.round_to", "0.01", "M"),
    ("property.uniformity.at_most", "0.20", "M"),
];

/// Gradings of the drum: name, and fractions with their tolerance.
type Drum = (&'static str, &'static [[&'static str; 4]]);
const GRADINGS: &[Drum] = &[
    (
        "A",
        &[
            ["37.5", "25.0", "1250", "25"],
            ["25.0", "19.0", "1250", "25"],
            ["19.0", "12.5", "1250", "10"],
            ["12.5", "9.5", "1250", "10"],
        ],
    ),
    ("B", &[["19.0", "12.5", "2500", "10"], ["12.5", "9.5", "2500", "10"]]),
    ("C", &[["9.5", "6.3", "2500", "10"], ["6.3", "4.75", "2500", "10"]]),
    ("D", &[["4.75", "2.36", "5000", "10"]]),
];

/// Spheres, mass and tolerance of each grading.
const ASTM: [[&str; 3]; 4] =
    [["12", "5000", "25"], ["11", "4584", "25"], ["8", "3330", "20"], ["6", "2500", "15"]];
const ONTARIO: [[&str; 3]; 4] =
    [["12", "5000", "25"], ["11", "4580", "25"], ["8", "3330", "20"], ["9", "3740", "20"]];

fn charges(check: &mut Check, charges: &[[&str; 3]], mark: &str, revolutions: (&str, &str)) {
    for ((name, _), [balls, mass, tolerance]) in GRADINGS.iter().zip(charges) {
        let path = format!("grading.{name}");
        check.row(&format!("{path}.balls"), balls, mark);
        check.row(&format!("{path}.charge_g.nominal"), mass, mark);
        check.row(&format!("{path}.charge_g.tolerance"), tolerance, mark);
        check.row(&format!("{path}.revolutions.nominal"), revolutions.0, revolutions.1);
    }
}

fn tolerances(check: &mut Check, grading: &str, fractions: &[[&str; 4]]) {
    for (number, [.., tolerance]) in (1..).zip(fractions) {
        let path = format!("grading.{grading}.fraction.{number}.mass_g.tolerance");
        check.row(&path, tolerance, "M");
    }
}

#[test]
fn the_north_american_drum_carries_the_facts() {
    for id in ["astm-c131", "aashto-t96"] {
        let mut check = Check::of(id);
        check.rows(SPHERE);
        check.rows(INTERVALS);
        check.rows(UNIFORMITY);
        check.rows(&[
            ("specimen.count", "1", "D"),
            ("specimen.mass_g.nominal", "5000", "S:INEN0860"),
            ("specimen.mass_g.tolerance", "10", "S:INEN0860"),
            ("specimen.weigh_to_g", "1", "M"),
            // 30 to 33
            ("speed_rpm.nominal", "31.5", "S:INEN0860"),
            ("speed_rpm.tolerance", "1.5", "S:INEN0860"),
            ("wash_sieves_mm.1", "4.75", "S:MN1210"),
            ("wash_sieves_mm.2", "1.70", "S:MN1210"),
            ("loss.formula", "of-mass-before", "M"),
            ("loss.round_to_percent", "1", "M"),
            ("loss.rounding_rule", "half-even", "C"),
            ("property.uniformity.rounding_rule", "half-even", "C"),
            ("reading.kept_early.revolutions", "100", "M"),
        ]);
        if id == "aashto-t96" {
            check.rows(&DRY_AS_ELSEWHERE[..2]);
            check.row("drying.constant_within_percent", "0.1", "S:T96");
            check.row("drying.weighings_apart_h", "2", "S:T96");
        } else {
            check.rows(DRY_AS_ELSEWHERE);
        }
        charges(&mut check, &ASTM, "M", ("500", "S:INEN0860"));
        for (name, fractions) in GRADINGS {
            let rows: Vec<[&str; 3]> = fractions.iter().map(|[p, r, m, _]| [*p, *r, *m]).collect();
            check.fractions(name, &rows, "M", "M");
            tolerances(&mut check, name, fractions);
        }
        check.nothing_else();
    }
}

/// LS-603, table 1: the charges; 13.2 mm in place of 12.5 mm.
#[test]
fn the_ontario_drum_carries_the_facts_and_differs() {
    let mut check = Check::of("ls-603");
    check.rows(SPHERE);
    check.rows(INTERVALS);
    check.rows(UNIFORMITY);
    check.rows(DRY_AS_ELSEWHERE);
    check.rows(&[
        ("specimen.count", "1", "M"),
        ("specimen.mass_g.nominal", "5000", "M"),
        ("specimen.mass_g.tolerance", "10", "M"),
        ("specimen.weigh_to_g", "1", "M"),
        ("speed_rpm.nominal", "31.5", "M"),
        ("speed_rpm.tolerance", "1.5", "M"),
        ("wash_sieves_mm.1", "4.75", "M"),
        ("wash_sieves_mm.2", "1.70", "M"),
        ("loss.formula", "of-mass-before", "M"),
        ("loss.round_to_percent", "1", "M"),
        ("loss.rounding_rule", "half-up", "S:LS100"),
        ("property.uniformity.rounding_rule", "half-up", "S:LS100"),
        ("reading.kept_early.revolutions", "100", "M"),
    ]);
    charges(&mut check, &ONTARIO, "S:LS603", ("500", "M"));
    for (name, fractions) in GRADINGS {
        for (number, [passing, retained, mass, _]) in (1..).zip(*fractions) {
            let path = format!("grading.{name}.fraction.{number}");
            for (side, mm) in [("passing_mm", passing), ("retained_mm", retained)] {
                let (mm, mark) = match *mm {
                    "12.5" => ("13.2", "S:LS603"),
                    "6.3" => ("6.7", "M"),
                    other => (other, "M"),
                };
                check.row(&format!("{path}.{side}"), mm, mark);
            }
            check.row(&format!("{path}.mass_g.nominal"), mass, "M");
        }
        tolerances(&mut check, name, fractions);
    }
    check.nothing_else();
}

/// The charges of two agencies for one grading stand in two files, and comparing them says so.
#[test]
fn two_agencies_differ_in_the_charge_of_one_grading() {
    let methods = stonewear_method::library::built_in_methods();
    let of = |id| stonewear_method::library::find(&methods, id).unwrap();
    let found = stonewear_method::figures::diff(of("astm-c131"), of("ls-603"));
    let side = |side: &Option<stonewear_method::FigureAt>| side.as_ref().unwrap().value.clone();
    for (path, astm, ontario) in [
        ("grading.B.charge_g.nominal", "4584", "4580"),
        ("grading.D.charge_g.nominal", "2500", "3740"),
        ("grading.D.balls", "6", "9"),
    ] {
        let difference = found.iter().find(|one| one.path == path).unwrap();
        assert_eq!(
            (side(&difference.left), side(&difference.right)),
            (astm.into(), ontario.into())
        );
    }
    assert!(!found.iter().any(|one| one.path.starts_with("grading.A.charge")), "A is the same");
}

/// 12 spheres, 10 000 g, 1000 revolutions, gradings 1 to 3, all from memory.
#[test]
fn the_drum_for_large_stone_carries_the_facts() {
    let mut check = Check::of("astm-c535");
    check.rows(SPHERE);
    check.rows(INTERVALS);
    check.rows(UNIFORMITY);
    check.rows(DRY_AS_ELSEWHERE);
    check.rows(&[
        ("specimen.count", "1", "M"),
        ("specimen.mass_g.nominal", "10000", "M"),
        ("specimen.mass_g.tolerance", "100", "M"),
        ("specimen.weigh_to_g", "5", "M"),
        ("speed_rpm.nominal", "31.5", "D"),
        ("speed_rpm.tolerance", "1.5", "D"),
        ("wash_sieves_mm.1", "4.75", "M"),
        ("wash_sieves_mm.2", "1.70", "M"),
        ("loss.formula", "of-mass-before", "M"),
        ("loss.round_to_percent", "1", "M"),
        ("loss.rounding_rule", "half-even", "C"),
        ("property.uniformity.rounding_rule", "half-even", "C"),
        ("reading.kept_early.revolutions", "200", "M"),
    ]);
    let gradings: [Drum; 3] = [
        (
            "1",
            &[["75", "63", "2500", "50"], ["63", "50", "2500", "50"], ["50", "37.5", "5000", "50"]],
        ),
        ("2", &[["50", "37.5", "5000", "50"], ["37.5", "25", "5000", "25"]]),
        ("3", &[["37.5", "25", "5000", "25"], ["25", "19", "5000", "25"]]),
    ];
    for (name, fractions) in gradings {
        let path = format!("grading.{name}");
        check.row(&format!("{path}.balls"), "12", "M");
        check.row(&format!("{path}.charge_g.nominal"), "5000", "M");
        check.row(&format!("{path}.charge_g.tolerance"), "25", "M");
        check.row(&format!("{path}.revolutions.nominal"), "1000", "M");
        let rows: Vec<[&str; 3]> = fractions.iter().map(|[p, r, m, _]| [*p, *r, *m]).collect();
        check.fractions(name, &rows, "M", "M");
        tolerances(&mut check, name, fractions);
    }
    check.nothing_else();
}

/// 10/14, 5000 ± 5 g, 11 balls of 4690 to 4860 g, 500 revolutions at 31 to 33.
#[test]
fn the_european_drum_carries_the_facts() {
    let mut check = Check::of("en-1097-2");
    check.rows(INTERVALS);
    check.rows(&[
        ("specimen.count", "1", "M"),
        ("specimen.mass_g.nominal", "5000", "M"),
        ("specimen.mass_g.tolerance", "5", "M"),
        ("specimen.weigh_to_g", "1", "M"),
        ("speed_rpm.nominal", "32", "M"),
        ("speed_rpm.tolerance", "1", "M"),
        ("wash_sieves_mm.1", "1.6", "M"),
        ("drying.temperature_c.nominal", "110", "C"),
        ("drying.temperature_c.tolerance", "5", "C"),
        ("drying.constant_within_percent", "0.1", "C"),
        ("drying.weighings_apart_h", "1", "C"),
        ("loss.formula", "of-nominal-mass", "M"),
        ("loss.round_to_percent", "1", "S:BRE-LAdescrp"),
        ("loss.rounding_rule", "half-even", "C"),
        ("precision.repeatability.limit_line.intercept", "0", "S:BRE-LArvals"),
        ("precision.repeatability.limit_line.slope", "0.06", "S:BRE-LArvals"),
        ("precision.reproducibility.limit_line.intercept", "0", "S:BRE-LArvals"),
        ("precision.reproducibility.limit_line.slope", "0.17", "S:BRE-LArvals"),
        ("grading.10/14.charge_g.nominal", "4775", "M"),
        ("grading.10/14.charge_g.tolerance", "85", "M"),
        ("grading.10/14.balls", "11", "M"),
        ("grading.10/14.revolutions.nominal", "500", "M"),
    ]);
    check.fractions("10/14", &[["14", "10", "5000"]], "M", "M");
    check.nothing_else();
}

/// Na2SO4 1.151 to 1.174, MgSO4 1.295 to 1.308; 16 to 18 h, 15 ± 5 min, 5 cycles.
#[test]
fn soundness_carries_the_facts() {
    for (id, gravity, within) in
        [("astm-c88-sodium", "1.1625", "0.0115"), ("astm-c88-magnesium", "1.3015", "0.0065")]
    {
        let mut check = Check::of(id);
        check.rows(INTERVALS);
        check.rows(&[
            ("interval.temperature.months", "6", "S:ADOT05"),
            ("specimen.count", "1", "M"),
            ("specimen.weigh_to_g", "1", "C"),
            ("drying.temperature_c.nominal", "110", "M"),
            ("drying.temperature_c.tolerance", "5", "M"),
            ("drying.constant_within_percent", "0.1", "C"),
            ("drying.weighings_apart_h", "2", "C"),
            ("loss.formula", "weighted-by-grading", "M"),
            ("loss.round_to_percent", "0.1", "C"),
            ("loss.rounding_rule", "half-even", "C"),
            ("loss.untested_below_percent", "5", "M"),
            ("reading.gravity.wanted.nominal", gravity, "S:IS2386-5"),
            ("reading.gravity.wanted.tolerance", within, "S:IS2386-5"),
            ("reading.immersion.wanted.nominal", "17", "M"),
            ("reading.immersion.wanted.tolerance", "1", "M"),
            ("reading.drained.wanted.nominal", "15", "M"),
            ("reading.drained.wanted.tolerance", "5", "M"),
            ("reading.cycles.wanted.nominal", "5", "M"),
            ("reading.cycles.wanted.tolerance", "0", "M"),
        ]);
        let fractions = [
            ["63", "37.5", "5000", "300"],
            ["37.5", "19", "1500", "50"],
            ["19", "9.5", "1000", "10"],
            ["9.5", "4.75", "300", "5"],
        ];
        let rows: Vec<[&str; 3]> = fractions.iter().map(|[p, r, m, _]| [*p, *r, *m]).collect();
        check.fractions("coarse", &rows, "M", "M");
        tolerances(&mut check, "coarse", &fractions);
        check.nothing_else();
    }
}

/// The formulas of C 127 and T 85; soak 24 ± 4 h from memory, 15 to 19 h in T 85-14.
#[test]
fn density_and_absorption_carry_the_facts() {
    for (id, soak, within, mark, place) in
        [("astm-c127", "24", "4", "M", "0.01"), ("aashto-t85", "17", "2", "S:T85", "0.001")]
    {
        let mut check = Check::of(id);
        check.rows(DRY_AS_ELSEWHERE);
        check.rows(&[
            ("interval.balance.months", "12", "S:ADOT05"),
            ("interval.oven.months", "4", "S:ADOT05"),
            ("specimen.count", "1", "M"),
            ("specimen.weigh_to_g", "1", "M"),
        ]);
        check.row("reading.soaked.wanted.nominal", soak, mark);
        check.row("reading.soaked.wanted.tolerance", within, mark);
        formulas(&mut check, place);
        check.nothing_else();
    }
}

fn formulas(check: &mut Check, place: &str) {
    for (name, formula, place) in [
        ("oven_dry", "oven-dry-density", place),
        ("saturated", "saturated-density", place),
        ("apparent", "apparent-density", place),
        ("absorption", "absorption", "0.1"),
    ] {
        check.row(&format!("property.{name}.formula"), formula, "M");
        check.row(&format!("property.{name}.round_to"), place, "M");
        check.row(&format!("property.{name}.rounding_rule"), "half-even", "C");
    }
}

/// European experiment, PDrvals table 1: mean, r1, R1 at three levels.
#[test]
fn the_european_density_carries_the_published_precision() {
    let mut check = Check::of("en-1097-6");
    check.rows(DRY_AS_ELSEWHERE);
    check.rows(&[
        ("interval.balance.months", "12", "S:ADOT05"),
        ("interval.oven.months", "4", "S:ADOT05"),
        ("specimen.count", "1", "M"),
        ("specimen.weigh_to_g", "1", "C"),
    ]);
    formulas(&mut check, "0.01");
    for (name, levels) in [
        (
            "oven_dry",
            [["2.70", "0.008", "0.019"], ["3.06", "0.016", "0.026"], ["2.60", "0.009", "0.037"]],
        ),
        (
            "saturated",
            [["2.67", "0.008", "0.012"], ["3.05", "0.016", "0.025"], ["2.51", "0.017", "0.026"]],
        ),
        ("absorption", [["1.0", "0.17", "0.28"], ["0.5", "0.13", "0.31"], ["3.1", "0.24", "0.62"]]),
    ] {
        for (number, [mean, r, big_r]) in (1..).zip(levels) {
            for (conditions, difference) in [("repeatability", r), ("reproducibility", big_r)] {
                let path = format!("property.{name}.precision.{conditions}.level.{number}");
                check.row(&format!("{path}.at"), mean, "S:BRE-PDrvals");
                check.row(&format!("{path}.difference"), difference, "S:BRE-PDrvals");
            }
        }
    }
    check.nothing_else();
}

/// Published limits are 2.8 times the published standard deviations (PDrvals table 1), within the
/// digit that is printed: the source rounded from more digits.
#[test]
fn the_published_limits_are_2_8_times_the_standard_deviations() {
    let decimal = |text: &str| text.parse::<stonewear_measure::Decimal>().unwrap();
    for (s, printed, digit) in [
        ("0.084", "0.24", "0.01"),
        ("0.222", "0.62", "0.01"),
        ("0.0041", "0.012", "0.001"),
        ("0.0134", "0.037", "0.001"),
    ] {
        let off = (decimal(s) * decimal("2.8") - decimal(printed)).abs();
        assert!(off < decimal(digit) * decimal("0.6"), "{s}: {off}");
    }
}
