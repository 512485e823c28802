//! What was seen or read at a step of a check, and whether it is as it must be.

use super::form::{Form, yes_or_no};
use crate::fact::Seen;
use crate::state::Check;
use stonewear_measure::{Decimal, Limits};
use stonewear_procedure::{Difference, Expect, Step};

/// What was typed for a step.
#[derive(Clone, Copy)]
pub(super) struct Typed<'a> {
    pub(super) seen: &'a str,
    pub(super) less: &'a str,
}

/// What it comes to.
pub(super) struct Read {
    pub(super) seen: Seen,
    pub(super) passed: bool,
    /// How it was read, where that says more than the number: as the balance printed it, or the two
    /// readings whose difference it is.
    pub(super) as_read: String,
}

/// Reads what was typed for a step of a check, and judges it.
pub(super) fn read(
    form: &mut Form,
    check: &Check,
    step: &Step,
    typed: Typed<'_>,
    uncertainty: Option<Decimal>,
) -> Option<Read> {
    let has_second =
        matches!(&step.expect, Expect::Number { difference: Some(Difference::Less { .. }), .. });
    if !has_second && !typed.less.trim().is_empty() {
        let message = format!("“{}” has no second reading", step.title);
        form.wrong("less", "input-unwanted", message, "leave it empty");
        return None;
    }
    match &step.expect {
        Expect::Seen { what } => match yes_or_no(typed.seen) {
            Some(yes) => {
                Some(Read { seen: Seen::AsExpected(yes), passed: yes, as_read: String::new() })
            }
            None => {
                let message =
                    format!("“{}” does not say whether it is so: {what}", typed.seen.trim());
                form.wrong("seen", "input-unknown", message, "answer yes or no");
                None
            }
        },
        Expect::Number { limits, unit, difference, .. } => {
            let first = reading(form, "seen", unit, typed.seen);
            let (value, as_read) = match difference {
                None => first?,
                Some(Difference::Less { .. }) => {
                    let second = reading(form, "less", unit, typed.less);
                    less(first?, second?)
                }
                Some(Difference::From { from, .. }) => less(earlier(form, check, from)?, first?),
            };
            let passed = guarded(*limits, uncertainty).hold(value);
            Some(Read { seen: Seen::Number(value), passed, as_read })
        }
    }
}

/// A number, and how it was read where that says more.
type Reading = (Decimal, String);

fn reading(form: &mut Form, field: &str, unit: &str, typed: &str) -> Option<Reading> {
    if unit == "g" {
        form.grams(field, typed)
    } else {
        Some((form.number(field, typed)?, String::new()))
    }
}

/// The difference of two readings, with both of them. Readings have at most 15 digits.
fn less(first: Reading, second: Reading) -> Reading {
    let words = |(value, as_read): &Reading| {
        if as_read.is_empty() { value.to_string() } else { as_read.clone() }
    };
    (first.0.saturating_sub(second.0), format!("{} − {}", words(&first), words(&second)))
}

/// What was read last at an earlier step, as it is known now.
fn earlier(form: &mut Form, check: &Check, step: &str) -> Option<Reading> {
    let number = check.last_observation(step).and_then(|seen| match seen.value.known() {
        Seen::Number(value) => Some(*value),
        Seen::AsExpected(_) => None,
    });
    if number.is_none() {
        let message = format!("nothing was read at the step “{step}” that it is compared with");
        form.wrong("seen", "step-not-next", message, format!("first comes “{step}”"));
    }
    Some((number?, String::new()))
}

/// The same difference after the reading of the earlier step was corrected from `former` to `now`;
/// nothing for a step that is no difference from that one, or was observed before it was read.
pub(super) fn following(
    check: &Check,
    step: &Step,
    from: &str,
    former: Decimal,
    now: Decimal,
) -> Option<Read> {
    let Expect::Number { limits, difference: Some(Difference::From { from: its, .. }), .. } =
        &step.expect
    else {
        return None;
    };
    let (last, source) = (check.last_observation(&step.id)?, check.last_observation(from)?);
    let Seen::Number(was) = last.value.known() else { return None };
    if its != from || last.position < source.position {
        return None;
    }
    let here = former.saturating_sub(*was);
    let (value, as_read) = less((now, String::new()), (here, String::new()));
    let passed = guarded(*limits, last.value.uncertainty).hold(value);
    Some(Read { seen: Seen::Number(value), passed, as_read })
}

/// The limits of acceptance: the limits less the expanded uncertainty on each side (guard band
/// w = U, ILAC-G8:09/2019), so that a pass is wrong in 2.5 % of cases at most.
pub(super) fn guarded(limits: Limits, uncertainty: Option<Decimal>) -> Limits {
    let guard = uncertainty.unwrap_or_default();
    Limits {
        lower: limits.lower.map(|lower| lower.saturating_add(guard)),
        upper: limits.upper.map(|upper| upper.saturating_sub(guard)),
    }
}
