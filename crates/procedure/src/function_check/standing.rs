//! What is seen while nothing moves and nothing is loaded.

use super::{cautions, words};
use crate::apparatus::{Apparatus, CounterSenses};
use crate::model::{Jars, Step};

pub(crate) fn steps(apparatus: &Apparatus) -> Vec<Step> {
    let tiers = words::every_tier(apparatus);
    let mut steps = vec![
        Step::seen(
            "machine-empty",
            "No jar in the machine",
            Jars::Out,
            format!("With the power off, look at {tiers} and take out every jar that lies there."),
            "no jar lies in the machine",
            "Take the jars out before anything else is done.",
        )
        .caution(cautions::full_jar()),
        Step::seen(
            "unpacked",
            "Unpacked and whole",
            Jars::Out,
            "Take off packing and transport locks. Compare with the packing list, and look for bent, loose or broken parts and damaged cables.",
            "everything is there and nothing is damaged",
            "Photograph the damage, tell the carrier and the maker, and hold the apparatus.",
        )
        .caution(cautions::heavy_machine()),
        Step::seen(
            "level",
            "Firm and level",
            Jars::Out,
            "Stand the machine on a floor or bench that carries it and its jars. Lay a spirit level along and across the rollers and turn the feet until it is level.",
            "the machine stands firm on all feet, level along and across the rollers",
            "Level it again: on a slope the jars creep along the rollers, and slip changes the speed.",
        )
        .caution(cautions::heavy_machine()),
        Step::seen(
            "power-supply",
            "Power supply",
            Jars::Out,
            "Compare voltage, frequency and fuse with the type plate. Have the earthing and the ground-fault protection confirmed by who is licensed for it.",
            "the supply is as the type plate asks, earthed and with ground-fault protection",
            "Do not switch on. Have the supply put right by a licensed electrician.",
        )
        .caution(cautions::mains()),
        guard(apparatus),
        Step::seen(
            "rollers-clean",
            "Rollers clean and sound",
            Jars::Out,
            format!("With the power off, look at the rollers and sleeves of {tiers}, and turn each a little by hand."),
            "no roller is oily, worn, cut or loose, and each turns freely",
            "Clean off oil and dust; have worn sleeves and bearings replaced. An oily or worn roller slips.",
        )
        .caution(cautions::turning()),
    ];
    if apparatus.counter_senses == CounterSenses::JarLid {
        steps.push(Step::seen(
            "sensor-clean",
            "Sensor clean and in place",
            Jars::Out,
            "With the power off, look at the sensor that counts the marks on the jar lids.",
            "the sensor is clean and tight, and its cable is whole",
            "Clean it with a dry cloth; if it is loose or damaged, hold the apparatus and ask the maker.",
        ));
    }
    steps
}

/// The guard, as far as it can be seen with the machine standing still.
fn guard(apparatus: &Apparatus) -> Step {
    let step = |instruction: String, what: &str, on_failure: &str| {
        Step::seen("guard", "Guard", Jars::Out, instruction, what, on_failure)
            .caution(cautions::turning())
    };
    let doors: Vec<String> =
        apparatus.doors_as_closed().iter().map(|door| format!("“{}”", door.name)).collect();
    if doors.is_empty() {
        return step(
            "The machine has no door. See what keeps hands, hair and clothing away from rollers and jars: a fence, a fixed cover, a room that is locked while it runs.".to_owned(),
            "a guard that the local rules accept keeps everybody away from rollers and jars, and the person who answers for safety has agreed to it",
            "Do not switch on. Have a guard fitted first; turning drums are to be enclosed by a guard that is interlocked with the drive.",
        );
    }
    let seen = format!(
        "Look at the fixed covers, and at door {} with hinges, handle and window.",
        words::listed(&doors)
    );
    if apparatus.interlock {
        step(
            seen,
            "every cover and door is there, tight and undamaged",
            "Do not switch on. Have the guard repaired.",
        )
    } else {
        step(
            format!(
                "{seen} No interlock stops the drive when a door is opened: see how else the doors are kept closed while it turns."
            ),
            "every cover and door is there, tight and undamaged, and the person who answers for safety has agreed how the doors are kept closed while the drive turns",
            "Do not switch on. Turning drums are to be enclosed by a guard that is interlocked with the drive: have an interlock fitted, or the guard accepted by who answers for it under local rules.",
        )
    }
}
