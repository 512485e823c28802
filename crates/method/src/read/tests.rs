//! A broken file of every kind, and what is said about it.

use super::*;
use crate::library::{built_in, find};
use proptest::prelude::*;

/// The text of the file that is broken below.
fn good(file_name: &str) -> &'static str {
    built_in().find(|file| file.file_name == file_name).unwrap().text
}

/// What is said when each `from` in the file, the first of its kind, is replaced.
fn said_of(file_name: &str, replacements: &[(&str, &str)]) -> String {
    let mut text = good(file_name).to_owned();
    for (from, to) in replacements {
        assert!(text.contains(from), "{from} is not in {file_name}");
        text = text.replacen(from, to, 1);
    }
    read(file_name, &text).unwrap_err().to_string()
}

fn said(from: &str, to: &str) -> String {
    said_of("astm-d6928.toml", &[(from, to)])
}

const TOTAL_TOLERANCE: &str =
    r#"mass_g.tolerance = { value = 5, confidence = "seen", source = "SLIDES" }"#;

#[test]
fn text_that_is_no_toml() {
    insta::assert_snapshot!(said("[specimen]", "[specimen"), @"astm-d6928.toml:35:10: the file cannot be read as TOML: unclosed table, expected `]`; write key = value, texts in quotation marks, and close every bracket");
    insta::assert_snapshot!(said("material = \"coarse\"", "material = coarse"), @"astm-d6928.toml:8:12: the file cannot be read as TOML: string values must be quoted, expected literal string; write key = value, texts in quotation marks, and close every bracket");
    insta::assert_snapshot!(said("[soak]", "[specimen]"), @"astm-d6928.toml:41:2: the file cannot be read as TOML: duplicate key; each key stands once in its table, and each table once in the file");
}

#[test]
fn keys_unknown_missing_or_of_the_wrong_type() {
    insta::assert_snapshot!(said("volume_l.nominal", "volume.nominal"), @r#"
    astm-d6928.toml:45:1: “volume” is not a key of water; the keys that can stand here are: volume_l, temperature_c
    astm-d6928.toml:46:1: water.volume_l has no nominal; add nominal = { value = …, confidence = "memory" }
    "#);
    insta::assert_snapshot!(said("[soak]", "[soaking]"), @r"
    astm-d6928.toml:1:1: the file has no soak; add a table [soak]
    astm-d6928.toml:41:1: “soaking” is not a key of the file; the keys that can stand here are: id, edition, designation, title, material, vessel, notes, sources, specimen, soak, water, balls, speed_rpm, wash_sieves_mm, drying, loss, reading, property, jar, precision, interval, grading
    ");
    insta::assert_snapshot!(said("edition = \"2010\"\n", ""), @r#"astm-d6928.toml:1:1: the file has no edition; add edition = "…""#);
    insta::assert_snapshot!(said("edition = \"2010\"", "edition = 2010"), @r#"astm-d6928.toml:5:11: edition must be a text, but is a number; write it like edition = "…""#);
    insta::assert_snapshot!(said("value = 2.0, ", ""), @"astm-d6928.toml:45:20: water.volume_l.nominal has no value; add value = …");
    insta::assert_snapshot!(said("{ value = 2.0, confidence = \"seen\", source = \"TX1771, INV238\" }", "2.0"), @"astm-d6928.toml:45:20: water.volume_l.nominal must be a table, but is a number; write it like [water.volume_l.nominal], or nominal = { … }");
    insta::assert_snapshot!(said("value = 2.0", "value = [2.0]"), @"astm-d6928.toml:45:30: water.volume_l.nominal.value must be a number or a text, but is a list; write it like value = 5");
    insta::assert_snapshot!(said("value = 2.0, ", "value = 2.0, tolerance = 0.05, "), @"astm-d6928.toml:45:47: “tolerance” is not a key of water.volume_l.nominal; the keys that can stand here are: value, confidence, source, note");
    insta::assert_snapshot!(said("[[precision]]", "[precision]"), @"astm-d6928.toml:76:1: precision must be a list, but is a table; write it like [[precision]]");
    insta::assert_snapshot!(said("revolutions.nominal = { value = 12000, confidence = \"seen\", source = \"TX1771\" }\n", ""), @r#"astm-d6928.toml:138:1: grading.19.0.revolutions has no nominal; add nominal = { value = …, confidence = "memory" }"#);
}

#[test]
fn words_that_are_not_known() {
    insta::assert_snapshot!(said("material = \"coarse\"", "material = \"gravel\""), @"astm-d6928.toml:8:12: “gravel” is not known as material; write one of: coarse, fine, ballast");
    insta::assert_snapshot!(said("confidence = \"practice\"", "confidence = \"probably\""), @"astm-d6928.toml:67:53: loss.rounding_rule: “probably” is not a confidence; write seen, confirmed, derived, practice or memory");
    insta::assert_snapshot!(said("\"of-mass-before\"", "\"(A-B)/A\""), @"astm-d6928.toml:65:21: loss.formula: “(A-B)/A” is not a formula; write of-mass-before, of-nominal-mass or weighted-by-grading");
    insta::assert_snapshot!(said("\"half-even\"", "\"bankers\""), @"astm-d6928.toml:67:27: loss.rounding_rule: “bankers” is not a rounding rule; write half-even or half-up");
    insta::assert_snapshot!(said("\"reproducibility\"", "\"between laboratories\""), @"astm-d6928.toml:77:14: “between laboratories” is not known as conditions; write one of: repeatability, reproducibility");
}

#[test]
fn values_that_are_no_decimals() {
    insta::assert_snapshot!(said("value = 2.0", "value = \"two\""), @"astm-d6928.toml:45:30: water.volume_l.nominal: “two” is not a number; write digits with at most one decimal point, like 1500.2");
    insta::assert_snapshot!(said("value = 2.0", "value = 2e0"), @"astm-d6928.toml:45:30: water.volume_l.nominal: “2e0” is not a number; write digits with at most one decimal point, like 1500.2");
    insta::assert_snapshot!(said("value = 2.0", "value = nan"), @"astm-d6928.toml:45:30: water.volume_l.nominal: “nan” is not a number; write digits with at most one decimal point, like 1500.2");
    insta::assert_snapshot!(said("value = 2.0", "value = \"2,000\""), @"astm-d6928.toml:45:30: water.volume_l.nominal: “2,000” can mean 2000 or 2,000; write 2000 or 2.000");
    insta::assert_snapshot!(said("value = 2.0", "value = true"), @"astm-d6928.toml:45:30: water.volume_l.nominal.value must be a number or a text, but is true or false; write it like value = 5");
    insta::assert_snapshot!(said("count = { value = 1,", "count = { value = 1.5,"), @"astm-d6928.toml:36:19: specimen.count: “1.5” is not a whole number; write one like 2");
}

#[test]
fn sources_that_are_missing() {
    insta::assert_snapshot!(said("source = \"TX1771, INV238\"", "source = \"TX1771, INV239\""), @"astm-d6928.toml:45:30: water: the source key “INV239” is not in [sources]; add INV239 there, or use one of: ADOT05, ATT70, D6928-03, INV238, LAB21, MN1216, NDFST, SLIDES, T327, T327-12, TX1771");
    insta::assert_snapshot!(said(", source = \"TX1771, INV238\" }", " }"), @"astm-d6928.toml:45:30: water is marked as seen without a source; name the key of the source, or mark it memory, practice or derived");
}

#[test]
fn values_that_cannot_be_meant() {
    insta::assert_snapshot!(said("value = 2.0", "value = -2.0"), @"astm-d6928.toml:45:30: water: -2.0 L is given; it must be more than 0 and at most 100 L");
    insta::assert_snapshot!(said("value = 2.0", "value = 2000"), @"astm-d6928.toml:45:30: water: 2000 L is given; it must be more than 0 and at most 100 L");
    insta::assert_snapshot!(said("value = 0.05", "value = -0.05"), @"astm-d6928.toml:46:32: water, tolerance: -0.05 L is given; a tolerance is never negative");
    insta::assert_snapshot!(said("value = 0.05", "value = 50"), @"astm-d6928.toml:46:32: water, tolerance: 50 L is given; it must not be more than the value, 2.0 L");
    insta::assert_snapshot!(said("round_to_percent = { value = 0.1", "round_to_percent = { value = 0"), @"astm-d6928.toml:66:30: loss rounded to: 0 % is given; it must be more than 0 and at most 100 %");
    insta::assert_snapshot!(said("months = { value = 12", "months = { value = 0"), @"astm-d6928.toml:102:20: time between two proofs: speed: 0 months is given; it must be at least 1 and at most 120 months");
    insta::assert_snapshot!(said("count = { value = 1", "count = { value = 0"), @"astm-d6928.toml:36:19: specimens for one result: 0 is given; it must be at least 1 and at most 20");
}

#[test]
fn sieves_and_fractions_out_of_order() {
    insta::assert_snapshot!(said("value = 4.75", "value = 0.5"), @"astm-d6928.toml:18:13: wash sieve 1.18 mm follows 0.5 mm; list the wash sieves coarsest first");
    let every_sieve = good("tex-461-a.toml").lines().find(|line| line.contains("1.18")).unwrap();
    insta::assert_snapshot!(said_of("tex-461-a.toml", &[(every_sieve, "")]), @"tex-461-a.toml:14:18: there is no wash sieve; give the sieve whose undersize is the loss, like { value = 1.18, … }");
    insta::assert_snapshot!(said("passing_mm = { value = 19.0", "passing_mm = { value = 15.0"), @"astm-d6928.toml:145:25: grading 19.0: fraction 1 passes 15.0 mm and is retained on 16.0 mm; the sieve it passes must be the coarser one");
    insta::assert_snapshot!(said("retained_mm = { value = 16.0", "retained_mm = { value = 16.5"), @"astm-d6928.toml:149:24: grading 19.0: fraction 1 ends at 16.5 mm, fraction 2 starts at 16.0 mm; list the fractions coarsest first, each starting where the one before ends");
    insta::assert_snapshot!(said("mass_g.nominal = { value = 375", "mass_g.nominal = { value = 475"), @"astm-d6928.toml:132:1: the fractions of grading 19.0 add up to 1600 g; they must make a specimen of 1500 ± 5 g");
    // A method that knows no tolerance wants the exact total.
    insta::assert_snapshot!(said_of("astm-d6928.toml", &[(TOTAL_TOLERANCE, ""), ("mass_g.nominal = { value = 375", "mass_g.nominal = { value = 376")]), @"astm-d6928.toml:132:1: the fractions of grading 19.0 add up to 1501 g; they must make a specimen of 1500 g");
}

#[test]
fn names_that_are_repeated_or_odd() {
    insta::assert_snapshot!(said("name = \"12.5\"", "name = \"19.0\""), @"astm-d6928.toml:158:1: the grading “19.0” is there twice; each needs its own name");
    insta::assert_snapshot!(said("name = \"12.5\"", "name = \"12.5 mm\""), @"astm-d6928.toml:158:1: “12.5 mm” cannot be the name of a grading; use letters, digits, points, hyphens and slashes only");
    insta::assert_snapshot!(said("of = \"balance\"", "of = \"speed\""), @"astm-d6928.toml:104:1: the interval “speed” is there twice; each needs its own name");
    insta::assert_snapshot!(said("id = \"astm-d6928\"", "id = \"ASTM D6928\""), @"astm-d6928.toml:4:6: “ASTM D6928” cannot be the id of a method; use small letters, digits, points and hyphens only");
    insta::assert_snapshot!(said("edition = \"2010\"", "edition = \"2010@1\""), @"astm-d6928.toml:5:11: “2010@1” cannot be the edition of a method; use small letters, digits, points and hyphens only");
}

#[test]
fn parts_that_do_not_fit_together() {
    insta::assert_snapshot!(said_of("en-1097-1-ballast.toml", &[("[speed_rpm]", "[balls]\ndiameter_mm.nominal = { value = 10, confidence = \"memory\" }\n\n[speed_rpm]")]), @"en-1097-1-ballast.toml:98:1: grading 31.5/50 has no charge_g, though the method has [balls]; give the mass of the balls for one jar, or leave [balls] out");
    insta::assert_snapshot!(said("conditions = \"reproducibility\"\n", "conditions = \"reproducibility\"\nlimit_line.intercept = { value = 0, confidence = \"memory\" }\nlimit_line.slope = { value = 0, confidence = \"memory\" }\n"), @"astm-d6928.toml:76:1: the reproducibility has both a line and levels; give either limit_line or at least one [[precision.level]]");
    insta::assert_snapshot!(said("loss_percent = { value = 12", "loss_percent = { value = 4"), @"astm-d6928.toml:85:26: the precision at 4 % follows that at 5 %; list the levels from the lowest loss to the highest");
}

#[test]
fn parts_that_are_empty() {
    insta::assert_snapshot!(said("conditions = \"reproducibility\"\n", "conditions = \"reproducibility\"\n[[precision]]\nconditions = \"repeatability\"\nlevel = []\n[[precision]]\nconditions = \"reproducibility\"\n"), @r"
    astm-d6928.toml:78:1: the repeatability has neither a line nor levels; give either limit_line or at least one [[precision.level]]
    astm-d6928.toml:81:1: the precision “reproducibility” is there twice; each needs its own name
    astm-d6928.toml:81:1: the reproducibility has neither a line nor levels; give either limit_line or at least one [[precision.level]]
    ");
    let gradings = good("tex-461-a.toml").split_once("[[grading]]").unwrap().1;
    insta::assert_snapshot!(said_of("tex-461-a.toml", &[(gradings, ""), ("[[grading]]", "")]), @"tex-461-a.toml:1:1: the file has no grading; add at least one of [[grading]]");
    let fractions = gradings.split_once("[[grading.fraction]]").unwrap().1;
    insta::assert_snapshot!(said_of("tex-461-a.toml", &[(fractions, ""), ("[[grading.fraction]]", "fraction = []")]), @"tex-461-a.toml:87:1: grading hot-mix has no fraction; give at least one [[grading.fraction]]");
    insta::assert_snapshot!(said("title = \"Resistance of coarse aggregate to abrasion in water, in a jar mill\"", "title = \" \""), @"astm-d6928.toml:7:9: the title is empty; say it in a few words");
}

#[test]
fn all_faults_are_told_at_once() {
    insta::assert_snapshot!(said_of("astm-d6928.toml", &[
        ("material = \"coarse\"", "material = \"gravel\""),
        ("volume_l.nominal", "volume.nominal"),
        ("\"half-even\"", "\"bankers\""),
        ("value = 12000", "value = \"many\""),
    ]), @r#"
    astm-d6928.toml:8:12: “gravel” is not known as material; write one of: coarse, fine, ballast
    astm-d6928.toml:45:1: “volume” is not a key of water; the keys that can stand here are: volume_l, temperature_c
    astm-d6928.toml:46:1: water.volume_l has no nominal; add nominal = { value = …, confidence = "memory" }
    astm-d6928.toml:67:27: loss.rounding_rule: “bankers” is not a rounding rule; write half-even or half-up
    astm-d6928.toml:138:33: grading.19.0.revolutions.nominal: “many” is not a number; write digits with at most one decimal point, like 1500.2
    "#);
    insta::assert_snapshot!(said_of("astm-d6928.toml", &[
        ("value = 0.05", "value = -0.05"),
        ("source = \"TX1771\"", "source = \"TX1772\""),
        ("mass_g.nominal = { value = 375", "mass_g.nominal = { value = 475"),
    ]), @r"
    astm-d6928.toml:46:32: water, tolerance: -0.05 L is given; a tolerance is never negative
    astm-d6928.toml:132:1: the fractions of grading 19.0 add up to 1600 g; they must make a specimen of 1500 ± 5 g
    astm-d6928.toml:138:33: grading 19.0: revolutions: the source key “TX1772” is not in [sources]; add TX1772 there, or use one of: ADOT05, ATT70, D6928-03, INV238, LAB21, MN1216, NDFST, SLIDES, T327, T327-12, TX1771
    ");
    insta::assert_snapshot!(read("empty.toml", "").unwrap_err(), @r#"
    empty.toml:1:1: the file has no id; add id = "…"
    empty.toml:1:1: the file has no edition; add edition = "…"
    empty.toml:1:1: the file has no designation; add designation = "…"
    empty.toml:1:1: the file has no title; add title = "…"
    empty.toml:1:1: the file has no material; add material = "…", one of: coarse, fine, ballast
    empty.toml:1:1: the file has no sources; add a table [sources]
    empty.toml:1:1: the file has no specimen; add a table [specimen]
    empty.toml:1:1: the file has no soak; add a table [soak]
    empty.toml:1:1: the file has no water; add a table [water]
    empty.toml:1:1: the file has no speed_rpm; add speed_rpm.nominal = { value = …, confidence = "memory" }
    empty.toml:1:1: the file has no wash_sieves_mm; add at least one of [[wash_sieves_mm]]
    empty.toml:1:1: the file has no drying; add a table [drying]
    empty.toml:1:1: the file has no loss; add a table [loss]
    empty.toml:1:1: the file has no grading; add at least one of [[grading]]
    "#);
}

#[test]
fn numbers_are_taken_digit_by_digit() {
    let methods = crate::library::built_in_methods();
    let european = find(&methods, "en-1097-1").unwrap();
    assert_eq!(
        european.water.as_ref().unwrap().volume_l.to_string(),
        "2.50 ± 0.05",
        "the zero is kept"
    );
    for written in ["2.0500", "\"2.0500\"", "\"2,0500\""] {
        let text =
            good("astm-d6928.toml").replacen("value = 2.0", &format!("value = {written}"), 1);
        let method = read("own.toml", &text).unwrap();
        assert_eq!(
            method.water.as_ref().unwrap().volume_l.nominal.value.to_string(),
            "2.0500",
            "{written}"
        );
    }
    let long = good("astm-d6928.toml").replacen("value = 2.0", "value = 2.0000001", 1);
    assert!(read("own.toml", &long).unwrap_err().to_string().contains("too many digits"));
}

/// A method may be written with tables and lists instead of dotted keys and double brackets.
#[test]
fn the_way_of_writing_does_not_matter() {
    let text = good("astm-d6928.toml");
    let other = text
        .replacen(
            "[soak]\nhours_at_least = { value = 1, confidence = \"seen\", source = \"INV238, TX1771\" }",
            "[soak.hours_at_least]\nvalue = '1'\nconfidence = \"seen\"\nsource = '''INV238, TX1771'''",
            1,
        )
        .replace('\n', "\r\n");
    assert_ne!(text, other);
    assert_eq!(read("a.toml", text), read("b.toml", &other));
}

/// Every figure of every file is found again in the file, so that a fault names its own line.
#[test]
fn a_fault_in_any_figure_is_told_with_its_line() {
    for file in built_in() {
        let lines: Vec<&str> = file.text.lines().collect();
        for (index, line) in lines.iter().enumerate().filter(|(_, line)| line.contains("{ value ="))
        {
            let broken_line = line.replacen("confidence = \"", "confidence = \"un", 1);
            let mut broken = lines.clone();
            broken[index] = &broken_line;
            let error = read(file.file_name, &broken.join("\n")).unwrap_err();
            assert_eq!(error.faults.len(), 1, "{error}");
            assert_eq!(error.faults[0].line, index + 1, "{error}");
        }
    }
}

/// The same for a rule, which is broken only once the form is sound.
#[test]
fn a_rule_broken_by_any_figure_is_told_with_its_line() {
    for file in built_in() {
        let lines: Vec<&str> = file.text.lines().collect();
        for (index, line) in lines.iter().enumerate().filter(|(_, line)| line.contains("{ value ="))
        {
            let end = if line.ends_with(',') { "}," } else { "}" };
            let start = line.split(", confidence").next().unwrap();
            let broken_line =
                format!("{start}, confidence = \"derived\", source = \"NOBODY\" {end}");
            let mut broken = lines.clone();
            broken[index] = &broken_line;
            let error = read(file.file_name, &broken.join("\n")).unwrap_err();
            assert_eq!(error.faults.len(), 1, "{error}");
            assert_eq!(error.faults[0].line, index + 1, "{error}");
            assert!(error.faults[0].what.contains("NOBODY"), "{error}");
        }
    }
}

/// One careless change to a file.
#[derive(Debug, Clone)]
enum Slip {
    DeleteByte(usize),
    InsertByte(usize, u8),
    ReplaceByte(usize, u8),
    DeleteLine(usize),
    RepeatLine(usize),
    SwapLines(usize, usize),
}

fn slip() -> impl Strategy<Value = Slip> {
    let at = any::<prop::sample::Index>().prop_map(|index| index.index(1 << 20));
    let byte = prop_oneof![any::<u8>(), prop::sample::select(b"\"'[]{}=.,#\n-09e ".to_vec())];
    prop_oneof![
        at.clone().prop_map(Slip::DeleteByte),
        (at.clone(), byte.clone()).prop_map(|(at, byte)| Slip::InsertByte(at, byte)),
        (at.clone(), byte).prop_map(|(at, byte)| Slip::ReplaceByte(at, byte)),
        at.clone().prop_map(Slip::DeleteLine),
        at.clone().prop_map(Slip::RepeatLine),
        (at.clone(), at).prop_map(|(a, b)| Slip::SwapLines(a, b)),
    ]
}

fn slipped(text: &str, slip: &Slip) -> String {
    let mut bytes = text.as_bytes().to_vec();
    let mut lines: Vec<&str> = text.split('\n').collect();
    let (in_bytes, in_lines) = (|at: usize| at % text.len(), lines.len());
    match *slip {
        Slip::DeleteByte(at) => drop(bytes.remove(in_bytes(at))),
        Slip::InsertByte(at, byte) => bytes.insert(in_bytes(at), byte),
        Slip::ReplaceByte(at, byte) => bytes[in_bytes(at)] = byte,
        Slip::DeleteLine(at) => drop(lines.remove(at % in_lines)),
        Slip::RepeatLine(at) => lines.insert(at % in_lines, lines[at % in_lines]),
        Slip::SwapLines(a, b) => lines.swap(a % in_lines, b % in_lines),
    }
    match slip {
        Slip::DeleteByte(_) | Slip::InsertByte(..) | Slip::ReplaceByte(..) => {
            String::from_utf8_lossy(&bytes).into_owned()
        }
        _ => lines.join("\n"),
    }
}

proptest! {
    #[test]
    fn no_slip_makes_it_panic_and_every_fault_names_a_line_that_exists(
        file in prop::sample::select(built_in().copied().collect::<Vec<_>>()),
        slips in prop::collection::vec(slip(), 1..4),
    ) {
        let text = slips.iter().fold(file.text.to_owned(), |text, slip| slipped(&text, slip));
        if let Err(error) = read(file.file_name, &text) {
            prop_assert!(!error.faults.is_empty());
            for fault in &error.faults {
                let line = text.split('\n').nth(fault.line - 1);
                prop_assert!(line.is_some_and(|line| fault.column <= line.chars().count() + 1), "{}", error);
                prop_assert!(!fault.what.is_empty() && !fault.right.is_empty(), "{}", error);
                prop_assert!(!error.to_string().contains("; ;"));
            }
        }
    }

    #[test]
    fn no_text_makes_it_panic(text in "\\PC*") {
        prop_assert!(read("any.toml", &text).is_err());
    }
}
