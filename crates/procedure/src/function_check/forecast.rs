//! What a run must show, as it follows from how the apparatus is built.

use crate::apparatus::{Apparatus, Control, CounterSenses, TimeStep, TimeUnit};
use stonewear_measure::{Decimal, Limits};

/// How far a speed may lie from the nominal one, revolutions per minute: AASHTO T 327-12(2020)
/// §6.1.
const SPEED_TOLERANCE: Decimal = Decimal::from_parts(5, 0, 0, false, 0);
/// How far a counted run may end from the set count, revolutions: EN 1097-1, as described on the
/// pages of the European cross-testing programme.
const COUNT_TOLERANCE: Decimal = Decimal::from_parts(10, 0, 0, false, 0);
/// A trial run is no shorter than this, in seconds; common practice: long enough to press a
/// stopwatch without haste and to count some 200 turns.
const TRIAL_SECONDS: Decimal = Decimal::from_parts(120, 0, 0, false, 0);

/// Whether jars lie in the machine.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Load {
    /// The machine is empty.
    Empty,
    /// A jar lies in every position.
    Jars,
}

/// What makes a run end.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum End {
    /// The control that it was set to.
    ByItself,
    /// Somebody must stop it, because nothing counts.
    ByHand,
}

/// A trial run and what it must show.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Forecast {
    /// What the control is set to: `2 min`, `200 turns`.
    pub setting: String,
    /// What makes it end.
    pub end: End,
    /// The count shown afterwards; absent without a counter.
    pub count: Option<Limits>,
    /// Where the limits of the count come from.
    pub count_source: String,
}

/// The speed that the method allows around the nominal one, revolutions per minute.
pub(crate) fn speed(apparatus: &Apparatus) -> Limits {
    Limits::around(nominal(apparatus), SPEED_TOLERANCE)
}

/// The nominal speed. A description with a speed that no jar turns at is refused where it enters;
/// here it must only not overflow.
fn nominal(apparatus: &Apparatus) -> Decimal {
    apparatus.nominal_rpm.clamp(SPEED_TOLERANCE, Decimal::ONE_THOUSAND)
}

fn timer(apparatus: &Apparatus) -> TimeStep {
    let step = TimeStep::read(&apparatus.time_step);
    step.unwrap_or(TimeStep { number: Decimal::ONE, unit: TimeUnit::Minute })
}

/// What a trial run under this control must show.
pub fn forecast(apparatus: &Apparatus, control: Control, load: Load) -> Forecast {
    let counts = match (apparatus.counter_senses, load) {
        (CounterSenses::Nothing, _) | (CounterSenses::JarLid, Load::Empty) => false,
        (CounterSenses::Roller, _) | (CounterSenses::JarLid, Load::Jars) => true,
    };
    let (setting, expected, source) = match control {
        Control::Time => {
            let time = timer(apparatus).at_least(TRIAL_SECONDS);
            let minutes = time.seconds() / Decimal::from(60);
            let expected = turns_in(apparatus, minutes);
            let source = format!("derived: {time} at {} per minute (T327)", speed(apparatus));
            (time.to_string(), expected, source)
        }
        Control::Revolutions => {
            let turns = turns_to_set(apparatus);
            let expected = Limits::around(turns, COUNT_TOLERANCE);
            (format!("{turns} turns"), expected, "BRE-MDmethod".to_owned())
        }
    };
    let (count, count_source) = match apparatus.counter_senses {
        CounterSenses::Nothing => (None, String::new()),
        _ if counts => (Some(expected), source),
        _ => (
            Some(Limits::around(Decimal::ZERO, Decimal::ZERO)),
            "derived: no lid passes the sensor".to_owned(),
        ),
    };
    let end = match control {
        Control::Revolutions if !counts => End::ByHand,
        _ => End::ByItself,
    };
    Forecast { setting, end, count, count_source }
}

/// The turns of a trial run that is made by revolutions.
fn turns_to_set(apparatus: &Apparatus) -> Decimal {
    (nominal(apparatus) * Decimal::TWO).round()
}

/// Turns in so many minutes at the speeds that the method allows, whole turns outwards.
fn turns_in(apparatus: &Apparatus, minutes: Decimal) -> Limits {
    let speed = speed(apparatus);
    Limits {
        lower: speed.lower.map(|rpm| (rpm * minutes).floor()),
        upper: speed.upper.map(|rpm| (rpm * minutes).ceil()),
    }
}

/// A setting that no look at a turning machine outlasts: ten minutes.
pub(crate) fn long_setting(apparatus: &Apparatus, control: Control) -> String {
    match control {
        Control::Time => timer(apparatus).at_least(Decimal::from(600)).to_string(),
        Control::Revolutions => format!("{} turns", (nominal(apparatus) * Decimal::TEN).round()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn limits(lower: i64, upper: i64) -> Option<Limits> {
        Some(Limits { lower: Some(lower.into()), upper: Some(upper.into()) })
    }

    #[test]
    fn end_and_count_follow_from_the_description() {
        use Control::{Revolutions, Time};
        use CounterSenses::{JarLid, Nothing, Roller};
        use End::{ByHand, ByItself};
        // The counts are worked by hand: 2 min at 95 to 105 a minute, and 200 ± 10 set turns.
        for (senses, control, load, end, count) in [
            (JarLid, Revolutions, Load::Empty, ByHand, limits(0, 0)),
            (JarLid, Time, Load::Empty, ByItself, limits(0, 0)),
            (Roller, Revolutions, Load::Empty, ByItself, limits(190, 210)),
            (Roller, Time, Load::Empty, ByItself, limits(190, 210)),
            (Nothing, Time, Load::Empty, ByItself, None),
            (JarLid, Revolutions, Load::Jars, ByItself, limits(190, 210)),
            (JarLid, Time, Load::Jars, ByItself, limits(190, 210)),
            (Roller, Revolutions, Load::Jars, ByItself, limits(190, 210)),
            (Nothing, Time, Load::Jars, ByItself, None),
        ] {
            let apparatus = Apparatus { counter_senses: senses, ..Apparatus::default() };
            let forecast = forecast(&apparatus, control, load);
            assert_eq!((forecast.end, forecast.count), (end, count), "{senses:?} {control:?}");
        }
    }

    #[test]
    fn a_timed_run_is_as_long_as_the_timer_can_be_set_and_its_count_goes_with_it() {
        for (step, rpm, setting, count) in [
            ("1 min", 100, "2 min", limits(190, 210)),
            ("5 min", 100, "5 min", limits(475, 525)),
            ("7 s", 100, "126 s", limits(199, 221)),
            ("1 min", 33, "2 min", limits(56, 76)),
        ] {
            let apparatus = Apparatus {
                time_step: step.to_owned(),
                nominal_rpm: rpm.into(),
                ..Apparatus::default()
            };
            let forecast = forecast(&apparatus, Control::Time, Load::Jars);
            assert_eq!((forecast.setting.as_str(), forecast.count), (setting, count), "{step}");
        }
    }
}
