//! A method with one condition moved: the rules of a planned run.

use crate::fact::Condition;
use stonewear_measure::Decimal;
use stonewear_method::{Confidence, Figure, Method, Toleranced};

/// The value that a method gives a condition, in its unit.
pub fn nominal(method: &Method, condition: Condition, grading: &str) -> Option<Decimal> {
    let grading = method.grading(grading)?;
    let rule = match condition {
        Condition::Revolutions => grading.revolutions.as_ref(),
        Condition::Charge => grading.charge_g.as_ref(),
        Condition::WaterTemperature => method.water_temperature(),
        Condition::WaterVolume => method.water.as_ref().map(|water| &water.volume_l),
    };
    rule.map(|rule| rule.nominal.value)
}

/// The method with a condition at a level in place of its own; the tolerance around it stays.
pub(crate) fn at_level(
    method: &Method,
    condition: Condition,
    grading: &str,
    level: Decimal,
) -> Method {
    let mut moved = method.clone();
    let speed = method.speed_rpm.as_ref().map(|speed| speed.nominal.value);
    let here = moved.gradings.iter_mut().find(|one| one.name == grading);
    match (condition, here) {
        (Condition::Revolutions, Some(here)) => {
            here.revolutions.as_mut().map(|rule| aim_at(rule, level));
            let minutes = speed.and_then(|speed| level.checked_div(speed));
            match (here.minutes.as_mut(), minutes) {
                (Some(rule), Some(minutes)) => aim_at(rule, minutes.round_dp(1).normalize()),
                _ => here.minutes = None,
            }
        }
        (Condition::Charge, Some(here)) => {
            here.charge_g.as_mut().map(|rule| aim_at(rule, level));
            // A charge of another mass has another number of balls.
            here.balls = None;
        }
        (Condition::WaterTemperature, _) => {
            let rule = moved.water.as_mut().and_then(|water| water.temperature_c.as_mut());
            rule.map(|rule| aim_at(rule, level));
        }
        (Condition::WaterVolume, _) => {
            moved.water.as_mut().map(|water| aim_at(&mut water.volume_l, level));
        }
        (Condition::Revolutions | Condition::Charge, None) => {}
    }
    moved
}

fn aim_at(rule: &mut Toleranced, level: Decimal) {
    rule.nominal = Figure {
        value: level,
        confidence: Confidence::Confirmed,
        source: String::new(),
        note: Some("planned by an experiment of the laboratory".to_owned()),
    };
}
