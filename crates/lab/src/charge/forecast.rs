//! When a charge will leave its tolerance: in revolutions, in runs, and by the calendar.

use super::{History, LEVEL, Tolerance, Trend, Wear};
use crate::code::ItemCode;
use crate::estimate::{double, rounded, with_uncertainty};
use crate::fact::Standing;
use crate::state::Lab;
use jiff::civil::Date;
use jiff::{Timestamp, ToSpan};
use serde::Serialize;
use stonewear_measure::Decimal;
use stonewear_procedure::ItemKind;
use stonewear_stats::regression::{Crossing, limit_crossing};

/// Days over which the pace of use is taken: a quarter of a year, common practice of ours.
const PACE_DAYS: i64 = 91;
/// A shorter time of use says nothing of a pace.
const LEAST_DAYS: i64 = 7;
/// Runs over which the revolutions of one run are taken.
const RECENT_RUNS: usize = 20;
/// With so many runs left, by the early end of the interval, the charge is to be looked at.
const NEAR_RUNS: u64 = 10;
/// Nobody plans beyond this.
const MOST_DAYS: f64 = 20.0 * 365.25;

/// How much a charge is used.
#[derive(Debug, Clone, PartialEq)]
pub struct Pace {
    /// Revolutions a day.
    pub revolutions_a_day: f64,
    /// Days over which that was taken.
    pub days: i64,
    /// Revolutions of one run.
    pub revolutions_a_run: f64,
}

/// When the mean mass reaches a limit, as far as the readings tell.
#[derive(Debug, Clone, PartialEq)]
pub struct Leaving {
    /// The limit that it reaches, g.
    pub limit_g: Decimal,
    /// Thousands of revolutions that the charge will have turned by then.
    pub at: f64,
    /// The interval of that at the level of this module.
    pub within: (f64, f64),
    /// Runs from now until then.
    pub runs: Option<u64>,
    /// The interval of the runs.
    pub runs_within: Option<(u64, u64)>,
    /// The day, by the pace of use.
    pub day: Option<Date>,
    /// The interval of the day, as far as the calendar of anybody's plans goes.
    pub day_within: (Option<Date>, Option<Date>),
}

/// What can be said of a charge and its tolerance.
#[derive(Debug, Clone, PartialEq)]
pub enum Forecast {
    /// Its mass lies outside now.
    Outside {
        /// The last mass, g.
        mass_g: Decimal,
    },
    /// It will leave.
    Leaves(Box<Leaving>),
    /// Nothing can be said, for this reason.
    Unknown {
        /// Why.
        why: String,
    },
}

impl Pace {
    /// How much a charge was used of late; `None` where it was not.
    fn of(history: &History, at: Timestamp) -> Option<Self> {
        let first = history.turnings.first()?.at;
        let day = 24 * 3600;
        let age = at.duration_since(first).as_secs() / day;
        let days = age.clamp(LEAST_DAYS, PACE_DAYS);
        // What is younger than the time over which a pace is taken counts whole.
        let begins =
            if age < PACE_DAYS { first } else { at.checked_sub((days * 24).hours()).ok()? };
        let turned: Decimal = history
            .turnings
            .iter()
            .filter(|one| one.at >= begins)
            .fold(Decimal::ZERO, |sum, one| sum.saturating_add(one.revolutions));
        let whole = |one: &&super::Turning| !one.revolutions.is_zero();
        let recent: Vec<f64> = history
            .turnings
            .iter()
            .rev()
            .filter(whole)
            .take(RECENT_RUNS)
            .map(|one| double(one.revolutions))
            .collect();
        if recent.is_empty() {
            return None;
        }
        Some(Self {
            revolutions_a_day: double(turned) / days as f64,
            days,
            revolutions_a_run: recent.iter().sum::<f64>() / recent.len() as f64,
        })
    }
}

impl Forecast {
    pub(super) fn of(
        lab: &Lab,
        history: &History,
        tolerance: Option<&Tolerance>,
        trend: &Result<Trend, String>,
        at: Timestamp,
    ) -> Self {
        let unknown = |why: &str| Self::Unknown { why: why.to_owned() };
        let Some(tolerance) = tolerance else {
            return unknown(
                "nothing says which mass it has to keep: it has neither run nor passed a check",
            );
        };
        let Some(last) = history.readings.last() else { return unknown("its mass was never read") };
        if !tolerance.limits.hold(last.mass_g) {
            return Self::Outside { mass_g: last.mass_g };
        }
        let trend = match trend {
            Ok(trend) => trend,
            Err(why) => return unknown(why),
        };
        if let Err(why) = &trend.interval {
            return unknown(&format!("how sure its rate is cannot be told: it {why}"));
        }
        if !trend.is_seen() {
            return unknown(
                "its mass does not change by more than its readings scatter, so no day can be named",
            );
        }
        let limits = tolerance.limits;
        let limit_g = if trend.rate > 0.0 { limits.lower } else { limits.upper };
        let Some(limit_g) = limit_g else {
            return unknown("the method sets no limit on the side that it moves to");
        };
        let crossing = match limit_crossing(&trend.line, double(limit_g), LEVEL) {
            Ok(crossing) => crossing,
            Err(error) => return unknown(&error.to_string()),
        };
        let Ok(Crossing::Between(within)) = crossing.crossing else {
            return unknown("the readings do not bound when it will leave its tolerance");
        };
        let within = (within.lower, within.upper);
        let leaving = Leaving::new(lab, history, limit_g, (crossing.estimate, within), at);
        Self::Leaves(Box::new(leaving))
    }

    /// Whether somebody has to look at the charge now.
    pub fn is_near(&self) -> bool {
        match self {
            Self::Outside { .. } => true,
            Self::Leaves(leaving) => {
                leaving.runs_within.is_some_and(|(earliest, _)| earliest <= NEAR_RUNS)
            }
            Self::Unknown { .. } => false,
        }
    }
}

impl Leaving {
    fn new(
        lab: &Lab,
        history: &History,
        limit_g: Decimal,
        (estimate, (lower, upper)): (f64, (f64, f64)),
        at: Timestamp,
    ) -> Self {
        let pace = Pace::of(history, at);
        let now = double(history.turned) / 1000.0;
        // What the line says has been passed already is due now.
        let left = |thousands: f64| (thousands - now).max(0.0) * 1000.0;
        let runs = |thousands: f64| {
            let runs = left(thousands) / pace.as_ref()?.revolutions_a_run;
            // Whole runs that still fit; the cast cuts what is beyond.
            (runs < 1e6).then(|| runs.floor() as u64)
        };
        let day = |thousands: f64| {
            let a_day = pace.as_ref()?.revolutions_a_day;
            let days = left(thousands) / a_day;
            if !(days < MOST_DAYS) {
                return None;
            }
            // Less than the days that anybody plans: the cast keeps it.
            let hours = (days * 24.0).floor() as i64;
            Some(lab.local(at.checked_add(hours.hours()).ok()?).date())
        };
        Self {
            limit_g,
            at: estimate,
            within: (lower, upper),
            runs: runs(estimate),
            runs_within: runs(lower).zip(runs(upper)),
            day: day(estimate),
            day_within: (day(lower), day(upper)),
        }
    }

    /// The runs in words: `after about 14 more runs (12 to 17)`.
    fn runs_in_words(&self) -> Option<String> {
        let (earliest, latest) = self.runs_within?;
        match self.runs? {
            0 => Some(format!("in the next run or so ({earliest} to {latest} more)")),
            runs => Some(format!(
                "after about {} ({earliest} to {latest})",
                crate::words::counted(usize::try_from(runs).ok()?, "more run")
            )),
        }
    }

    /// The day in words.
    fn day_in_words(&self) -> String {
        match (self.day, self.day_within) {
            (Some(day), (Some(earliest), Some(latest))) => {
                format!(", at the present pace around {day} ({earliest} to {latest})")
            }
            (Some(day), (Some(earliest), None)) => {
                format!(", at the present pace around {day}, not before {earliest}")
            }
            _ => ", at the present pace at no time that can be planned for".to_owned(),
        }
    }
}

impl Wear {
    /// How fast it wears, in a sentence.
    pub fn rate_in_words(&self) -> String {
        let trend = match &self.trend {
            Ok(trend) => trend,
            Err(why) => return format!("how fast it wears cannot be said: {why}"),
        };
        let half = trend.interval.as_ref().ok().map(|one| (one.upper - one.lower) / 2.0);
        let shown = half.and_then(|half| with_uncertainty(trend.rate.abs(), half));
        let what = if trend.rate < 0.0 { "gains" } else { "loses" };
        match shown {
            Some((rate, half)) => {
                format!("it {what} {rate} g ± {half} g in 1,000 revolutions (95 %)")
            }
            None => match rounded(trend.rate.abs(), 3) {
                Some(rate) => format!(
                    "it {what} {rate} g in 1,000 revolutions; there are too few readings to say how sure that is"
                ),
                None => "how fast it wears cannot be said".to_owned(),
            },
        }
    }

    /// When it leaves its tolerance, in a sentence.
    pub fn forecast_in_words(&self) -> String {
        match &self.forecast {
            Forecast::Outside { mass_g } => {
                let limits = self.tolerance.as_ref().map(|one| one.limits.to_string());
                let limits = limits.unwrap_or_default();
                format!("it weighs {mass_g} g, outside of {limits} g, now")
            }
            Forecast::Unknown { why } => {
                format!("when it leaves its tolerance cannot be said: {why}")
            }
            Forecast::Leaves(leaving) => {
                let side = if self.trend.as_ref().is_ok_and(|trend| trend.rate > 0.0) {
                    "fall below"
                } else {
                    "rise above"
                };
                let runs = leaving.runs_in_words();
                let when = runs.unwrap_or_else(|| "when it is used again".to_owned());
                format!("it will {side} {} g {when}{}", leaving.limit_g, leaving.day_in_words())
            }
        }
    }
}

/// When a charge is due to be looked at, for a list of what is due.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ChargeDue {
    /// The charge.
    pub charge: ItemCode,
    /// The day on which it leaves its tolerance; absent where no day can be named.
    pub leaves_on: Option<Date>,
    /// The early end of the interval of that day: the day to plan by.
    pub earliest: Option<Date>,
    /// The late end.
    pub latest: Option<Date>,
    /// Runs that are left by the early end of the interval.
    pub runs_left: Option<u64>,
    /// Whether it is outside now or nearly so.
    pub is_near: bool,
    /// All of it in a sentence.
    pub sentence: String,
}

/// When each ball charge in service leaves its tolerance, in the order of their codes. A charge of
/// which nothing can be said is there without a day, and its sentence says why.
pub fn charge_due(lab: &Lab, at: Timestamp) -> Vec<ChargeDue> {
    lab.items_of(ItemKind::BallCharge)
        .filter(|item| item.standing() == Standing::InService)
        .filter_map(|item| due_of(lab, &item.code, at))
        .collect()
}

/// When one charge leaves its tolerance; `None` where there is no such charge.
pub(crate) fn due_of(lab: &Lab, charge: &ItemCode, at: Timestamp) -> Option<ChargeDue> {
    let wear = lab.wear(charge, at)?;
    let charge = charge.clone();
    let is_near = wear.forecast.is_near();
    let today = lab.local(at).date();
    let (leaves_on, (earliest, latest), runs_left) = match &wear.forecast {
        Forecast::Outside { .. } => (Some(today), (Some(today), Some(today)), Some(0)),
        Forecast::Leaves(leaving) => {
            (leaving.day, leaving.day_within, leaving.runs_within.map(|(earliest, _)| earliest))
        }
        Forecast::Unknown { .. } => (None, (None, None), None),
    };
    let sentence = format!("{charge}: {}", wear.forecast_in_words());
    Some(ChargeDue { charge, leaves_on, earliest, latest, runs_left, is_near, sentence })
}
