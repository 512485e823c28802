//! The numbers of the method files against the collection of facts that they were written from.
//!
//! The tables below are a second copy, typed from the facts and not from the files: each number
//! with the mark that the facts give it. `S:` names the source in which the number was read (one
//! of them, where several agree), `M` is from memory, `C` common practice, `D` derived. A number
//! that stands in a file but in no table fails, too.

mod check;
mod companion;

use check::{Check, Family, Marks, Row};
use std::collections::BTreeSet;
use stonewear_method::library::{built_in_methods, find};

/// Practice around the methods: UKAS LAB 21 and the list of the Arizona DOT.
const INTERVALS: &[Row<'_>] = &[
    ("interval.speed.months", "12", "S:LAB21"),
    ("interval.balance.months", "12", "S:ADOT05"),
    ("interval.sieves.months", "6", "S:ADOT05"),
    ("interval.timer.months", "6", "S:ADOT05"),
    ("interval.oven.months", "4", "S:ADOT05"),
    ("interval.temperature.months", "6", "S:ADOT05"),
    ("interval.calipers.months", "12", "S:ADOT05"),
    ("interval.shaker.months", "12", "S:ADOT05"),
];

/// ASTM D6928 and AASHTO T 327.
const COARSE: &[Row<'_>] = &[
    ("specimen.count", "1", "D"),
    ("specimen.mass_g.nominal", "1500", "S:SLIDES"),
    ("specimen.mass_g.tolerance", "5", "S:SLIDES"),
    ("specimen.weigh_to_g", "1", "M"),
    ("soak.hours_at_least", "1", "S:INV238"),
    ("water.volume_l.nominal", "2.0", "S:TX1771"),
    ("water.volume_l.tolerance", "0.05", "M"),
    ("water.temperature_c.nominal", "20", "M"),
    ("water.temperature_c.tolerance", "5", "M"),
    ("balls.diameter_mm.nominal", "9.5", "S:MN1216"),
    ("balls.diameter_mm.tolerance", "0.5", "S:MN1216"),
    ("speed_rpm.nominal", "100", "S:T327"),
    ("speed_rpm.tolerance", "5", "S:T327"),
    ("wash_sieves_mm.1", "4.75", "M"),
    ("wash_sieves_mm.2", "1.18", "S:TX1771"),
    ("drying.temperature_c.nominal", "110", "S:T327"),
    ("drying.temperature_c.tolerance", "5", "S:T327"),
    ("drying.constant_within_percent", "0.1", "S:T327"),
    ("drying.weighings_apart_h", "2", "S:T327"),
    ("loss.formula", "of-mass-before", "M"),
    ("loss.round_to_percent", "0.1", "M"),
    ("loss.rounding_rule", "half-even", "C"),
    // 194 to 202 mm outside and 170 to 177 mm inside, as middle and half width.
    ("jar.outside_diameter_mm.nominal", "198", "M"),
    ("jar.outside_diameter_mm.tolerance", "4", "M"),
    ("jar.inside_height_mm.nominal", "173.5", "M"),
    ("jar.inside_height_mm.tolerance", "3.5", "M"),
];

/// The multilaboratory precision of the same: loss, coefficient of variation, difference.
const COARSE_PRECISION: &[[&str; 3]] =
    &[["5", "10.0", "28"], ["12", "6.4", "18"], ["17", "5.6", "16"], ["21", "5.3", "15"]];

const NEWER_SIEVES: &[Family<'_>] = &[
    (
        "19.0",
        "120",
        "12000",
        &[["19.0", "16.0", "375"], ["16.0", "12.5", "375"], ["12.5", "9.5", "750"]],
    ),
    (
        "12.5",
        "105",
        "10500",
        &[["12.5", "9.5", "750"], ["9.5", "6.3", "375"], ["6.3", "4.75", "375"]],
    ),
    ("9.5", "95", "9500", &[["9.5", "6.3", "750"], ["6.3", "4.75", "750"]]),
];
const MINNESOTA_SIEVES: &[Family<'_>] = &[
    (
        "19.0",
        "120",
        "12000",
        &[["19.0", "16.0", "375"], ["16.0", "12.5", "375"], ["12.5", "9.5", "750"]],
    ),
    (
        "12.5",
        "105",
        "10500",
        &[["12.5", "9.5", "750"], ["9.5", "6.7", "375"], ["6.7", "4.75", "375"]],
    ),
    ("9.5", "95", "9500", &[["9.5", "6.7", "750"], ["6.7", "4.75", "750"]]),
];
const ONTARIO_SIEVES: &[Family<'_>] = &[
    (
        "19.0",
        "120",
        "12000",
        &[["19.0", "16.0", "375"], ["16.0", "13.2", "375"], ["13.2", "9.5", "750"]],
    ),
    (
        "13.2",
        "105",
        "10500",
        &[["13.2", "9.5", "750"], ["9.5", "6.7", "375"], ["6.7", "4.75", "375"]],
    ),
    ("9.5", "95", "9500", &[["9.5", "6.7", "750"], ["6.7", "4.75", "750"]]),
];

#[test]
fn coarse_north_american_methods_carry_the_facts() {
    for id in ["astm-d6928", "aashto-t327"] {
        let mut check = Check::of(id);
        check.rows(COARSE);
        check.rows(INTERVALS);
        for (number, [loss, variation, difference]) in (1..).zip(COARSE_PRECISION) {
            let path = format!("precision.reproducibility.level.{number}");
            check.row(&format!("{path}.loss_percent"), loss, "M");
            check.row(&format!("{path}.coefficient_of_variation_percent"), variation, "M");
            check.row(&format!("{path}.difference_percent_of_mean"), difference, "M");
        }
        if id == "aashto-t327" {
            check.row("interval.charge.months", "12", "M");
            check.row("interval.jar.months", "12", "M");
        }
        let marks = Marks {
            charge: "S:MN1216",
            mass: "S:SLIDES",
            sieve: "M",
            two_hours: "S:TX1771",
            twelve_thousand: "S:TX1771",
        };
        check.gradings(NEWER_SIEVES, &marks);
        check.nothing_else();
    }
}

#[test]
fn minnesota_carries_the_facts() {
    let mut check = Check::of("minnesota-1216");
    check.rows(INTERVALS);
    check.as_remembered(
        COARSE,
        &[
            ("specimen.weigh_to_g", "0.1", "S:MN1216"),
            ("balls.diameter_mm.nominal", "9.5", "S:MN1216"),
            ("balls.diameter_mm.tolerance", "0.5", "S:MN1216"),
            ("speed_rpm.nominal", "100", "S:MN1216"),
            ("speed_rpm.tolerance", "5", "S:MN1216"),
            ("wash_sieves_mm.2", "1.18", "S:MN1216"),
            ("specimen.count", "1", "D"),
            ("loss.rounding_rule", "half-even", "C"),
            ("jar.inside_diameter_mm.nominal", "194", "S:MN1216"),
            ("jar.inside_diameter_mm.tolerance", "2.0", "S:MN1216"),
            ("jar.inside_height_mm.nominal", "170", "S:MN1216"),
            ("jar.inside_height_mm.tolerance", "2.0", "S:MN1216"),
        ],
    );
    let marks = Marks {
        charge: "S:MN1216",
        mass: "M",
        sieve: "S:MN1216",
        two_hours: "S:MN1216",
        twelve_thousand: "M",
    };
    check.gradings(MINNESOTA_SIEVES, &marks);
    check.nothing_else();
}

#[test]
fn ontario_and_csa_coarse_carry_the_facts() {
    let marks = Marks { charge: "M", mass: "M", sieve: "M", two_hours: "M", twelve_thousand: "M" };
    let mut ontario = Check::of("ls-618");
    ontario.rows(INTERVALS);
    ontario.as_remembered(
        COARSE,
        &[
            ("loss.rounding_rule", "half-up", "S:LS100"),
            ("jar.inside_diameter_mm.nominal", "194", "S:MN1216"),
            ("jar.inside_diameter_mm.tolerance", "2", "S:MN1216"),
            ("jar.inside_height_mm.nominal", "170", "S:MN1216"),
            ("jar.inside_height_mm.tolerance", "2", "S:MN1216"),
        ],
    );
    ontario.gradings(ONTARIO_SIEVES, &marks);
    ontario.nothing_else();

    let mut csa = Check::of("csa-a23.2-29a");
    csa.rows(INTERVALS);
    csa.as_remembered(COARSE, &[("loss.rounding_rule", "half-up", "M")]);
    csa.gradings(ONTARIO_SIEVES, &marks);
    csa.nothing_else();
}

#[test]
fn texas_carries_the_facts() {
    let mut check = Check::of("tex-461-a");
    check.rows(INTERVALS);
    check.rows(&[
        ("specimen.count", "1", "D"),
        ("specimen.mass_g.nominal", "1500", "S:TX1771"),
        ("specimen.weigh_to_g", "1", "C"),
        ("soak.hours_at_least", "1", "S:TX1771"),
        ("water.volume_l.nominal", "2.0", "S:TX1771"),
        ("balls.diameter_mm.nominal", "9.5", "S:TX1771"),
        ("speed_rpm.nominal", "100", "D"),
        ("wash_sieves_mm.1", "1.18", "S:TX1771"),
        ("drying.temperature_c.nominal", "110", "C"),
        ("drying.temperature_c.tolerance", "5", "C"),
        ("drying.constant_within_percent", "0.1", "C"),
        ("drying.weighings_apart_h", "2", "C"),
        ("loss.formula", "of-mass-before", "D"),
        ("loss.round_to_percent", "0.1", "C"),
        ("loss.rounding_rule", "half-even", "C"),
        ("grading.hot-mix.charge_g.nominal", "5000", "S:TX1771"),
        ("grading.hot-mix.revolutions.nominal", "10500", "M"),
        ("grading.hot-mix.minutes.nominal", "105", "M"),
    ]);
    check.fractions(
        "hot-mix",
        &[["12.5", "9.5", "750"], ["9.5", "6.3", "375"], ["6.3", "4.75", "375"]],
        "M",
        "M",
    );
    check.nothing_else();
}

/// Rogers, Bailey and Price, 1991, for what was read; CSA is as Ontario, from memory.
#[test]
fn fine_methods_carry_the_facts() {
    for (id, read_in, derived, rule, rule_mark) in [
        ("astm-d7428", "S:ROGERS91", "D", "half-even", "C"),
        ("ls-619", "S:ROGERS91", "D", "half-up", "S:LS100"),
        ("csa-a23.2-23a", "M", "M", "half-up", "M"),
    ] {
        let mut check = Check::of(id);
        check.rows(INTERVALS);
        check.rows(&[
            ("specimen.count", "1", derived),
            ("specimen.mass_g.nominal", "500", read_in),
            ("specimen.weigh_to_g", "0.1", "C"),
            ("soak.hours_at_least", "24", "M"),
            ("water.volume_l.nominal", "0.75", read_in),
            ("water.volume_l.tolerance", "0.05", "M"),
            ("balls.diameter_mm.nominal", "9.5", read_in),
            ("speed_rpm.nominal", "100", read_in),
            ("wash_sieves_mm.1", "0.075", read_in),
            ("drying.temperature_c.nominal", "110", "C"),
            ("drying.temperature_c.tolerance", "5", "C"),
            ("drying.constant_within_percent", "0.1", "C"),
            ("drying.weighings_apart_h", "2", "C"),
            ("loss.formula", "of-mass-before", derived),
            ("loss.round_to_percent", "0.1", "C"),
            ("loss.rounding_rule", rule, rule_mark),
            ("grading.standard.charge_g.nominal", "1250", read_in),
            ("grading.standard.charge_g.tolerance", "5", "M"),
            ("grading.standard.revolutions.nominal", "1500", "M"),
            ("grading.standard.revolutions.tolerance", "10", "M"),
            ("grading.standard.minutes.nominal", "15", read_in),
            // 10 s
            ("grading.standard.minutes.tolerance", "0.166667", "M"),
        ]);
        check.fractions(
            "standard",
            &[
                ["4.75", "2.36", "50"],
                ["2.36", "1.18", "125"],
                ["1.18", "0.600", "125"],
                ["0.600", "0.300", "100"],
                ["0.300", "0.150", "75"],
                ["0.150", "0.075", "25"],
            ],
            "M",
            "M",
        );
        if id == "astm-d7428" {
            check.row("precision.reproducibility.limit_line.intercept", "0", "M");
            check.row("precision.reproducibility.limit_line.slope", "0.246", "M");
        }
        check.nothing_else();
    }
}

#[test]
fn the_european_test_carries_the_facts() {
    let mut check = Check::of("en-1097-1");
    check.rows(INTERVALS);
    check.rows(&[
        ("specimen.count", "2", "S:BRE-MDmethod"),
        ("specimen.mass_g.nominal", "500", "S:BRE-MDmethod"),
        ("specimen.mass_g.tolerance", "2", "S:BRE-MDmethod"),
        ("specimen.weigh_to_g", "0.1", "D"),
        ("specimen.differ_at_most_percent", "1.0", "S:BRE-MDrvals"),
        ("soak.hours_at_least", "0", "D"),
        ("water.volume_l.nominal", "2.50", "S:BRE-MDmethod"),
        ("water.volume_l.tolerance", "0.05", "S:BRE-MDmethod"),
        ("balls.diameter_mm.nominal", "10", "S:NFP18572-TP"),
        ("balls.diameter_mm.tolerance", "0.5", "S:NFP18572-TP"),
        ("speed_rpm.nominal", "100", "S:BRE-MDmethod"),
        ("speed_rpm.tolerance", "5", "S:BRE-MDmethod"),
        ("wash_sieves_mm.1", "8", "M"),
        ("wash_sieves_mm.2", "1.60", "S:BRE-MDmethod"),
        ("drying.temperature_c.nominal", "110", "S:MDS"),
        ("drying.temperature_c.tolerance", "5", "S:MDS"),
        ("drying.constant_within_percent", "0.1", "M"),
        ("drying.weighings_apart_h", "1", "S:EN2011"),
        ("loss.formula", "of-nominal-mass", "S:IDROP"),
        ("loss.round_to_percent", "1", "S:IDROP"),
        ("loss.rounding_rule", "half-even", "C"),
        ("jar.inside_diameter_mm.nominal", "200", "S:BRE-MDmethod"),
        ("jar.inside_diameter_mm.tolerance", "1", "S:BRE-MDmethod"),
        ("jar.inside_height_mm.nominal", "154", "S:NFP18572-TP"),
        ("jar.inside_height_mm.tolerance", "1", "S:NFP18572-TP"),
        ("precision.repeatability.limit_line.intercept", "0.893", "S:BRE-MDrvals"),
        ("precision.repeatability.limit_line.slope", "0.003", "S:BRE-MDrvals"),
        ("precision.reproducibility.limit_line.intercept", "0.260", "S:BRE-MDrvals"),
        ("precision.reproducibility.limit_line.slope", "0.137", "S:BRE-MDrvals"),
    ]);
    // 60 to 70 % passing 12.5 mm, or 30 to 40 % passing 11.2 mm, of 500 g.
    for (name, middle, coarser, finer) in
        [("10/14-12.5", "12.5", "175", "325"), ("10/14-11.2", "11.2", "325", "175")]
    {
        let path = format!("grading.{name}");
        check.row(&format!("{path}.charge_g.nominal"), "5000", "S:IDROP");
        check.row(&format!("{path}.charge_g.tolerance"), "5", "S:BRE-MDmethod");
        check.row(&format!("{path}.revolutions.nominal"), "12000", "S:BRE-MDmethod");
        check.row(&format!("{path}.revolutions.tolerance"), "10", "S:BRE-MDmethod");
        check.fractions(name, &[["14", middle, coarser], [middle, "10", finer]], "S:MDS", "D");
        check.row(&format!("{path}.fraction.1.mass_g.tolerance"), "25", "D");
        check.row(&format!("{path}.fraction.2.mass_g.tolerance"), "25", "D");
    }
    for (least, middle, most, charge, mark) in [
        ("4", "5", "6.3", "2000", "S:NFP-WIKI"),
        ("4", "6.3", "8", "2800", "M"),
        ("6.3", "8", "10", "4000", "S:NFP-WIKI"),
        ("8", "10", "11.2", "4400", "M"),
        ("11.2", "14", "16", "5400", "M"),
    ] {
        let path = format!("grading.{least}/{most}");
        check.row(&format!("{path}.charge_g.nominal"), charge, mark);
        check.row(&format!("{path}.charge_g.tolerance"), "5", "M");
        check.row(&format!("{path}.revolutions.nominal"), "12000", "M");
        check.row(&format!("{path}.revolutions.tolerance"), "10", "M");
        check.row(&format!("{path}.fraction.1.passing_mm"), most, mark);
        check.row(&format!("{path}.fraction.1.retained_mm"), middle, "M");
        check.row(&format!("{path}.fraction.2.passing_mm"), middle, "M");
        check.row(&format!("{path}.fraction.2.retained_mm"), least, mark);
        for (number, mass) in [(1, "325"), (2, "175")] {
            check.row(&format!("{path}.fraction.{number}.mass_g.nominal"), mass, "M");
            check.row(&format!("{path}.fraction.{number}.mass_g.tolerance"), "25", "M");
        }
    }
    check.nothing_else();
}

/// From memory; 10 kg, 400 mm and 14 000 revolutions agree with the class 25/50 of NF P 18-572.
#[test]
fn the_ballast_annex_carries_the_facts() {
    let mut check = Check::of("en-1097-1-ballast");
    check.rows(INTERVALS);
    check.rows(&[
        ("specimen.count", "2", "M"),
        ("specimen.mass_g.nominal", "10000", "M"),
        ("specimen.mass_g.tolerance", "100", "M"),
        ("specimen.weigh_to_g", "1", "D"),
        ("soak.hours_at_least", "0", "D"),
        ("water.volume_l.nominal", "2.0", "M"),
        ("water.volume_l.tolerance", "0.05", "M"),
        ("speed_rpm.nominal", "100", "M"),
        ("speed_rpm.tolerance", "5", "M"),
        ("wash_sieves_mm.1", "1.60", "M"),
        ("drying.temperature_c.nominal", "110", "S:MDS"),
        ("drying.temperature_c.tolerance", "5", "S:MDS"),
        ("drying.constant_within_percent", "0.1", "M"),
        ("drying.weighings_apart_h", "1", "S:EN2011"),
        ("loss.formula", "of-nominal-mass", "M"),
        ("loss.round_to_percent", "1", "M"),
        ("loss.rounding_rule", "half-even", "C"),
        ("jar.inside_diameter_mm.nominal", "200", "M"),
        ("jar.inside_height_mm.nominal", "400", "M"),
        ("grading.31.5/50.revolutions.nominal", "14000", "M"),
        ("grading.31.5/50.revolutions.tolerance", "10", "M"),
        ("grading.31.5/50.fraction.1.mass_g.tolerance", "50", "M"),
        ("grading.31.5/50.fraction.2.mass_g.tolerance", "50", "M"),
    ]);
    check.fractions("31.5/50", &[["50", "40", "5000"], ["40", "31.5", "5000"]], "M", "M");
    check.nothing_else();
    let methods = built_in_methods();
    let ballast = find(&methods, "en-1097-1-ballast").unwrap();
    assert!(ballast.balls.is_none(), "EN 1097-1:2024, scope: no abrasive charge");
}

#[test]
fn every_method_is_checked_here() {
    let checked: BTreeSet<&str> = [
        "astm-d6928",
        "aashto-t327",
        "minnesota-1216",
        "ls-618",
        "csa-a23.2-29a",
        "tex-461-a",
        "astm-d7428",
        "ls-619",
        "csa-a23.2-23a",
        "en-1097-1",
        "en-1097-1-ballast",
        "astm-c131",
        "aashto-t96",
        "ls-603",
        "astm-c535",
        "en-1097-2",
        "astm-c88-sodium",
        "astm-c88-magnesium",
        "astm-c127",
        "aashto-t85",
        "en-1097-6",
    ]
    .into();
    let methods = built_in_methods();
    assert_eq!(methods.iter().map(|method| &*method.id).collect::<BTreeSet<_>>(), checked);
}

/// Misprints and disagreements that a reader must hear of beside the number.
#[test]
fn disagreements_stand_beside_the_number() {
    for (id, path, says) in [
        ("en-1097-1", "grading.10/14-12.5.charge_g.nominal", "misprint"),
        ("en-1097-1", "specimen.count", "four (TPDEMAIN)"),
        ("en-1097-1", "drying.temperature_c.nominal", "105 °C"),
        ("astm-d6928", "jar.outside_diameter_mm.nominal", "194 ± 2.0 mm inside"),
        ("astm-d6928", "grading.12.5.fraction.2.retained_mm", "6.7 mm"),
        ("astm-d6928", "grading.19.0.applies", "> 19.0 mm"),
        ("minnesota-1216", "jar.inside_diameter_mm.nominal", "outside"),
    ] {
        let check = Check::of(id);
        let figure = check.figures.iter().find(|figure| figure.path == path).unwrap();
        assert!(figure.note.as_ref().is_some_and(|note| note.contains(says)), "{id} {path}");
    }
}
