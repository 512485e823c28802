//! `stonewear sieving`: an analysis recorded from a file, shown, replaced.

use crate::harness::Desk;

const TAILED: &str = "sieve_mm;retained_g\n25,0;0\n19,0;60\n16,0;340\n12,5;500,0\n9,5;3000\n6,3;3000\n4,75;2100\npan;1000\n";

/// The demo with a sample received as 19.0 mm, and the file of its analysis.
fn desk() -> (Desk, String) {
    let desk = Desk::new();
    desk.done("demo --dir laboratory --found-only");
    let sample = desk.fact(
        "sample receive --by MQ --source 'Invented Quarry' --material gravel --nominal-maximum 19.0",
        "sample",
    );
    desk.write("s.csv", TAILED);
    (desk, sample)
}

/// Whether the proof of the demo's balance has run out depends on the day.
const EXCUSED: &str = "--deviation 'the proofs of the demo end with its calendar'";

#[test]
fn an_analysis_is_recorded_shown_and_decides_the_grading() {
    let (desk, sample) = desk();
    let none = desk.fails(2, &format!("sieving show {sample}"));
    let hint = "has no sieve analysis; record one with: stonewear sieving record";
    assert!(none.contains(hint), "{none}");
    let record = format!("sieving record --by MQ {sample} --file s.csv --balance BAL-1 {EXCUSED}");
    let said = desk.done(&format!("{record} --before-g 10010"));
    assert_eq!(
        said,
        format!(
            "{sample}: nominal maximum size 12.5 mm (one-above-10-percent)\nnumbers were read with a decimal comma\n"
        )
    );
    let shown = desk.json(&format!("sieving show {sample} --svg curve.svg"));
    assert_eq!(shown["nominal_maximum_mm"], "12.5");
    assert_eq!(shown["declared_nominal_maximum_mm"], "19.0");
    assert_eq!(shown["closing"]["holds"], true);
    assert_eq!(shown["passing"][1]["us"], "3/4 in.");
    let svg = std::fs::read_to_string(desk.path().join("curve.svg")).unwrap();
    assert!(svg.starts_with("<svg") && svg.contains("nominal maximum size"));
    // It wins over the size as received.
    let begin =
        format!("specimen begin --by MQ {sample} --method astm-d6928 --balance BAL-1 {EXCUSED}");
    assert_eq!(desk.fact(&begin, "grading"), "12.5");
    // A second one needs a reason.
    let again = desk.fails(3, &format!("{record} --before-g 10010"));
    assert!(again.contains("is already recorded; give the reason for replacing it"), "{again}");
    desk.done(&format!("{record} --before-g 10010 --reason 'sieved again'"));
    assert_eq!(desk.json(&format!("sieving show {sample}"))["replaces"], 1);
}

#[test]
fn a_bad_file_and_a_sum_that_does_not_close_are_refused() {
    let (desk, sample) = desk();
    let record = format!("sieving record --by MQ {sample} --balance BAL-1 --file");
    desk.write("bad.csv", "sieve_mm,retained_g\n19,x\npan,1\n");
    assert!(
        desk.fails(2, &format!("{record} bad.csv")).contains("bad.csv: line 2, column retained_g")
    );
    let lost = desk.fails(3, &format!("{record} s.csv --before-g 10100"));
    assert!(
        lost.contains("--file: 10000.0 g after sieving against 10100 g before: 0.99 % lost"),
        "{lost}"
    );
    let unchecked = desk.fails(3, &format!("{record} s.csv"));
    assert!(unchecked.contains("--before-g: no dry mass before is given"), "{unchecked}");
}

#[test]
fn the_laboratory_decides_the_definition() {
    let (desk, sample) = desk();
    let rules =
        "sieving rules --definition any-retained --reason 'the specification follows D6928'";
    assert!(desk.fails(3, &format!("{rules} --by MQ")).contains("may not manage"));
    desk.done(&format!("{rules} --by IK"));
    desk.done(&format!(
        "sieving record --by MQ {sample} --file s.csv --balance BAL-1 --before-g 10010 {EXCUSED}"
    ));
    assert_eq!(desk.json(&format!("sieving show {sample}"))["nominal_maximum_mm"], "19.0");
}
