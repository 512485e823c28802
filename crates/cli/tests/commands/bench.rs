//! Samples, specimens, runs, masses and release, in the invented laboratory of the demo.

use crate::harness::Desk;

struct Bench {
    desk: Desk,
    specimen: String,
}

/// The demo, with a specimen begun by MQ, who may test and not release.
fn bench() -> Bench {
    let desk = Desk::new();
    desk.done("demo --dir laboratory --found-only");
    let sample = desk.fact(
        "sample receive --by MQ --source 'Invented Quarry' --material gravel --nominal-maximum 19.0",
        "sample",
    );
    let begin = format!(
        "specimen begin --by MQ {sample} --method astm-d6928 --grading 19.0 --balance BAL-1 \
         --deviation 'the proofs of the demo end with its calendar'"
    );
    let specimen = desk.fact(&begin, "specimen");
    Bench { desk, specimen }
}

#[test]
fn a_sample_is_received_with_what_must_be_known() {
    let desk = Desk::founded();
    let receive = "sample receive --by CD --source Q --material gravel";
    let mut said = String::new();
    for rest in [
        "--nominal-maximum large",
        "--nominal-maximum 19 --received 2026-02-30",
        "--nominal-maximum 19 --limit 180",
        "--nominal-maximum -19",
    ] {
        said.push_str(&format!("{rest}\n  {}\n", desk.fails(2, &format!("{receive} {rest}"))));
    }
    insta::assert_snapshot!(said, @r"
    --nominal-maximum large
      stonewear: --nominal-maximum: “large” is not a number; write digits with at most one decimal point, like 1500.2
    --nominal-maximum 19 --received 2026-02-30
      stonewear: --received: “2026-02-30” is not a day; write it like [DAY]
    --nominal-maximum 19 --limit 180
      stonewear: --limit: 180 % cannot be; it must be more than 0 and at most 100 %
    --nominal-maximum -19
      stonewear: --nominal-maximum: -19 mm cannot be; it must be more than 0 and at most 200 mm
    ");
    assert!(desk.fails(2, receive).contains("--nominal-maximum <MM>"));
}

#[test]
fn masses_are_judged_before_they_are_kept() {
    let Bench { desk, specimen } = bench();
    let mut said = String::new();
    for (status, line) in [
        (2, format!("specimen make-up --by MQ {specimen} 375 abc 750")),
        (2, format!("specimen make-up --by MQ {specimen} 375 375 750 10")),
        (2, "specimen make-up --by MQ X-1 375".to_owned()),
    ] {
        let shown = line.replace(&specimen, "SPECIMEN");
        let message = desk.fails(status, &line);
        said.push_str(&format!("{shown}\n  {message}\n"));
    }
    insta::assert_snapshot!(said, @r"
    specimen make-up --by MQ SPECIMEN 375 abc 750
      stonewear: mass 2: “abc” is not a number; write digits with at most one decimal point, like 1500.2
    specimen make-up --by MQ SPECIMEN 375 375 750 10
      stonewear: masses: 4 masses are given; the grading has 3 fractions; give one mass a fraction, coarsest first
    specimen make-up --by MQ X-1 375
      stonewear: specimen: there is no specimen “X-1”; make it up first
    ");
    // Whether the proof of the demo's balance has run out depends on the day, so that only what is
    // looked for here is asserted.
    let weigh = format!("weigh before --by MQ {specimen} --balance BAL-1");
    let said = desk.fails(3, &format!("{weigh} 1500.0"));
    assert!(said.contains("the fraction 19.0 to 16.0 mm is not weighed in"), "{said}");
    assert!(
        said.ends_with("(with --deviation REASON it is done all the same, and the report says so)")
    );
    let said = desk.fails(2, &format!("{weigh} -1500.0 --deviation 'all that was left'"));
    assert!(said.contains("mass: -1500.0 g cannot be; it must be more than 0"), "{said}");
    let said = desk.fails(3, &format!("weigh after --by MQ {specimen} 1278 --balance BAL-1"));
    assert!(said.contains("-1 has not been run; run it first"), "{said}");
    // Nothing of all this was kept.
    assert_eq!(desk.json(&format!("show {specimen}"))["fractions"], serde_json::json!({}));
    // A fraction can be left for later with a dash.
    desk.done(&format!("specimen make-up --by MQ {specimen} 375.2 - 750.1"));
    let fractions = desk.json(&format!("show {specimen}"))["fractions"].clone();
    assert_eq!(fractions["0"][0]["value"]["mass_g"], "375.2");
    assert!(fractions.get("1").is_none(), "{fractions}");
}

#[test]
fn a_place_in_the_machine_is_read_key_by_key() {
    let Bench { desk, .. } = bench();
    for (place, message) in [
        ("upper", "--place: “upper” is not a key=value pair; write, say, tier=upper,position=1"),
        (
            "tier=upper,colour=red",
            "--place: “colour” is not known; write tier, position, specimen, jar",
        ),
        (
            "tier=upper,position=one,specimen=X-1",
            "--place 1, position: there is no place “upper one”; there are: upper 1 to 2 and lower 1 to 2",
        ),
        ("tier=upper,position=1,specimen=X-1", "--place 1, specimen: there is no specimen “X-1”"),
    ] {
        let said = desk.fails(2, &format!("run start --by MQ MILL-1 --place {place}"));
        assert!(said.contains(message), "{place}: {said}");
    }
}

#[test]
fn a_result_is_released_once_by_somebody_who_may() {
    let Bench { desk, .. } = bench();
    let overview = desk.json("show");
    let waiting = overview["next"].as_array().unwrap().iter();
    let mut waiting = waiting.filter(|next| next["next"] == "release");
    let result = waiting.next().expect("the demo has one")["result"].as_str().unwrap().to_owned();
    let refused = desk.fails(3, &format!("release --by MQ {result}"));
    assert!(
        refused.starts_with("stonewear: --by: ") && refused.contains("may not release"),
        "{refused}"
    );
    let released = desk.done(&format!("release --by IK {result}"));
    assert!(released.starts_with(&format!("{result} released: loss ")), "{released}");
    let again = desk.fails(3, &format!("release --by IK {result}"));
    assert!(again.contains("released"), "{again}");
    assert!(
        desk.fails(2, "release --by IK L-0").starts_with("stonewear: result: there is no result")
    );
}
