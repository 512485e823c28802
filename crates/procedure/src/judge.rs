//! Whether an answer is what a step wanted.

use crate::model::Expect;
use crate::step_json::expect_in_words;
use stonewear_measure::{Decimal, Limits, Side};

/// What somebody answered.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Answer {
    /// Whether it was seen to be so.
    Seen(bool),
    /// What was read, in the unit of the step.
    Number(Decimal),
}

/// Whether a step is passed, in words too.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Verdict {
    /// True when the answer is what was wanted.
    pub passed: bool,
    /// What was found, and what was wanted when that is something else.
    pub words: String,
}

/// Judges an answer. A number on a limit passes; an answer of the wrong kind does not.
pub fn judge(expect: &Expect, answer: Answer) -> Verdict {
    match (expect, answer) {
        (Expect::Seen { what }, Answer::Seen(true)) => pass(format!("seen: {what}")),
        (Expect::Seen { what }, Answer::Seen(false)) => fail(format!("not seen; wanted: {what}")),
        (Expect::Number { unit, limits, .. }, Answer::Number(number)) => {
            number_verdict(unit, limits, number)
        }
        (Expect::Seen { .. }, Answer::Number(_)) => {
            fail(format!("answer yes or no; wanted: {}", expect_in_words(expect)))
        }
        (Expect::Number { .. }, Answer::Seen(_)) => {
            fail(format!("read a number; wanted: {}", expect_in_words(expect)))
        }
    }
}

fn number_verdict(unit: &str, limits: &Limits, number: Decimal) -> Verdict {
    let unit = if unit.is_empty() { String::new() } else { format!(" {unit}") };
    let off = |by: Decimal, side: &str| {
        fail(format!("{number}{unit} is {by} too {side}; wanted: {limits}{unit}"))
    };
    // Readings have at most 15 digits; limits come from files read the same way.
    match (limits.side(number), limits.lower, limits.upper) {
        (Side::Below, Some(lower), _) => off(lower.saturating_sub(number), "low"),
        (Side::Above, _, Some(upper)) => off(number.saturating_sub(upper), "high"),
        _ if *limits == Limits::default() => pass(format!("{number}{unit}, for the record")),
        _ => pass(format!("{number}{unit} is within {limits}{unit}")),
    }
}

fn pass(words: String) -> Verdict {
    Verdict { passed: true, words }
}

fn fail(words: String) -> Verdict {
    Verdict { passed: false, words }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn number(lower: Option<i64>, upper: Option<i64>) -> Expect {
        Expect::Number {
            what: "count shown".to_owned(),
            unit: "turns".to_owned(),
            limits: Limits { lower: lower.map(Into::into), upper: upper.map(Into::into) },
            source: "practice".to_owned(),
            instrument: None,
            difference: None,
        }
    }

    #[test]
    fn a_verdict_says_what_was_wanted() {
        let seen = Expect::Seen { what: "the drive stops".to_owned() };
        let digits = |text: &str| Answer::Number(text.parse().unwrap());
        for (expect, answer, passed, words) in [
            (&seen, Answer::Seen(true), true, "seen: the drive stops"),
            (&seen, Answer::Seen(false), false, "not seen; wanted: the drive stops"),
            (&seen, digits("1"), false, "answer yes or no; wanted: the drive stops"),
            (
                &number(Some(190), Some(210)),
                digits("190"),
                true,
                "190 turns is within 190 to 210 turns",
            ),
            (
                &number(Some(190), Some(210)),
                digits("210.5"),
                false,
                "210.5 turns is 0.5 too high; wanted: 190 to 210 turns",
            ),
            (
                &number(Some(190), None),
                digits("3"),
                false,
                "3 turns is 187 too low; wanted: at least 190 turns",
            ),
            (&number(None, None), digits("3"), true, "3 turns, for the record"),
            (
                &number(Some(0), Some(0)),
                Answer::Seen(true),
                false,
                "read a number; wanted: count shown: exactly 0 turns",
            ),
        ] {
            assert_eq!(judge(expect, answer), Verdict { passed, words: words.to_owned() });
        }
    }
}
