//! Phrases that depend on how the apparatus is built.

use super::forecast::{Forecast, long_setting};
use crate::apparatus::{Apparatus, Control, CounterSenses};

/// A name as part of a step's id: `Upper tier` becomes `upper-tier`.
pub(crate) fn slug(name: &str) -> String {
    let spaced: String = name.chars().map(|c| if c.is_alphanumeric() { c } else { ' ' }).collect();
    spaced.to_lowercase().split_whitespace().collect::<Vec<_>>().join("-")
}

/// `a`, `a and b`, `a, b and c`.
pub(crate) fn listed(names: &[String]) -> String {
    match names {
        [] => String::new(),
        [one] => one.clone(),
        [head @ .., last] => format!("{} and {last}", head.join(", ")),
    }
}

/// `the upper and lower tiers`.
pub(crate) fn every_tier(apparatus: &Apparatus) -> String {
    let names: Vec<String> =
        apparatus.tiers.iter().map(|tier| format!("“{}”", tier.name)).collect();
    let tiers = if names.len() == 1 { "tier" } else { "tiers" };
    format!("{tiers} {}", listed(&names))
}

/// `Set the timer to 2 min`.
pub(crate) fn set(control: Control, setting: &str) -> String {
    match control {
        Control::Time => format!("Set the timer to {setting}"),
        Control::Revolutions => format!("Set the counter to {setting}"),
    }
}

/// Set so that a look does not outlast it.
pub(crate) fn set_long(apparatus: &Apparatus, control: Control) -> String {
    set(control, &long_setting(apparatus, control))
}

/// Set as the trial run asks.
pub(crate) fn set_trial(control: Control, forecast: &Forecast) -> String {
    set(control, &forecast.setting)
}

/// How it is stopped by hand.
pub(crate) fn stop(apparatus: &Apparatus) -> &'static str {
    if apparatus.separate_stop { "press stop" } else { "press the start button once more" }
}

/// `Close the doors in this order: first “lower”, then “upper”; latch “upper”.`
pub(crate) fn close_doors(apparatus: &Apparatus) -> String {
    let doors = apparatus.doors_as_closed();
    let names: Vec<String> = doors.iter().map(|door| format!("“{}”", door.name)).collect();
    let latched: Vec<String> =
        doors.iter().filter(|door| door.latch).map(|door| format!("“{}”", door.name)).collect();
    let order = match names.as_slice() {
        [] => return "See that nobody and nothing is near the rollers.".to_owned(),
        [only] => format!("Close the door {only}"),
        [first, rest @ ..] => {
            format!("Close the doors in this order: first {first}, then {}", rest.join(", then "))
        }
    };
    if latched.is_empty() {
        format!("{order}.")
    } else {
        format!("{order}; latch {}.", listed(&latched))
    }
}

/// Where a jar's lid must point.
pub(crate) fn lid_side(apparatus: &Apparatus) -> &'static str {
    match apparatus.counter_senses {
        CounterSenses::JarLid => "with the marked lid to the sensor",
        CounterSenses::Roller | CounterSenses::Nothing => "with the lid clear of the frame",
    }
}

/// `by time`, `by revolutions`.
pub(crate) fn by(control: Control) -> &'static str {
    match control {
        Control::Time => "by time",
        Control::Revolutions => "by revolutions",
    }
}
