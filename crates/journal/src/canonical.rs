//! The canonical text of RFC 8785, and what a fact may hold so that this text is the same in
//! every language.

use crate::entry::{DraftError, MAX_DEPTH, MAX_INTEGER};
use serde::{Deserializer, Serialize, de};
use serde_json::Value;
use std::fmt;
use std::marker::PhantomData;
use std::str::FromStr;

/// The canonical bytes of `value`: keys in the order of their UTF-16 units, no blanks, the fewest
/// escapes.
///
/// Fails only when `value` cannot be JSON at all, which checked values never are.
pub(crate) fn bytes(value: &impl Serialize) -> Result<Vec<u8>, serde_json::Error> {
    serde_json_canonicalizer::to_vec(value)
}

/// Refuses what another language might read or write differently.
pub(crate) fn check_fact(fact: &Value) -> Result<(), DraftError> {
    if !fact.is_object() {
        return Err(DraftError::NotAnObject);
    }
    // Not by recursion: a value built in a program can be deeper than the stack.
    let mut open = vec![(fact, 1)];
    while let Some((value, depth)) = open.pop() {
        if depth > MAX_DEPTH {
            return Err(DraftError::TooDeep);
        }
        match value {
            Value::Number(number) => {
                let whole = number.as_i64().filter(|n| n.unsigned_abs() <= MAX_INTEGER);
                if whole.is_none() {
                    return Err(DraftError::Number(number.to_string()));
                }
            }
            Value::Array(items) => open.extend(items.iter().map(|item| (item, depth + 1))),
            Value::Object(fields) => open.extend(fields.values().map(|item| (item, depth + 1))),
            Value::Null | Value::Bool(_) | Value::String(_) => {}
        }
    }
    Ok(())
}

/// Reads a value from its text without a copy of the text.
pub(crate) fn from_text<'de, D, T>(deserializer: D, form: &'static str) -> Result<T, D::Error>
where
    D: Deserializer<'de>,
    T: FromStr,
{
    struct Text<T>(&'static str, PhantomData<T>);

    impl<T: FromStr> de::Visitor<'_> for Text<T> {
        type Value = T;

        fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
            f.write_str(self.0)
        }

        fn visit_str<E: de::Error>(self, text: &str) -> Result<T, E> {
            text.parse().map_err(|_| E::invalid_value(de::Unexpected::Str(text), &self))
        }
    }

    deserializer.deserialize_str(Text(form, PhantomData))
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    fn text(value: &impl Serialize) -> String {
        String::from_utf8(bytes(value).unwrap()).unwrap()
    }

    /// The example of RFC 8785, section 3.2.2; from memory, unconfirmed.
    #[test]
    fn example_of_literals_strings_and_numbers() {
        let read: Value = serde_json::from_str(
            r#"{
                "numbers": [333333333.33333329, 1E30, 4.50, 2e-3,
                            0.000000000000000000000000001],
                "string": "\u20ac$\u000F\u000aA'\u0042\u0022\u005c\\\"\/",
                "literals": [null, true, false]
            }"#,
        )
        .unwrap();
        assert_eq!(
            text(&read),
            r#"{"literals":[null,true,false],"numbers":[333333333.3333333,1e+30,4.5,0.002,1e-27],"string":"€$\u000f\nA'B\"\\\\\"/"}"#
        );
    }

    /// The keys of the sorting example of RFC 8785, section 3.2.3, from memory, unconfirmed; the
    /// order follows from the rule (UTF-16 units: D83D DE00 comes before FB33).
    #[test]
    fn keys_stand_in_the_order_of_utf16_units() {
        let read: Value = serde_json::from_str(
            r#"{"\u20ac": 6, "\r": 1, "\ufb33": 8, "1": 2, "\ud83d\ude00": 7, "\u0080": 3,
                "\u00f6": 5, "~": 9}"#,
        )
        .unwrap();
        assert_eq!(
            text(&read),
            "{\"\\r\":1,\"1\":2,\"~\":9,\"\u{80}\":3,\"ö\":5,\"€\":6,\"😀\":7,\"\u{fb33}\":8}"
        );
    }

    /// Bit patterns of RFC 8785, appendix B; from memory, unconfirmed. Facts hold whole numbers
    /// only, so of these the journal meets just the integers.
    #[test]
    fn published_numbers() {
        for (bits, written) in [
            (0x0000_0000_0000_0000_u64, "0"),
            (0x8000_0000_0000_0000, "0"),
            (0x0000_0000_0000_0001, "5e-324"),
            (0x7fef_ffff_ffff_ffff, "1.7976931348623157e+308"),
            (0x4340_0000_0000_0000, "9007199254740992"),
            (0xc340_0000_0000_0000, "-9007199254740992"),
            (0x4430_0000_0000_0000, "295147905179352830000"),
            (0x44b5_2d02_c7e1_4af6, "1e+23"),
            (0x444b_1ae4_d6e2_ef50, "1e+21"),
            (0x3eb0_c6f7_a0b5_ed8d, "0.000001"),
            (0x41b3_de43_5555_5555, "333333333.3333333"),
        ] {
            assert_eq!(text(&f64::from_bits(bits)), written);
        }
    }

    #[test]
    fn escapes_are_the_fewest() {
        let every: String = (0..=0x7f_u8).map(char::from).collect();
        let escaped = text(&every);
        for form in ["\\b", "\\t", "\\n", "\\f", "\\r", "\\\"", "\\\\", "\\u0000", "\\u001f"] {
            assert!(escaped.contains(form), "{form}");
        }
        // 27 of six characters, 7 of two, 94 as they are, two quotation marks.
        assert_eq!(escaped.len(), 27 * 6 + 7 * 2 + 94 + 2);
    }

    #[test]
    fn integers_are_written_in_full() {
        let most = MAX_INTEGER.cast_signed();
        assert_eq!(text(&json!([most, -most, 0])), format!("[{most},-{most},0]"));
        assert_eq!(check_fact(&json!({"a": [most, -most]})), Ok(()));
    }

    #[test]
    fn numbers_that_languages_disagree_about_are_refused() {
        for number in ["1.5", "1.0", "-0.0", "1e2", "9007199254740992", "-9007199254740992"] {
            let fact = serde_json::from_str(&format!("{{\"a\":[{{\"b\":{number}}}]}}")).unwrap();
            assert!(matches!(check_fact(&fact), Err(DraftError::Number(_))), "{number}");
        }
        let beyond = json!({"a": u64::MAX});
        assert_eq!(check_fact(&beyond), Err(DraftError::Number("18446744073709551615".into())));
    }

    #[test]
    fn a_fact_is_an_object_of_bounded_depth() {
        for other in [json!([]), json!("a"), json!(1), json!(null)] {
            assert_eq!(check_fact(&other), Err(DraftError::NotAnObject));
        }
        let nested = |depth| (1..depth).fold(json!({}), |inner, _| json!({"a": inner}));
        assert_eq!(check_fact(&nested(MAX_DEPTH)), Ok(()));
        assert_eq!(check_fact(&nested(MAX_DEPTH + 1)), Err(DraftError::TooDeep));
    }
}
