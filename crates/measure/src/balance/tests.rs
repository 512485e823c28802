//! What a mass field takes, and what it refuses.

use super::*;
use proptest::prelude::*;

fn grams(typed: &str) -> String {
    match read(typed) {
        Ok(mass) => mass.grams().to_string(),
        Err(error) => format!("{typed}: {error}"),
    }
}

#[test]
fn a_mass_is_understood_as_typed_and_as_printed() {
    for (typed, in_grams) in [
        ("1501.2", "1501.2"),
        ("1501,2", "1501.2"),
        (" +  1501.20 ", "1501.20"),
        ("0001501.2", "1501.2"),
        (",5", "0.5"),
        ("-0.3", "-0.3"),
        ("1501.2g", "1501.2"),
        ("1501,2 g", "1501.2"),
        ("1501.2 G", "1501.2"),
        ("1.5012 kg", "1501.2"),
        ("1,5012 KG", "1501.2"),
        ("1.5 kg", "1500"),
        ("1.500000 kg", "1500.000"),
        ("12 kg", "12000"),
        // 3.3095 × 453.59237, by hand.
        ("3.3095 lb", "1501.163948515"),
        ("3.3095 lbs.", "1501.163948515"),
        ("1 lb", "453.59237"),
        ("2.0 lb", "907.18474"),
        ("ST,GS,+ 1501.2 g", "1501.2"),
        ("ST,NT,+0001.5012kg", "1501.2"),
        ("ST,GS,1501.2,g", "1501.2"),
        ("S       1501.2 g", "1501.2"),
        ("S 1501.2 g", "1501.2"),
        ("N     +    1501.2 g  ", "1501.2"),
        ("Net: 1501.2 g", "1501.2"),
        ("1501.2 g ST NET", "1501.2"),
        ("\u{2}+ 1501.2 g\r\n\u{3}", "1501.2"),
        ("G\u{a0}−1,2\u{a0}g", "-1.2"),
    ] {
        assert_eq!(grams(typed), in_grams, "{typed}");
    }
}

#[test]
fn what_cannot_be_a_mass_is_refused_with_what_would_be_right() {
    for (typed, says) in [
        ("", "a number is missing"),
        ("abc", "“abc” is not a number; write digits"),
        ("15oo", "“15oo” is not a number; write digits"),
        ("US,GS,+ 1501.2 g", "had not settled (“US”); wait"),
        ("D 1501.2 g", "had not settled (“D”); wait"),
        ("1501.2 g ?", "had not settled (“?”)"),
        ("US", "had not settled (“US”)"),
        ("OL", "out of its range (“OL”)"),
        ("ST,OL,+ 9999.9 g", "out of its range (“OL”)"),
        ("++++++", "out of its range (“++++++”)"),
        ("HHHHH", "out of its range (“HHHHH”)"),
        ("- - - 12", "“-” in “- - - 12” is not understood"),
        ("ST,TR,+ 312.0 g", "this is the tare (“TR”)"),
        ("1501.2 oz", "“oz” is not a unit of mass that is understood here; weigh in g, kg or lb"),
        ("1501.2 mg", "“mg” is not a unit"),
        ("1501.2 gr", "“gr” is not a unit"),
        ("1501.2 t", "“t” is not a unit"),
        ("1501.2 кг", "“кг” is not a unit"),
        ("1501.2 pcs", "“pcs” is not a unit"),
        ("1501.2 N", "“N” is not a unit"),
        ("ST,GS,+ 1501.2", "names no unit; let the balance print it, or type +1501.2 alone"),
        ("kg 1.5012", "“KG” in “kg 1.5012” is not understood"),
        ("1501.2 %", "“%” in “1501.2 %” is not understood"),
        ("JAR-3", "“JAR” in “JAR-3” is not understood"),
        ("S26-001", "holds more than one number, 26 and -001"),
        ("1 500", "holds more than one number, 1 and 500; give one mass, like 1501.2"),
        ("3 lb 4.9 oz", "holds more than one number, 3 and 4.9"),
        ("1501.2 g1501.2 g", "holds more than one number"),
        ("1e3", "holds more than one number"),
        ("1,501 kg", "can mean 1501 or 1,501; write 1501 or 1.501"),
        ("1.2.3 g", "“1.2.3” is not a number"),
        ("99999999999 kg", "has too many digits"),
        ("٣ g", "is not understood"),
    ] {
        let message = read(typed).map(|mass| mass.to_string()).unwrap_err().to_string();
        assert!(message.contains(says), "{typed}: {message}");
    }
    let pasted = read(&"1 g ".repeat(10_000)).unwrap_err().to_string();
    assert!(pasted.len() < 300, "{pasted}");
}

#[test]
fn what_was_not_plain_grams_is_kept_beside_the_mass() {
    for (typed, kept, said) in [
        ("1501.2", None, "1501.2 g"),
        ("1501,2 g", None, "1501.2 g"),
        ("1.5012 kg", Some("1.5012 kg"), "1.5012 kg = 1501.2 g"),
        ("3.3095 lb", Some("3.3095 lb"), "3.3095 lb = 1501.16 g"),
        ("ST,GS,+  1501.2 g\r", Some("ST,GS,+ 1501.2 g"), "1501.2 g"),
    ] {
        let mass = read(typed).unwrap();
        assert_eq!(mass.as_read(), kept, "{typed}");
        assert_eq!(mass.to_string(), said, "{typed}");
    }
}

/// Numbers that a balance can show: up to five digits before and four after the point.
fn number() -> impl Strategy<Value = Decimal> {
    (0_i64..999_999_999, 0_u32..=4).prop_map(|(digits, scale)| Decimal::new(digits, scale))
}

proptest! {
    #[test]
    fn no_text_makes_it_panic(text in "\\PC{0,80}") {
        let _ = read(&text);
    }

    #[test]
    fn nothing_like_a_print_line_makes_it_panic(text in "[A-Zkglb0-9 .,+?:;-]{0,40}") {
        let _ = read(&text);
    }

    #[test]
    fn kilograms_are_a_thousand_grams_to_the_digit(value in number()) {
        let mass = read(&format!("{value} kg")).unwrap();
        prop_assert_eq!(mass.grams(), value * Decimal::ONE_THOUSAND);
        prop_assert_eq!(mass.value().to_string(), value.to_string());
        prop_assert_eq!(mass.grams() / Decimal::ONE_THOUSAND, value);
        // What is kept beside the mass reads as that very mass again.
        let again = read(mass.as_read().unwrap()).unwrap();
        prop_assert_eq!(again, mass);
    }

    #[test]
    fn pounds_are_exact_and_come_back(value in number()) {
        let mass = read(&format!("{value} lb")).unwrap();
        let back = crate::Exact::from(mass.grams())
            .divided_by(&crate::Exact::from(GRAMS_IN_A_POUND))
            .unwrap();
        prop_assert_eq!(back, crate::Exact::from(value));
    }

    #[test]
    fn grams_read_alike_however_they_are_printed(
        value in number(),
        head in prop::sample::select(vec!["", "+", "+   ", "ST,GS,", "ST,NT,+ ", "S ", "N + "]),
    ) {
        prop_assert_eq!(read(&format!("{head}{value} g")).unwrap().grams(), value);
        prop_assert_eq!(read(&value.to_string()).unwrap().grams(), value);
    }

    /// Whatever stands behind the number: it is grams only where it says grams.
    #[test]
    fn a_number_with_another_unit_is_never_taken_for_grams(
        value in number(),
        unit in prop_oneof!["[a-zA-Z]{1,3}", "\\p{L}{1,4}", "[°%µ'\"]{1,2}"],
    ) {
        prop_assume!(!["g", "gram", "grams"].contains(&unit.to_lowercase().as_str()));
        if let Ok(mass) = read(&format!("{value} {unit}")) {
            prop_assert_ne!(mass.unit(), MassUnit::Gram, "{} {} was read as {}", value, unit, mass);
        }
    }
}
