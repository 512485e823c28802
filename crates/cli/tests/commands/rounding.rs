//! `stonewear round`, against the published rounding cases.

use crate::harness::Desk;

/// Published cases under three rules: ASTM E29 as given by ATT-70/96 and a state DOT manual (half
/// to even), LS-100 and IM 202 (half up). The file names the source of each.
const PUBLISHED: &str = include_str!("../../../measure/tests/rounding_examples.csv");

#[test]
fn the_published_cases() {
    let desk = Desk::new();
    let rows = PUBLISHED.lines().filter(|line| !line.starts_with(['#', 'r']) && !line.is_empty());
    let mut count = 0;
    for row in rows {
        let cells: Vec<&str> = row.split(',').collect();
        let [rule, source, value, place, expected] = cells[..] else { panic!("{row}") };
        let rule = rule.replace('_', "-");
        let line = format!("round {value} --place {place} --rule {rule}");
        let rounded = desk.json(&line)["rounded"].as_str().unwrap().to_owned();
        assert_eq!(rounded, expected, "{source}: {line}");
        assert_eq!(desk.done(&line).trim_end(), expected, "{source}: {line}");
        count += 1;
    }
    assert_eq!(count, 37);
}

#[test]
fn the_document() {
    insta::assert_snapshot!(Desk::new().done("round 14.85 --place 0.1 --rule half-even --json"), @r#"
    {
      "place": "0.1",
      "rounded": "14.8",
      "rule": "half-even",
      "value": "14.85"
    }
    "#);
}

#[test]
fn wrong_input_says_what_would_be_right() {
    let desk = Desk::new();
    for (line, message) in [
        ("round x --place 1 --rule half-up", "stonewear: value: “x” is not a number; write digits"),
        ("round 1 --place 0 --rule half-up", "stonewear: --place: a rounding place must be"),
        ("round 1 --place '' --rule half-up", "stonewear: --place: a number is missing"),
        (
            "round 1 --place 1 --rule half_up",
            "stonewear: --rule: “half_up” is not a rounding rule; write half-even or half-up",
        ),
    ] {
        let said = desk.fails(2, line);
        assert!(said.starts_with(message), "{line}: {said}");
    }
    assert!(desk.fails(2, "round 1 --place 1").contains("--rule <RULE>"));
}
