//! Doors, the interlock, and the means to stop: proved before anything else that moves.

use super::{Controls, cautions, words};
use crate::apparatus::{Apparatus, Door};
use crate::model::{Jars, Step};

pub(crate) fn steps(apparatus: &Apparatus, controls: &Controls) -> Vec<Step> {
    let doors = apparatus.doors_as_closed();
    let mut steps = Vec::new();
    if !doors.is_empty() {
        steps.push(close_doors(apparatus, &doors));
    }
    if apparatus.interlock {
        steps.extend(doors.iter().map(|door| stays_still(apparatus, controls, door)));
    }
    steps.push(stop_by_hand(apparatus, controls));
    if apparatus.interlock {
        for (place, door) in doors.iter().enumerate() {
            let over = doors.get(place + 1..).unwrap_or_default();
            steps.push(opening_stops(apparatus, controls, door, over));
        }
    }
    steps
}

fn close_doors(apparatus: &Apparatus, doors: &[&Door]) -> Step {
    if let [door] = doors {
        let what = if door.latch {
            "the door closes without force, and its latch holds when it is pulled"
        } else {
            "the door closes without force, and does not open by itself"
        };
        return Step::seen(
            "doors-close",
            "The door closes",
            Jars::Out,
            words::close_doors(apparatus),
            what,
            "Look for packing and a bent hinge; do not force the door. Have it adjusted.",
        )
        .caution(cautions::doors());
    }
    let what = if doors.iter().any(|door| door.latch) {
        "every door closes without force in this order, and each latch holds when its door is pulled"
    } else {
        "every door closes without force in this order, and none opens by itself"
    };
    Step::seen(
        "doors-close",
        "Doors close in their order",
        Jars::Out,
        words::close_doors(apparatus),
        what,
        "Look for packing, bent hinges and a wrong order; do not force a door. Have it adjusted.",
    )
    .caution(cautions::doors())
}

fn stays_still(apparatus: &Apparatus, controls: &Controls, door: &Door) -> Step {
    let name = &door.name;
    let others = match apparatus.doors_as_closed().len() {
        0 | 1 => "",
        _ => "; close the others as far as it lets them",
    };
    Step::seen(
        format!("interlock-start-{}", words::slug(name)),
        format!("Does not start while door “{name}” is open"),
        Jars::Out,
        format!(
            "Open door “{name}”{others}. {}, stand clear and press start. Then {}.",
            words::set_long(apparatus, controls.first()),
            words::stop(apparatus),
        ),
        format!("the drive does not start while door “{name}” is open"),
        "Switch the power off and hold the apparatus: the interlock does not protect. Look for a bridged, stuck or badly placed switch; have it repaired, never bridge it.",
    )
    .caution(cautions::opening_guard())
}

fn stop_by_hand(apparatus: &Apparatus, controls: &Controls) -> Step {
    let (instruction, what) = if apparatus.separate_stop {
        ("press stop", "the drive starts when start is pressed and stops when stop is pressed")
    } else {
        (
            "press the same button once more",
            "the drive starts when the button is pressed and stops when it is pressed once more",
        )
    };
    Step::seen(
        "stop-by-hand",
        "Stops by hand",
        Jars::Out,
        format!(
            "{} {}, press start, let the rollers turn for some seconds and {instruction}.",
            words::close_doors(apparatus),
            words::set_long(apparatus, controls.first()),
        ),
        what,
        "Switch off at the main switch and hold the apparatus: nothing else is tried on a machine that cannot be stopped.",
    )
    .caution(cautions::turning())
}

fn opening_stops(apparatus: &Apparatus, controls: &Controls, door: &Door, over: &[&Door]) -> Step {
    let name = &door.name;
    let others: Vec<String> = over.iter().map(|door| format!("“{}”", door.name)).collect();
    let covered = if others.is_empty() {
        String::new()
    } else {
        format!(
            " If it cannot be opened before {}, open that first: it stops the drive, and this door is proved by the drive not starting while it is open.",
            words::listed(&others)
        )
    };
    Step::seen(
        format!("interlock-stop-{}", words::slug(name)),
        format!("Opening door “{name}” stops the drive"),
        Jars::Out,
        format!(
            "{} {}, press start, and open door “{name}” while the rollers turn.{covered} Close it again and see that the drive waits for start.",
            words::close_doors(apparatus),
            words::set_long(apparatus, controls.first()),
        ),
        format!(
            "the drive stops as soon as door “{name}” opens, and does not start again by itself when it is closed"
        ),
        "Switch the power off and hold the apparatus: the interlock does not protect. Look for a bridged, stuck or badly placed switch; have it repaired, never bridge it.",
    )
    .caution(cautions::opening_guard())
}
