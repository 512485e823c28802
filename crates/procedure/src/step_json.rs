//! A step as scripts read it.

use crate::model::{Expect, Jars, Step};
use serde_json::{Value, json};
use stonewear_measure::Limits;

/// One step with the keys that scripts rely on: `id`, `title`, `jars` (`out` or `in`), `tier`,
/// `position`, `expect`, `caution`, `on_failure`; and `instruction`, `why` and `back_to` besides.
///
/// A step on the bench says `out`: the jars are not in the machine then. Numbers are texts, exact
/// as they are written; what does not apply is `null`.
pub fn step_json(step: &Step) -> Value {
    let jars = match step.jars {
        Jars::In => "in",
        Jars::Out | Jars::NotInvolved => "out",
    };
    json!({
        "id": step.id,
        "title": step.title,
        "instruction": step.instruction,
        "why": step.why,
        "jars": jars,
        "on_bench": step.jars == Jars::NotInvolved,
        "tier": step.tier,
        "position": step.position,
        "expect": expect_json(&step.expect),
        "caution": step.caution,
        "on_failure": step.on_failure,
        "back_to": step.back_to,
    })
}

fn expect_json(expect: &Expect) -> Value {
    let words = expect_in_words(expect);
    match expect {
        Expect::Seen { what } => json!({ "observe": "seen", "what": what, "words": words }),
        Expect::Number { what, unit, limits, source, instrument, difference } => json!({
            "observe": "number",
            "what": what,
            "unit": unit,
            "lower": limits.lower,
            "upper": limits.upper,
            "source": source,
            "with": instrument,
            "difference": difference,
            "words": words,
        }),
    }
}

/// What a step wants, in one line: `count shown: 190 to 210 turns`.
pub fn expect_in_words(expect: &Expect) -> String {
    match expect {
        Expect::Seen { what } => what.clone(),
        Expect::Number { what, unit, limits, .. } => {
            let limits = match limits {
                Limits { lower: Some(lower), upper: Some(upper) } if lower == upper => {
                    format!("exactly {lower}")
                }
                limits => limits.to_string(),
            };
            let unit = if unit.is_empty() { String::new() } else { format!(" {unit}") };
            format!("{what}: {limits}{unit}")
        }
    }
}
