//! The share of balls that have worn below the nominal size, as the checks with gauges counted it.

use super::LEVEL;
use crate::code::{CheckCode, ItemCode};
use crate::fact::Seen;
use crate::state::{Check, Lab};
use jiff::Timestamp;
use stonewear_measure::Decimal;
use stonewear_stats::describe::exact_proportion;
use stonewear_stats::regression::Interval;

/// What a check with gauges counted.
#[derive(Debug, Clone, PartialEq)]
pub struct WornShare {
    /// The check.
    pub check: CheckCode,
    /// When they were counted.
    pub at: Timestamp,
    /// Balls that were tried.
    pub tried: u64,
    /// Of them, those below the nominal size.
    pub worn: u64,
    /// Of them, those that are too small.
    pub too_small: Option<u64>,
    /// The share below the nominal size of all balls of the charge, %, with its interval at the
    /// level of this module: a sample was tried, not the charge.
    pub percent: f64,
    /// The ends of that interval, %.
    pub interval: Interval,
}

impl Lab {
    /// What the checks of a charge with gauges counted, oldest first.
    pub fn worn_shares(&self, charge: &ItemCode) -> Vec<WornShare> {
        self.checks_of(charge).filter_map(worn_share).collect()
    }
}

/// The steps of the check of the ball size, by their names in the procedure.
fn worn_share(check: &Check) -> Option<WornShare> {
    check.procedure.proves.iter().find(|of| *of == "ball size")?;
    let count = |step: &str| {
        let Seen::Number(number) = check.last_observation(step)?.value.known() else { return None };
        whole(*number)
    };
    let (tried, worn) = (count("sample")?, count("worn")?);
    let share = exact_proportion(worn, tried, LEVEL).ok()?;
    Some(WornShare {
        check: check.code.clone(),
        at: check.last_observation("worn")?.at,
        tried,
        worn,
        too_small: count("too-small"),
        percent: 100.0 * worn as f64 / tried as f64,
        interval: Interval { lower: 100.0 * share.lower, upper: 100.0 * share.upper },
    })
}

fn whole(number: Decimal) -> Option<u64> {
    u64::try_from(number).ok().filter(|_| number.fract().is_zero())
}
