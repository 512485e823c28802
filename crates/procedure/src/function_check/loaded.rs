//! Runs with a jar in every position.

use super::empty::{change, count_after_power, run};
use super::forecast::{Load, speed};
use super::{Controls, cautions, words};
use crate::apparatus::{Apparatus, CounterSenses};
use crate::kind::ItemKind;
use crate::model::{Jars, Step, TAKES_JARS_OUT};
use stonewear_measure::{Decimal, Limits};

/// What is done when a fault with jars in the machine needs more than a second look.
const GIVE_UP: &str = "take the jars out, give the check up and hold the apparatus";

pub(crate) fn steps(apparatus: &Apparatus, controls: &Controls) -> Vec<Step> {
    let mut steps: Vec<Step> =
        apparatus.places().map(|(tier, position)| place(apparatus, &tier.name, position)).collect();
    let mut before = None;
    for control in controls.0.iter().rev() {
        if let Some(before) = before {
            steps.push(change(apparatus, before, *control, Load::Jars));
        }
        steps.extend(run(apparatus, *control, Load::Jars));
        before = Some(*control);
    }
    steps.extend(
        apparatus.places().map(|(tier, position)| turns(apparatus, controls, &tier.name, position)),
    );
    if apparatus.has_counter() {
        steps.extend(counter(apparatus, controls));
    }
    if apparatus.counter_senses == CounterSenses::JarLid {
        // On the empty machine there was no count that could be kept or lost.
        let instruction = format!(
            "{} {}, press start, and after half a minute switch off at the main switch. When everything stands still note the count that was shown, switch on again and see that nothing starts. Read the count.",
            words::close_doors(apparatus),
            words::set_long(apparatus, controls.first()),
        );
        let count = count_after_power(apparatus, Jars::In, instruction);
        steps.push(Step {
            on_failure: format!("{} Before that, take the jars out.", count.on_failure),
            ..count.caution(cautions::power_cut())
        });
    }
    steps.push(take_out(apparatus));
    steps
}

fn place(apparatus: &Apparatus, tier: &str, position: u32) -> Step {
    let side = words::lid_side(apparatus);
    Step::seen(
        format!("place-{}-{position}", words::slug(tier)),
        format!("Jar in position {position} of tier “{tier}”"),
        Jars::In,
        format!(
            "With the power off, lay a jar on position {position} of tier “{tier}”, {side}. Turn it once by hand."
        ),
        format!(
            "a jar lies straight on both rollers at position {position} of tier “{tier}”, {side}, and touches nothing else"
        ),
        "Lift it off and lay it again; look for a jar that is too long, or a guide that is out of place.",
    )
    .caution(cautions::full_jar())
    .at(tier, Some(position))
}

/// The speed of one jar. It is counted at every position, because slip differs between them.
fn turns(apparatus: &Apparatus, controls: &Controls, tier: &str, position: u32) -> Step {
    Step::seen(
        format!("speed-{}-{position}", words::slug(tier)),
        format!("Speed at position {position} of tier “{tier}”"),
        Jars::In,
        format!(
            "{} {}, press start and let it come to speed. Count the turns of the jar at position {position} of tier “{tier}” for one minute on a stopwatch, through the window or from a film, the doors closed. Then {}.",
            words::close_doors(apparatus),
            words::set_long(apparatus, controls.first()),
            words::stop(apparatus),
        ),
        format!("turns in one minute of the jar at position {position} of tier “{tier}”"),
        format!(
            "Count once more. If it is outside, look for water or oil on rollers and jar, a worn sleeve and a slack belt; {GIVE_UP} until the speed is set right."
        ),
    )
    .reading("turns in 1 min", speed(apparatus), "T327")
    .with(ItemKind::Stopwatch)
    .caution(cautions::turning())
    .at(tier, Some(position))
}

/// The counter against turns that somebody counted.
fn counter(apparatus: &Apparatus, controls: &Controls) -> Option<Step> {
    let (tier, position) = apparatus.places().next()?;
    let tier = tier.name.as_str();
    let which = match apparatus.counter_senses {
        CounterSenses::JarLid => "of a jar whose lid is sensed, such as that".to_owned(),
        _ => "of the jar".to_owned(),
    };
    let step = Step::seen(
        "counter-against-count",
        "Counter against turns counted",
        Jars::In,
        format!(
            "{} {}, press start. For one minute on a stopwatch count the turns {which} at position {position} of tier “{tier}”, and take by how many the count shown rises in that minute, best from a film that shows both. Then {}.",
            words::close_doors(apparatus),
            words::set_long(apparatus, controls.first()),
            words::stop(apparatus),
        ),
        "counter less counted, over one minute",
        format!(
            "Count once more. If they differ, look for a dirty mark, two marks, a loose sensor, and a counter that counts the roller and not the jar; {GIVE_UP}."
        ),
    );
    Some(
        step.reading(
            "turns",
            Limits::around(Decimal::ZERO, Decimal::ONE),
            "derived: a minute begins and ends within a turn, so that one turn may be missed or added",
        )
        .between("turns shown by the counter", "turns counted")
        .with(ItemKind::Stopwatch)
        .caution(cautions::turning())
        .at(tier, Some(position)),
    )
}

fn take_out(apparatus: &Apparatus) -> Step {
    let places: Vec<String> = apparatus
        .places()
        .map(|(tier, position)| format!("position {position} of tier “{}”", tier.name))
        .collect();
    Step::seen(
        TAKES_JARS_OUT,
        "Take the jars out",
        Jars::In,
        format!(
            "Switch the power off, wait until everything stands still, open the doors, and lift out the jars: {}.",
            words::listed(&places)
        ),
        "no jar lies in the machine any more",
        "Take out what is left before anything else is done.",
    )
    .caution(cautions::full_jar())
}
